"""One engine of a boat, with the facts of the contract's `engines` block."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from fuelsys.units import units_of
from shop.forms.base import (
    FaceForm,
    choice,
    facts_changed,
    tri,
    tri_answer,
    tri_value,
    words,
    year,
)
from shop.forms.dates import out_of_time
from shop.forms.quantities import (
    LengthField,
    QuantityField,
    length_fact_text,
    length_of,
    quantity_fact_text,
)
from shop.models import Engine

MOUNTS = (
    ("outboard", _("Outboard")),
    ("sterndrive", _("Sterndrive")),
    ("inboard", _("Inboard")),
    ("jet", _("Jet")),
)
FUELS = (("gasoline", _("Gasoline")), ("diesel", _("Diesel")))
USES = (
    ("propulsion", _("Propulsion")),
    ("generator", _("Generator")),
    ("mechanical", _("Other machinery")),
)
METERINGS = (("carburetor", _("Carburetor")), ("injection", _("Injection")))
POWER: Final = ("hp", "kw")
VACUUM: Final = ("inhg", "kpa", "psi")
FLOW: Final = ("gph", "lph", "gpm", "lpm")
QUANTITIES: Final = {
    "rated_power": POWER,
    "inlet_vacuum_limit": VACUUM,
    "supply_flow": FLOW,
}
WORD_FACTS: Final = ("mount", "fuel", "use", "metering", "compartment")
FLAG_FACTS: Final = ("portable", "flexible_fuel")
TRI_FACTS: Final = ("backfire_flame_control", "cranking_motor")
COLUMNS: Final = ("ident", "description", "serial")

IDENT = RegexValidator(
    r"\A(?!boat\Z)\S(.*\S)?\Z", _("“%(value)s” cannot name an engine. Write a short name, as M1.")
)


class EngineForm(FaceForm):
    ident = words(
        _("Name in the drawing"),
        width="w6",
        most=40,
        required=True,
        help_text=_("Short: M1, PORT, GEN"),
    )
    description = words(_("Make and model"), width="w24", most=200)
    serial = words(_("Serial number"), width="w12", most=60)
    mount = choice(_("Mount"), MOUNTS)
    fuel = choice(_("Fuel"), FUELS)
    use = choice(_("Use"), USES)
    metering = choice(_("Fuel metering"), METERINGS)
    model_year = year(_("Model year"))
    rated_power = QuantityField(label=_("Rated power"), accepts=POWER, required=False)
    inlet_vacuum_limit = QuantityField(
        label=_("Highest vacuum at the inlet"),
        accepts=VACUUM,
        required=False,
        help_text=_("From the maker’s sheet"),
    )
    supply_flow = QuantityField(
        label=_("Flow at rated power"),
        accepts=FLOW,
        required=False,
        help_text=_("Maker’s figure, what is returned included"),
    )
    minimum_bore = LengthField(
        label=_("Smallest bore the maker allows"), required=False, help_text=_("3/8 or 10 mm")
    )
    compartment = choice(_("Compartment"), ())
    backfire_flame_control = tri(_("Backfire flame control fitted"))
    cranking_motor = tri(_("Has a cranking motor"))
    portable = forms.BooleanField(label=_("Portable engine"), required=False)
    flexible_fuel = forms.BooleanField(
        label=_("Made for fuel with more than 10 % ethanol"), required=False
    )

    def __init__(
        self,
        *args: Any,
        compartments: tuple[str, ...] = (),
        today: date | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["ident"].validators.append(IDENT)
        field = self.fields["compartment"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("Not known")), *((name, name) for name in compartments)]
        if not compartments:
            field.help_text = _("The survey names the compartments; choose one after it.")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for name, words_ in out_of_time(self, self.today):
            self.add_error(name, words_)
        return data

    def columns(self) -> dict[str, Any]:
        return {key: self.cleaned_data[key] for key in COLUMNS}

    def facts(self, before: Mapping[str, Any]) -> dict[str, Any]:
        """The engine's facts with this form's in; what the form does not show stays."""
        data = self.cleaned_data
        changes: dict[str, Any] = {key: data[key] or None for key in (*WORD_FACTS, *FLAG_FACTS)}
        changes |= {key: tri_value(data[key]) for key in TRI_FACTS}
        changes["model_year"] = data["model_year"]
        for stem, accepts in QUANTITIES.items():
            kind = units_of(_kind_of(accepts[0]))
            changes |= dict.fromkeys(f"{stem}_{unit.suffix}" for unit in kind)
            if quantity := data[stem]:
                changes[f"{stem}_{quantity.unit}"] = quantity.value
        changes |= dict.fromkeys(f"minimum_bore_{unit}" for unit in ("in", "ft", "mm", "m"))
        if bore := length_of(data["minimum_bore"]):
            changes[f"minimum_bore_{bore[0]}"] = bore[1]
        return facts_changed(before, changes)


def _kind_of(suffix: str) -> str:
    return {"hp": "power", "inhg": "pressure", "gph": "flow"}[suffix]


def engine_initial(engine: Engine) -> dict[str, Any]:
    """What the form shows of an engine on file."""
    facts = engine.facts
    return {
        **{key: getattr(engine, key) for key in COLUMNS},
        **{key: facts.get(key, "") for key in (*WORD_FACTS, "model_year")},
        **{key: facts.get(key, False) for key in FLAG_FACTS},
        **{key: tri_answer(facts.get(key)) for key in TRI_FACTS},
        **{stem: quantity_fact_text(facts, stem, units) for stem, units in QUANTITIES.items()},
        "minimum_bore": length_fact_text(facts, "minimum_bore"),
    }
