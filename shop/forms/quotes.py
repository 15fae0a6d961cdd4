"""What a person may set on a quote: the whole of it, one option, one override."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, lines, number, words
from shop.forms.prices import money
from shop.models import EstimateStyle, Product, Quote, QuoteOption, Segment
from shop.selectors.lines import line_words
from shop.tanknotes import gallons_on_file

MOST_GALLONS = Decimal(5000)  # far above the tanks of any boat such a shop works on


class QuoteForm(FaceForm):
    fuel_aboard_gal = number(
        _("Fuel to move, gal"),
        most=MOST_GALLONS,
        help_text=_(
            "What is aboard and comes out before the work. It sets the hours to move it; "
            "0 where none comes out."
        ),
    )
    waste_gal = number(
        _("Of that, not fit to go back, gal"),
        most=MOST_GALLONS,
        help_text=_("It is charged as waste, by the gallon. 0 where all of it goes back."),
    )
    style = forms.ChoiceField(
        label=_("Kind of estimate"),
        choices=EstimateStyle.choices,
        widget=forms.Select(attrs={"class": "w16"}),
    )
    no_work_price = money(
        _("If no work is chosen"),
        required=False,
        help_text=_(
            "Survey, opening and closing up, with tax and the gaskets that opening destroys. "
            "Printed before the owner decides; left empty, the quote says that nothing is due."
        ),
    )
    note = lines(
        _("Note to the owner"), most=2000, help_text=_("Printed under “Not in this quote”.")
    )

    def __init__(self, *args: Any, on_file: str = "", **kwargs: Any) -> None:
        """`on_file` is the note on the boat's tanks; the gallons it names are offered."""
        super().__init__(*args, **kwargs)
        if self.initial.get("fuel_aboard_gal") is not None or not on_file:
            return
        self.initial["fuel_aboard_gal"] = gallons_on_file(on_file)
        said = _("The boat’s file says “%(note)s”. Correct it by the gauge.") % {"note": on_file}
        field = self.fields["fuel_aboard_gal"]
        field.help_text = f"{field.help_text} {said}"

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        aboard, waste = data.get("fuel_aboard_gal"), data.get("waste_gal")
        if waste is not None and waste > (aboard or 0):
            self.add_error(
                "waste_gal", _("More goes to waste than comes out. Correct one of the two.")
            )
        return data


def quote_initial(quote: Quote) -> dict[str, Any]:
    names = ("fuel_aboard_gal", "waste_gal", "style", "no_work_price", "note")
    return {name: getattr(quote, name) for name in names}


class OptionForm(FaceForm):
    """One option: what it is called, which segments it renews, which parts it adds."""

    title = words(_("Name"), required=True, most=120)
    summary = lines(_("In one or two sentences"), most=2000, rows=2)
    recommended = forms.BooleanField(label=_("We recommend this one"), required=False)

    def __init__(
        self, *args: Any, segments: Iterable[Segment], parts: Iterable[Product], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["segments"] = forms.MultipleChoiceField(
            label=_("Segments it renews"),
            required=False,
            choices=[(row.ident, _segment_words(row)) for row in segments],
            widget=forms.CheckboxSelectMultiple(attrs={"class": "down"}),
        )
        self.parts = {f"part_{product.pk}": product for product in parts}
        for name, product in self.parts.items():
            self.fields[name] = number(
                f"{product.sku}, {line_words(product)}",
                most=999,
                digits=6,
                width="w4",
                required=False,
            )

    def part_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.parts]

    def extras(self, notes: dict[str, str]) -> list[dict[str, str]]:
        """The parts asked for, each with the note that stands beside it."""
        found = []
        for name, product in self.parts.items():
            quantity = self.cleaned_data.get(name)
            if quantity:
                found.append(
                    {
                        "sku": product.sku,
                        "quantity": f"{quantity.normalize():f}",
                        "note": notes.get(product.sku, ""),
                    }
                )
        return found

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        if not data.get("segments") and not any(data.get(name) for name in self.parts):
            self.add_error("segments", _("An option renews something. Choose a segment or a part."))
        return data


def option_initial(option: QuoteOption, parts: Iterable[Product]) -> dict[str, Any]:
    numbers = {entry["sku"]: entry.get("quantity", "1") for entry in option.extras}
    return {
        "title": option.title,
        "summary": option.summary,
        "recommended": option.recommended,
        "segments": option.segments,
        **{f"part_{p.pk}": numbers[p.sku] for p in parts if p.sku in numbers},
    }


class OverrideForm(FaceForm):
    subject = forms.CharField(max_length=40, widget=forms.HiddenInput)
    rule = forms.CharField(max_length=80, widget=forms.HiddenInput)
    regime = forms.CharField(max_length=40, widget=forms.HiddenInput)
    reason = lines(_("Why it may go into the quote all the same"), most=1000, rows=2, required=True)


def _segment_words(row: Segment) -> str:
    words_ = row.service.replace("_", " ")
    return f"{row.ident} {words_}, {row.name}" if row.name else f"{row.ident} {words_}"
