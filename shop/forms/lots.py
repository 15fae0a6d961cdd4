"""Reels as they come in, and lots called back."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.translation import gettext_lazy as _

from fuelsys.document.marking import read_marking
from shop.forms.base import FaceForm, lines, number, words
from shop.forms.days import day_field
from shop.forms.markings import MarkingField
from shop.models import NoticeOutcome, Product, ProductKind, Yard

INCHES_A_FOOT = 12
MOST_FEET = Decimal(5000)


if TYPE_CHECKING:
    ProductField = forms.ModelChoiceField[Product]
else:
    ProductField = forms.ModelChoiceField


class HoseField(ProductField):
    """A hose of the price list by number and words."""

    def label_from_instance(self, obj: Product) -> str:
        return f"{obj.sku}, {obj.description}"


class ReelForm(FaceForm):
    product = HoseField(
        label=_("Hose"),
        queryset=Product.objects.none(),
        empty_label=_("Choose"),
        widget=forms.Select(attrs={"class": "w32"}),
    )
    ident = words(_("Reel"), width="w12", most=40, required=True)
    marking = MarkingField(
        label=_("Marking, as printed on the hose"),
        help_text=_("Class and year are read from it: USCG TYPE A1-15 2026 SAE J1527."),
    )
    lot_code = words(_("Lot"), width="w12", most=60, required=True)
    length_ft = number(_("Length received, ft"), least=Decimal("0.1"), most=MOST_FEET, digits=7)
    received_on = day_field(_("Received on"))

    def __init__(self, *args: Any, yard: Yard, today: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        hoses = yard.products.filter(kind=ProductKind.HOSE, is_active=True, for_fuel=True)
        field = self.fields["product"]
        assert isinstance(field, HoseField)
        field.queryset = hoses.order_by("sku")

    def clean_received_on(self) -> date:
        day: date = self.cleaned_data["received_on"]
        if self.today and day > self.today:
            raise forms.ValidationError(_("This day is still to come. The reel is here."))
        return day

    def clean_marking(self) -> str:
        marking: str = self.cleaned_data["marking"]
        year = read_marking(marking).year
        if year and self.today and year > self.today.year:
            raise forms.ValidationError(
                _("%(year)s is still to come. Read the marking again."), params={"year": year}
            )
        return marking

    def values(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        data["length_in"] = data.pop("length_ft") * INCHES_A_FOOT
        return data


class RecallForm(FaceForm):
    reason = lines(
        _("Who called it back, and why"),
        most=2000,
        rows=4,
        required=True,
        help_text=_("Printed in the letters to the owners."),
    )


class NoticeForm(FaceForm):
    outcome = forms.ChoiceField(
        label=_("What came of it"),
        choices=NoticeOutcome.choices,
        widget=forms.Select(attrs={"class": "w16"}),
    )
    note = words(_("Note"), most=300)
