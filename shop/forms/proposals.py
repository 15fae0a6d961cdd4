"""What is chosen in a proposal: a product, its clamp, and whether a failing one is meant."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.forms.base import FaceForm
from shop.forms.completion import check_lift
from shop.models import AccessClass, Product, Segment


class ProductForm(FaceForm):
    """One of the products offered; the price list is the yard's own."""

    product = forms.ChoiceField(
        label=gettext_lazy("Product"),
        widget=forms.RadioSelect(),
    )

    def __init__(self, *args: Any, products: Iterable[Product], **kwargs: Any) -> None:
        self.products = {product.sku: product for product in products}
        super().__init__(*args, **kwargs)
        field = self.fields["product"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(sku, sku) for sku in self.products]
        field.error_messages["required"] = _("No product is chosen. Choose one of the list.")

    @property
    def chosen(self) -> Product:
        return self.products[self.cleaned_data["product"]]


class HoseForm(ProductForm):
    clamp = forms.ChoiceField(
        label=gettext_lazy("Clamp"),
        required=False,
        widget=forms.Select(attrs={"class": "w24"}),
    )
    accept = forms.BooleanField(
        label=gettext_lazy("Propose it although a rule says fail or review; a lead decides"),
        required=False,
    )

    def __init__(self, *args: Any, clamps: Iterable[Product], **kwargs: Any) -> None:
        self.clamps = {clamp.sku: clamp for clamp in clamps}
        super().__init__(*args, **kwargs)
        field = self.fields["clamp"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            ("", _("The hose’s usual clamp")),
            *((sku, f"{sku}, {clamp.description}") for sku, clamp in self.clamps.items()),
        ]

    @property
    def chosen_clamp(self) -> Product | None:
        return self.clamps.get(self.cleaned_data["clamp"])


class ChoiceForm(FaceForm):
    """Which of the two answers for the whole boat is proposed, and what it was when it was seen."""

    objective = forms.ChoiceField(
        label=gettext_lazy("Answer"),
        choices=[("cost", gettext_lazy("least cost")), ("reels", gettext_lazy("fewest reels"))],
        widget=forms.HiddenInput(),
    )
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput())


class AccessForm(FaceForm):
    """How each segment is reached, where the survey does not say; a blank one stays open."""

    def __init__(
        self, *args: Any, rows: Iterable[Segment], classes: Iterable[AccessClass], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", _("Choose")), *((each.code, each.text) for each in classes)]
        self.names = {row.ident: f"access_{row.pk}" for row in rows}
        for ident, name in self.names.items():
            self.fields[name] = forms.ChoiceField(
                label=_("Access to %(segment)s") % {"segment": ident},
                choices=choices,
                required=False,
                widget=forms.Select(attrs={"class": "w24"}),
            )

    def field_of(self, ident: str) -> forms.BoundField:
        return self[self.names[ident]]

    def classes_chosen(self) -> dict[str, str]:
        chosen = {ident: self.cleaned_data[name] for ident, name in self.names.items()}
        return {ident: code for ident, code in chosen.items() if code}


class StopForm(FaceForm):
    """Why the boat must not run."""

    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=300,
        widget=forms.TextInput(attrs={"class": "w40", "autocomplete": "off"}),
    )


class LiftForm(StopForm):
    """Why she may again: what was mended, not a word that says nothing."""

    def clean_reason(self) -> str:
        reason: str = self.cleaned_data["reason"]
        check_lift(self, reason)
        return reason
