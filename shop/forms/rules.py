from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from fuelsys.units import fraction_text
from shop.forms.base import FaceForm
from shop.forms.figures import PLAIN
from shop.forms.unitwords import number_of, unit_of
from shop.models import Practice
from shop.selectors.rule_numbers import OwnNumber


class OwnNumberField(forms.CharField):
    """A number as people write it: 2, 0.625, 5/8 or 1-1/2; empty for none."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=12, **kwargs)
        self.widget.attrs.update({"class": "w8", "autocomplete": "off", "inputmode": "text"})

    def clean(self, value: Any) -> Any:
        typed: str = super().clean(value).strip().replace("−", "-")
        typed = number_of(typed, unit_of("", str(self.label or "")))
        if not typed:
            return None
        read = fraction_text(typed) if "/" in typed else _decimal(typed)
        if read is None:
            raise ValidationError(_("“%(typed)s” is no number."), params={"typed": typed})
        return (Decimal(read.numerator) / read.denominator).quantize(Decimal("0.000001"))


def _decimal(typed: str) -> Fraction | None:
    return Fraction(typed) if PLAIN.fullmatch(typed) and "," not in typed else None


class PracticeForm(FaceForm):
    setting = forms.ChoiceField(
        label=_("Taken as"),
        choices=Practice.choices,
        widget=forms.RadioSelect(attrs={"class": "tri"}),
    )
    number = OwnNumberField(label=_("This shop’s own number"), required=False)

    def __init__(self, *args: Any, own: OwnNumber | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if own is None:
            del self.fields["number"]
            return
        self.fields["number"].label = own.label
        self.fields["number"].help_text = own.help

    def said(self) -> dict[str, Any]:
        """What was answered: a number that was not sent is not one that was emptied."""
        names = [name for name in self.cleaned_data if self.add_prefix(name) in self.data]
        return {name: self.cleaned_data[name] for name in names}
