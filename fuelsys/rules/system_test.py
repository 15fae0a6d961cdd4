"""The pressure for a tank system's leak test, 33 CFR 183.542, and how long to wait.

The greater of 3 psi and 1.5 times the pressure at the lowest part when filled to overflow, by air
or inert gas, and never above the pressure on the tank's label. Overflow level is the lower of the
fill and vent tops (Coast Guard boatbuilder handbook, Appendix A).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from math import ceil

from fuelsys.document.model import Component, Document, Segment, Tank
from fuelsys.graph import Graph
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.liquids import (
    DEFAULT_TEMPERATURE_C,
    DENSITY_COLDEST_C,
    DENSITY_WARMEST_C,
    has_density,
    liquid,
)
from fuelsys.rules.context import component_path, segment_path, tank_path
from fuelsys.rules.parameters import parameter
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

SECTION = "33-cfr/183-542/"
METHOD = Text("the greater of 3 psi and 1.5 times the head of fuel from overflow to lowest part")
NO_LABEL = Text(
    "The tank bears no legible label pressure, 183.514(b)(5). No test pressure may be named; test"
    " the lines with the tank isolated."
)
ABOVE_LABEL = (
    "The rule asks {test}, above the {label} on the tank's label. Isolate the tank; a lead decides."
)
SOURCE = "33 CFR 183.542"
LABEL_SOURCE = "33 CFR 183.514(b)(5)"
GAS = Text("Tested by air or inert gas.")
DENSITY = "Density of {fuel} at {temperature}: {density}."
OUTSIDE = Text(
    "The fuel's temperature on file lies outside {low} to {high}, where its density is given. Check"
    " its unit.",
    {"low": Figure(DENSITY_COLDEST_C, "c"), "high": Figure(DENSITY_WARMEST_C, "c")},
)


@dataclass(frozen=True, slots=True)
class SystemTest:
    """A test pressure with what it rests on; without one, why there is none."""

    pressure_pa: Fraction | None
    wait_min: int | None
    source: str
    inputs: Mapping[str, Figure] = field(default_factory=dict)
    assumptions: tuple[Text, ...] = ()
    missing: tuple[str, ...] = ()
    method: Text = METHOD
    above_label: Text | None = None  # said where the rule asks more than the label bears


def system_test_once(graph: Graph, tank: Tank, on: date) -> SystemTest:
    """The same, worked out once for a tank and a day: a rule and a figure ask for it."""
    return graph.once(("system test", tank.id, on), lambda: system_test(graph, tank, on))


def system_test(graph: Graph, tank: Tank, on: date) -> SystemTest:
    """The test pressure of one tank's system on a day.

    Parameters
    ----------
    graph : Graph
    tank : Tank
        One of the graph's tanks.
    on : date
        The day whose rule applies.

    Returns
    -------
    SystemTest
        `pressure_pa` [Pa] is None where the label is lacking, where the rule asks more than the
        label bears, or where a height is not known; `missing` and `assumptions` say which.

    Valid for
    ---------
    A system at rest in static floating position.

    Source
    ------
    33 CFR 183.542, 183.514(b)(5); Coast Guard boatbuilder handbook, Appendix A 15.0 (wait).
    """
    wait_min = _wait_min(tank, on)
    label_pa = tank.label_pressure_pa if tank.label_legible is not False else None
    if label_pa is None:
        path = tank_path(tank.id, "label_pressure_psi")
        return SystemTest(None, wait_min, LABEL_SOURCE, assumptions=(NO_LABEL,), missing=(path,))
    warmth = _temperature_c(graph.document)
    if not has_density(warmth):
        lacking = ("fuel.temperature_f",)
        return SystemTest(None, wait_min, SOURCE, assumptions=(OUTSIDE,), missing=lacking)
    density = _density_kg_m3(tank, graph.document)
    overflow_m, lowest_m, missing = _heights(graph, tank)
    if density is None:
        missing = (*missing, tank_path(tank.id, "fuel"))
    if missing or density is None:
        return SystemTest(None, wait_min, SOURCE, missing=missing)
    by_head_pa = (
        _value("test_head_factor", on) * density * Fraction(G_M_S2) * (overflow_m - lowest_m)
    )
    asked_pa = max(_value("test_pressure_floor", on), by_head_pa)
    inputs = {
        "overflow_height": Figure(from_base(overflow_m, "in"), "in"),
        "lowest_height": Figure(from_base(lowest_m, "in"), "in"),
        "label_pressure": Figure(from_base(label_pa, "psi"), "psi"),
        **_fuel_inputs(tank, graph.document),
    }
    at = {"temperature": Figure(warmth, "c"), "density": Figure(density, "kg/m3", computed=True)}
    said = (Text(DENSITY, {"fuel": tank.fuel, **at}), GAS)
    if asked_pa > label_pa:
        asked = Figure(from_base(asked_pa, "psi"), "psi", computed=True)
        figures = {"test": asked, "label": inputs["label_pressure"]}
        above = Text(ABOVE_LABEL, figures)
        return SystemTest(None, wait_min, SOURCE, inputs, (above, *said), above_label=above)
    return SystemTest(asked_pa, wait_min, SOURCE, inputs, said)


def _value(key: str, on: date) -> Fraction:
    held = parameter(SECTION + key).on(on)
    if not isinstance(held, Fraction):
        raise TypeError(f"Parameter {key!r} is not a number.")
    return held


def _temperature_c(document: Document) -> float:
    warmth = document.fuel.temperature_c
    return DEFAULT_TEMPERATURE_C if warmth is None else float(warmth)


def _fuel_inputs(tank: Tank, document: Document) -> dict[str, Figure]:
    """The facts of the fuel that its density rests on, as far as they are on file."""
    inputs, facts = {}, document.fuel
    if facts.temperature_c is not None:
        inputs["temperature"] = Figure(from_base(facts.temperature_c, "f"), "f")
    if facts.ethanol_pct is not None and tank.fuel == "gasoline":
        inputs["ethanol"] = Figure(facts.ethanol_pct, "pct")
    return inputs


def _density_kg_m3(tank: Tank, document: Document) -> Fraction | None:
    if tank.fuel is None:
        return None
    ethanol, warmth = document.fuel.ethanol_pct, document.fuel.temperature_c
    found = liquid(
        tank.fuel,
        ethanol_pct=None if ethanol is None else float(ethanol),
        temperature_c=None if warmth is None else float(warmth),
    )
    return Fraction(found.density_kg_m3)


def _wait_min(tank: Tank, on: date) -> int | None:
    """5 min, and 1 min for each 10 gal or part of it above 50 gal.

    >>> _wait_min(Tank("T", capacity_m3=Fraction(51 * 3785411784, 10**12)), date(2026, 11, 25))
    6
    """
    if tank.capacity_m3 is None:
        return None
    above_m3 = max(Fraction(0), tank.capacity_m3 - _value("wait_free_volume", on))
    return int(_value("wait_least", on) / 60) + ceil(above_m3 / _value("wait_step_volume", on))


def _heights(graph: Graph, tank: Tank) -> tuple[Fraction, Fraction, tuple[str, ...]]:
    """Overflow level and lowest wetted point of a tank's system, with the facts lacking."""
    segments, components = _system(graph, tank)
    tops = {c.id: c.height_m for c in components if c.kind in ("deck_fill", "vent_fitting")}
    missing = [component_path(name, "height_in") for name, top in tops.items() if top is None]
    missing += [segment_path(s.id, "route") for s in segments if not s.route]
    if tank.bottom_m is None:
        missing.append(tank_path(tank.id, "bottom_in"))
    if not tops:
        missing.append("components")
    known_tops = [top for top in tops.values() if top is not None]
    low = [height for segment in segments for _, height in segment.route or ()]
    low += [tank.bottom_m] if tank.bottom_m is not None else []
    overflow_m, lowest_m = min(known_tops, default=Fraction(0)), min(low, default=Fraction(0))
    return overflow_m, lowest_m, tuple(missing)


def _system(graph: Graph, tank: Tank) -> tuple[list[Segment], list[Component]]:
    """Everything joined to the tank, up to the fittings of any other tank."""
    components = {c.id: c for c in graph.document.components if c.tank == tank.id}
    waiting = list(components)
    segments: dict[str, Segment] = {}
    while waiting:
        for segment in graph.segments_at(waiting.pop()):
            segments[segment.id] = segment
            for name in (segment.from_id, segment.to_id):
                if name not in components:
                    components[name] = graph.component(name)
                    waiting += [] if components[name].tank else [name]
    return list(segments.values()), list(components.values())
