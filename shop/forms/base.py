"""What all forms share: words for errors, no double speech from the browser, typed text kept."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from shop.forms.errorwords import OwnWords, rows_reworded
from shop.forms.figures import DecimalField, WholeField
from shop.onelines import has_letter, one_line

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise


class FaceForm(OwnWords, forms.Form):
    """A form in the shop's voice; the server says what is wrong, beside the field."""

    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.name_required_fields()

    def name_required_fields(self) -> None:
        """Let each field that is needed say so to a screen reader."""
        for field in self.fields.values():
            if field.required:
                field.widget.attrs.setdefault("aria-required", "true")

    def take_service_errors(self, error: ValidationError) -> None:
        """Put what a service refused beside the field it names, or above the form."""
        if not hasattr(error, "error_dict"):
            self.add_error(None, error)
            return
        for name, errors in error.error_dict.items():
            said = ValidationError(rows_reworded(errors))
            self.add_error(name if name in self.fields else None, said)


TRI_CHOICES = (("yes", _("Yes")), ("no", _("No")), ("", _("Not known")))


class LineField(forms.CharField):
    """One line; what nobody sees of it, and what would turn its words around, is left out."""

    def to_python(self, value: Any) -> Any:
        held = super().to_python(value)
        return one_line(held) if isinstance(held, str) else held


def seen_name(value: str) -> None:
    """A name that was typed has a letter in it."""
    if value and not has_letter(value):
        raise ValidationError(_("There is no letter in this name. Type it as it is written."))


def words(
    label: _StrOrPromise,
    *,
    width: str = "w24",
    most: int = 120,
    field: type[forms.CharField] = LineField,
    **kwargs: Any,
) -> forms.CharField:
    """A line of text as wide as what it holds; `field` is another one where every sign counts."""
    kwargs.setdefault("required", False)
    attrs = {"class": width, **kwargs.pop("attrs", {})}
    return field(
        label=label,
        max_length=most,
        widget=forms.TextInput(attrs=attrs),
        **kwargs,
    )


def lines(label: _StrOrPromise, *, most: int, rows: int = 3, **kwargs: Any) -> forms.CharField:
    """Several lines of text."""
    kwargs.setdefault("required", False)
    return forms.CharField(
        label=label,
        max_length=most,
        widget=forms.Textarea(attrs={"class": "w40", "rows": rows}),
        **kwargs,
    )


def number(
    label: _StrOrPromise,
    *,
    most: Decimal | int,
    least: Decimal | int = 0,
    digits: int = 8,
    places: int = 2,
    width: str = "w6",
    **kwargs: Any,
) -> forms.DecimalField:
    """A number as it is read off: gallons, hours, a pressure."""
    return DecimalField(
        label=label,
        min_value=least,
        max_value=most,
        max_digits=digits,
        decimal_places=places,
        widget=forms.TextInput(attrs={"class": width, "inputmode": "decimal"}),
        **kwargs,
    )


def count(
    label: _StrOrPromise, *, most: int, least: int = 0, width: str = "w4", **kwargs: Any
) -> forms.IntegerField:
    """A whole number of things: days, people, clips."""
    return WholeField(
        label=label,
        min_value=least,
        max_value=most,
        widget=forms.TextInput(attrs={"class": width, "inputmode": "numeric"}),
        **kwargs,
    )


def email(label: _StrOrPromise) -> forms.EmailField:
    return forms.EmailField(
        label=label,
        required=False,
        max_length=254,
        widget=forms.EmailInput(attrs={"class": "w24", "autocomplete": "off"}),
    )


def choice(
    label: _StrOrPromise, choices: Iterable[tuple[str, _StrOrPromise]], **kwargs: Any
) -> forms.ChoiceField:
    """One of a few known words; the empty one stands for a fact that is not known."""
    kwargs.setdefault("required", False)
    return forms.ChoiceField(
        label=label,
        choices=[("", _("Not known")), *choices] if not kwargs["required"] else list(choices),
        **kwargs,
    )


def tri(label: _StrOrPromise, **kwargs: Any) -> forms.ChoiceField:
    """Yes, no, or not known: a missing fact is never a no."""
    return forms.ChoiceField(
        label=label,
        choices=TRI_CHOICES,
        required=False,
        widget=forms.RadioSelect(attrs={"class": "tri"}),
        **kwargs,
    )


def tri_value(answer: str) -> bool | None:
    return {"yes": True, "no": False}.get(answer)


def tri_answer(fact: object) -> str:
    return {True: "yes", False: "no"}.get(fact, "") if isinstance(fact, bool) else ""


def year(label: _StrOrPromise, **kwargs: Any) -> forms.IntegerField:
    return YearField(
        label=label,
        required=False,
        widget=forms.TextInput(
            attrs={"class": "w4", "inputmode": "numeric", "autocomplete": "off"}
        ),
        error_messages={
            "invalid": _("“%(value)s” is not a year. Write four digits, as 2008."),
            "early": EARLY,
        },
        **kwargs,
    )


FIRST_YEAR = 1900  # choice: no boat, engine, tank or hose in service was made before it
EARLY = _("“%(value)s” lies before 1900. Look at the year again.")


class YearField(forms.IntegerField):
    """Four digits, from 1900 on."""

    def clean(self, value: Any) -> Any:
        typed = str(value or "").strip()
        if typed and not re.fullmatch(r"[0-9]{4}", typed):
            raise ValidationError(self.error_messages["invalid"], params={"value": typed})
        if typed and int(typed) < FIRST_YEAR:
            raise ValidationError(self.error_messages["early"], params={"value": typed})
        return super().clean(value)


def facts_changed(facts: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """The facts with the changes in; a change to None takes the fact out."""
    merged = {**facts, **changes}
    return {key: value for key, value in merged.items() if value is not None}
