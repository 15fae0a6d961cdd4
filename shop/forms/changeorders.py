"""A change order as it is typed: why, up to six parts, up to three pieces of work."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, lines, number, words
from shop.models import ChangeOrder, Product
from shop.selectors.lines import line_words
from shop.services.changeorders import TIME_REF, Added, AddedPart, AddedWork

PARTS, WORKS = 6, 3
MOST_HOURS = Decimal(200)  # far above any piece of work beside the quote


class ChangeForm(FaceForm):
    reason = lines(_("What was found, and why it is needed"), most=1000, required=True)

    def __init__(
        self,
        *args: Any,
        products: Iterable[Product],
        segments: Iterable[tuple[str, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["segments"] = forms.MultipleChoiceField(
            label=_("Hoses of the proposal to renew as well"),
            required=False,
            choices=list(segments),
            widget=forms.CheckboxSelectMultiple(attrs={"class": "down"}),
        )
        self.products = {str(product.pk): product for product in products}
        listed = [(pk, f"{p.sku}, {line_words(p)}") for pk, p in self.products.items()]
        for no in range(1, PARTS + 1):
            self.fields[f"part_{no}"] = forms.ChoiceField(
                label=_("Part"),
                required=False,
                choices=[("", _("None")), *listed],
                widget=forms.Select(attrs={"class": "w32"}),
            )
            self.fields[f"quantity_{no}"] = _figure(_("How many"), Decimal(999))
        for no in range(1, WORKS + 1):
            self.fields[f"work_{no}"] = words(_("Work"), width="w32", most=300)
            self.fields[f"hours_{no}"] = _figure(_("Hours"), MOST_HOURS)

    def part_rows(self) -> list[tuple[BoundField, BoundField]]:
        return [(self[one], self[other]) for one, other in self._names("part", "quantity", PARTS)]

    def work_rows(self) -> list[tuple[BoundField, BoundField]]:
        return [(self[one], self[other]) for one, other in self._names("work", "hours", WORKS)]

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        for what, count in self._names("part", "quantity", PARTS):
            self._pair(data, what, count, _("Say how many."), _("Choose a part."))
        for what, count in self._names("work", "hours", WORKS):
            self._pair(data, what, count, _("Say how long."), _("Say what is done."))
        names = [*self._names("part", "quantity", PARTS), *self._names("work", "hours", WORKS)]
        if not self.errors and not data["segments"] and not any(data[what] for what, _n in names):
            self.add_error(None, _("A change order adds a hose, a part or work. Add one."))
        return data

    def _names(self, what: str, count: str, most: int) -> list[tuple[str, str]]:
        return [(f"{what}_{no}", f"{count}_{no}") for no in range(1, most + 1)]

    def _pair(
        self, data: dict[str, Any], what: str, count: str, no_count: Any, no_what: Any
    ) -> None:
        if data.get(what) and not data.get(count) and count not in self.errors:
            self.add_error(count, no_count)
        if data.get(count) and not data.get(what) and what not in self.errors:
            self.add_error(what, no_what)

    def added(self) -> Added:
        data = self.cleaned_data
        parts = [
            AddedPart(self.products[data[what]], data[count])
            for what, count in self._names("part", "quantity", PARTS)
            if data[what]
        ]
        work = [
            AddedWork(data[what], data[count])
            for what, count in self._names("work", "hours", WORKS)
            if data[what]
        ]
        return Added(data["reason"], parts, work, data["segments"])


def change_initial(change: ChangeOrder, products: Iterable[Product]) -> dict[str, Any]:
    """What was typed, read back from the stored lines."""
    by_sku = {product.sku: product.pk for product in products}
    rows = list(change.lines.all())
    groups = dict.fromkeys(row.group for row in rows if row.group)
    initial: dict[str, Any] = {"reason": change.reason, "segments": list(groups)}
    rows = [row for row in rows if not row.group]
    for no, row in enumerate((row for row in rows if row.ref in by_sku), start=1):
        initial |= {f"part_{no}": by_sku[row.ref], f"quantity_{no}": _plain(row.quantity)}
    for no, row in enumerate((row for row in rows if row.ref == TIME_REF), start=1):
        initial |= {f"work_{no}": row.description, f"hours_{no}": f"{row.quantity:.2f}"}
    return initial


def _figure(label: Any, most: Decimal) -> forms.DecimalField:
    return number(label, least=Decimal("0.01"), most=most, digits=6, width="w4", required=False)


def _plain(quantity: Decimal) -> str:
    return f"{quantity.normalize():f}"
