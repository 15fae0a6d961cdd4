"""The price list and the rates."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import (
    FaceForm,
    choice,
    count,
    facts_changed,
    tri,
    tri_answer,
    tri_value,
    words,
)
from shop.forms.figures import DecimalField
from shop.forms.quantities import LengthField, length_fact_text, length_of
from shop.models import PartCondition, Product, ProductKind, TaxMethod, TaxProfile, Yard
from shop.pricing import LineKind

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

UNITS: Final = (("ft", _("foot")), ("ea", _("each")))
CLASSES: Final = tuple((name, name) for name in ("A1", "A2", "B1", "B2"))
HOSE_LENGTHS: Final = ("inside_diameter", "outside_diameter", "minimum_bend_radius")
CLAMP_LENGTHS: Final = ("band_width", "minimum_diameter", "maximum_diameter")
CLAMP_KINDS: Final = (
    ("worm_drive", _("Worm drive")),
    ("solid_band", _("Solid band, screw and nut")),
    ("t_bolt", _("T-bolt")),
    ("constant_tension", _("Constant tension")),
    ("ear", _("Ear")),
    ("spring", _("Spring")),
    ("tie", _("Tie")),
)
BANDS: Final = (("smooth", _("Smooth")), ("perforated", _("Perforated")))
MATERIALS: Final = (
    ("stainless", _("Stainless")),
    ("plated_steel", _("Plated steel")),
    ("plastic", _("Plastic")),
)
COILS_APART: Final = re.compile(r"[;\n]|,(?!\d{3})")
COIL: Final = re.compile(
    r"(?P<feet>[1-9]\d{0,3})\s*(?:ft|feet|')\s*(?:at|:)?\s*\$?(?P<cost>\d{1,6}(?:\.\d{1,4})?)",
    re.ASCII,
)
WORD_FACTS: Final = ("class", "kind", "band", "band_material", "screw_material")
PRODUCT_COLUMNS: Final = (
    "sku", "kind", "description", "unit", "cost", "price", "condition", "for_fuel"
)  # fmt: skip


def money(label: _StrOrPromise, **kwargs: Any) -> AmountField:
    """An amount; commas between thousands and a leading $ are read."""
    return AmountField(
        label=label,
        min_value=Decimal(0),
        max_digits=10,
        decimal_places=kwargs.pop("decimal_places", 2),
        widget=forms.TextInput(attrs={"class": "w6", "inputmode": "decimal"}),
        error_messages={
            "invalid": _("This is not an amount. Write it as 6.60."),
            "min_value": _("An amount is not below zero."),
            "max_decimal_places": _("At most %(max)s places after the point."),
        },
        **kwargs,
    )


class AmountField(DecimalField):
    unit: str = ""

    def to_python(self, value: Any) -> Any:
        typed = str(value if value is not None else "").strip()
        return super().to_python(typed.removeprefix("$").removesuffix("%").strip())


class ShareField(AmountField):
    """A share typed in percent and kept as a share: 6.5 is 0.065."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            min_value=Decimal(0),
            max_value=Decimal(100),
            max_digits=8,
            decimal_places=3,
            widget=forms.TextInput(attrs={"class": "w6", "inputmode": "decimal"}),
            error_messages={
                "invalid": _("This is not a percentage. Write it as 6.5."),
                "min_value": _("A share is not below zero."),
                "max_value": _("A share is 100 %% at most."),
            },
            **kwargs,
        )
        self.unit = "%"

    def clean(self, value: Any) -> Any:
        percent = super().clean(value)
        return percent / 100 if percent is not None else None


class ProductForm(FaceForm):
    sku = words(_("Number"), width="w12", most=40, required=True, attrs={"autocomplete": "off"})
    kind = choice(_("Kind"), ProductKind.choices, required=True)
    description = words(_("Description, as it prints"), width="w40", most=200, required=True)
    unit = choice(_("Sold by the"), UNITS, required=True)
    condition = choice(
        _("Condition"),
        PartCondition.choices,
        required=True,
        help_text=_("Used, rebuilt and reconditioned parts are named on quotes and bills."),
    )
    cost = money(_("Cost"), decimal_places=4)
    price = money(_("Price"), decimal_places=4)
    for_fuel = forms.BooleanField(label=_("May be proposed on a fuel line"), required=False)
    is_active = forms.BooleanField(label=_("In use"), required=False)

    hose_class = choice(_("Hose type"), CLASSES)
    low_permeation = tri(_("Low permeation, marked -15"))
    inside_diameter = LengthField(label=_("Bore"), required=False)
    outside_diameter = LengthField(label=_("Outside diameter"), required=False)
    minimum_bend_radius = LengthField(label=_("Smallest bend radius"), required=False)
    coils = words(
        _("Coils that can be bought"),
        width="w20",
        most=120,
        help_text=_("Feet and cost of each: 50 ft 170.00, 100 ft 320.00"),
    )
    default_clamp = forms.ModelChoiceField(
        label=_("Usual clamp"), queryset=Product.objects.none(), required=False
    )
    default_clip = forms.ModelChoiceField(
        label=_("Usual clip"), queryset=Product.objects.none(), required=False
    )

    clamp_kind = choice(_("Clamp"), CLAMP_KINDS)
    band = choice(_("Band"), BANDS)
    band_material = choice(_("Band of"), MATERIALS)
    screw_material = choice(_("Screw of"), MATERIALS)
    band_width = LengthField(label=_("Band width"), required=False)
    minimum_diameter = LengthField(label=_("Closes to"), required=False)
    maximum_diameter = LengthField(label=_("Opens to"), required=False)

    def __init__(self, *args: Any, yard: Yard, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = {"default_clamp": ProductKind.CLAMP, "default_clip": ProductKind.PART}
        for name, kind in kinds.items():
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = Product.objects.filter(yard=yard, kind=kind)
            field.empty_label = str(_("None"))
            field.error_messages["invalid_choice"] = _("This is not on the list. Choose again.")

    def clean_coils(self) -> list[dict[str, str]]:
        typed = str(self.cleaned_data["coils"] or "")
        found = [part.strip() for part in COILS_APART.split(typed) if part.strip()]
        matches = [COIL.fullmatch(part) for part in found]
        for part, match in zip(found, matches, strict=True):
            if match is None:
                raise forms.ValidationError(
                    _("“%(part)s” is not a coil with its cost. Write it as 50 ft 170.00."),
                    params={"part": part},
                )
        return [{"ft": m["feet"], "cost": m["cost"]} for m in matches if m is not None]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for upper, lower, words_ in (
            ("outside_diameter", "inside_diameter", _("The outside is not more than the bore.")),
            ("maximum_diameter", "minimum_diameter", _("It opens to no more than it closes to.")),
        ):
            one, other = data.get(upper), data.get(lower)
            if one is not None and other is not None and one.inches <= other.inches:
                self.add_error(upper, words_)
        return data

    def fields_for(self, before: Mapping[str, Any]) -> dict[str, Any]:
        """The product's columns, with the facts of its kind in what `before` held."""
        data = self.cleaned_data
        names = (*PRODUCT_COLUMNS, "is_active")
        clamp = data["default_clamp"] if data["kind"] == ProductKind.HOSE else None
        clip = data["default_clip"] if data["kind"] == ProductKind.HOSE else None
        return {
            **{name: data[name] for name in names},
            "default_clamp": clamp,
            "default_clip": clip,
            "facts": facts_changed(before, self._facts(data)),
        }

    def _facts(self, data: Mapping[str, Any]) -> dict[str, Any]:
        if data["kind"] == ProductKind.HOSE:
            words_of = {"class": data["hose_class"]}
            found: dict[str, Any] = {key: value or None for key, value in words_of.items()}
            found["low_permeation"] = tri_value(data["low_permeation"])
            found["coils"] = data["coils"] or None
            return found | self._lengths(data, HOSE_LENGTHS)
        if data["kind"] == ProductKind.CLAMP:
            keys = ("band", "band_material", "screw_material")
            found = {key: data[key] or None for key in keys}
            found["kind"] = data["clamp_kind"] or None
            return found | self._lengths(data, CLAMP_LENGTHS)
        return {}

    def _lengths(self, data: Mapping[str, Any], stems: tuple[str, ...]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for stem in stems:
            found |= dict.fromkeys(f"{stem}_{unit}" for unit in ("in", "ft", "mm", "m"))
            if measured := length_of(data[stem]):
                found[f"{stem}_{measured[0]}"] = measured[1]
        return found


def product_initial(product: Product) -> dict[str, Any]:
    """What the form shows of a product on the list."""
    facts = product.facts
    return {
        **{name: getattr(product, name) for name in (*PRODUCT_COLUMNS, "is_active")},
        "cost": plain_amount(product.cost),
        "price": plain_amount(product.price),
        "default_clamp": product.default_clamp_id,
        "default_clip": product.default_clip_id,
        "hose_class": facts.get("class", ""),
        "low_permeation": tri_answer(facts.get("low_permeation")),
        "coils": coils_text(facts.get("coils") or ()),
        "clamp_kind": facts.get("kind", ""),
        **{key: facts.get(key, "") for key in ("band", "band_material", "screw_material")},
        **{stem: length_fact_text(facts, stem) for stem in (*HOSE_LENGTHS, *CLAMP_LENGTHS)},
    }


def coils_text(coils: Iterable[Mapping[str, str]]) -> str:
    """Coils as they are typed: 50 ft 170.00, 100 ft 320.00."""
    return ", ".join(f"{coil['ft']} ft {coil['cost']}" for coil in coils)


def plain_amount(value: Decimal) -> str:
    """Two places at least, four where they were typed: 6.60, 0.4375."""
    cents = value.quantize(Decimal("0.01"))
    return str(cents if cents == value else value.normalize())


class RateForm(FaceForm):
    starts_on = forms.DateField(
        label=_("From"),
        widget=forms.DateInput(attrs={"class": "w12", "type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("This is not a day. Write it as 2026-11-01.")},
    )
    labor_rate = money(_("Labor an hour"))
    supplies_pct = ShareField(label=_("Shop supplies, of labor"))
    supplies_floor = money(_("At least"))
    supplies_cap = money(_("At most"))
    waste_flat = money(_("Waste handling"))
    waste_per_gal = money(_("And a gallon"))
    deposit_pct = ShareField(label=_("Deposit, of the total"))
    deposit_step = money(_("Rounded up to a whole"))
    quote_days = count(_("Days a quote holds"), least=1, most=365)
    hose_add_in = money(_("Inches added to a hose"))
    hose_step_ft = money(_("Feet a hose is charged by"))
    fill_extra_hours = money(_("Hours added for a fill hose"))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        floor, cap = data.get("supplies_floor"), data.get("supplies_cap")
        if floor is not None and cap is not None and cap < floor:
            self.add_error("supplies_cap", _("At most cannot be less than at least."))
        for name in ("deposit_step", "hose_step_ft"):
            if data.get(name) == 0:
                self.add_error(name, _("A step of zero cannot be charged by. Write one above it."))
        return data


class TaxForm(FaceForm):
    starts_on = forms.DateField(
        label=_("From"),
        widget=forms.DateInput(attrs={"class": "w12", "type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("This is not a day. Write it as 2026-11-01.")},
    )
    name = words(_("Name, as it prints"), required=True, most=80)
    rate = ShareField(label=_("Rate"))
    taxable_kinds = forms.MultipleChoiceField(
        label=_("Taxed"),
        choices=[
            (LineKind.LABOR.value, _("Labor")),
            (LineKind.PART.value, _("Parts")),
            (LineKind.SUPPLIES.value, _("Shop supplies")),
            (LineKind.FEE.value, _("Waste handling and other charges")),
        ],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    method = choice(_("Rounded"), TaxMethod.choices, required=True)


def rate_initial(card: Any) -> dict[str, Any]:
    """The form for new rates begins with those in force."""
    if card is None:
        return {}
    names = [name for name in RateForm.base_fields if name != "starts_on"]
    shares = {"supplies_pct", "deposit_pct"}
    return {
        name: _percent(getattr(card, name)) if name in shares else getattr(card, name)
        for name in names
    }


def tax_initial(profile: TaxProfile | None) -> dict[str, Any]:
    if profile is None:
        return {}
    return {
        "name": profile.name,
        "rate": _percent(profile.rate),
        "taxable_kinds": profile.taxable_kinds,
        "method": profile.method,
    }


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f}"
