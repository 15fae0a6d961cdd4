"""How a figure says which fuel it was worked out with, and where its constants end."""

from __future__ import annotations

from fuelsys.document.model import Fuel
from fuelsys.evaluation.computed import in_unit
from fuelsys.hydraulics.liquids import (
    COLDEST_C,
    DEFAULT_TEMPERATURE_C,
    DENSITY_COLDEST_C,
    DENSITY_WARMEST_C,
    WARMEST_C,
    Liquid,
    has_density,
    viscosity_temperature,
)
from fuelsys.text import Figure, Text

TEMPERATURE = "fuel.temperature_f"  # what is to be looked at again where a range ends
LIQUID = Text("{fuel} at {temperature}: {density}, {viscosity}.")
BEYOND = Text(
    "{fuel} at {temperature}: {density}. Its viscosity is given from {coldest} to {warmest} only;"
    " that at {used} is taken, {viscosity}."
)
THICKER = Text("Colder fuel is thicker than it is taken here: friction adds at least this much.")
THINNER = Text("Warmer fuel is thinner than it is taken here: friction adds at most this much.")
OUTSIDE = Text("The fuel's temperature on file lies outside {low} to {high}. Check its unit.")


def temperature_c(facts: Fuel) -> float:
    """The fuel's temperature on file, or that of the method [C]."""
    return DEFAULT_TEMPERATURE_C if facts.temperature_c is None else float(facts.temperature_c)


def outside(low_c: float, high_c: float) -> Text:
    """That the temperature on file is none to compute with."""
    return Text(OUTSIDE.msgid, {"low": in_unit(low_c, "c"), "high": in_unit(high_c, "c")})


def without_density(facts: Fuel) -> Text | None:
    """Said where the temperature on file has no density, so that nothing is computed with it."""
    if has_density(temperature_c(facts)):
        return None
    return outside(DENSITY_COLDEST_C, DENSITY_WARMEST_C)


def is_too_cold(facts: Fuel) -> bool:
    """Whether the fuel is thicker than the coldest viscosity that is given."""
    return temperature_c(facts) < COLDEST_C


def liquid_words(facts: Fuel, fuel: str, used: Liquid) -> list[Text]:
    """What was taken of the liquid; of one beyond its viscosities, which stands in for it."""
    warmth = temperature_c(facts)
    figures = {
        "fuel": Text(fuel.capitalize()),
        "temperature": in_unit(warmth, "c"),
        "density": Figure(used.density_kg_m3, "kg/m3", computed=True),
        "viscosity": Figure(used.viscosity_m2_s * 1e6, "mm2/s", computed=True),
    }
    if COLDEST_C <= warmth <= WARMEST_C:
        return [Text(LIQUID.msgid, figures)]
    figures |= {
        "used": in_unit(viscosity_temperature(warmth), "c"),
        "coldest": in_unit(COLDEST_C, "c"),
        "warmest": in_unit(WARMEST_C, "c"),
    }
    return [Text(BEYOND.msgid, figures), THICKER if warmth < COLDEST_C else THINNER]


def fuel_inputs(facts: Fuel, fuel: str | None) -> dict[str, Figure]:
    """The facts on file that density and viscosity were worked out from."""
    inputs = {}
    if facts.temperature_c is not None:
        inputs["temperature"] = in_unit(facts.temperature_c, "f")
    if facts.ethanol_pct is not None and fuel == "gasoline":
        inputs["ethanol"] = in_unit(facts.ethanol_pct, "pct")
    return inputs
