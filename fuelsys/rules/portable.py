"""Detachable lines of portable tanks seal themselves, 40 CFR 1060.105(d)."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from fuelsys.document.model import Component, Segment, Tank
from fuelsys.rules.base import EPA, Result, cannot_tell, failed, not_applicable, passed, rule
from fuelsys.rules.context import Context, component_path, tank_path
from fuelsys.rules.epa_dates import is_portable, portable_dated, tanks_of
from fuelsys.rules.fuel import DIESEL, fuel_of
from fuelsys.text import Figure, Text
from fuelsys.units import from_base


def _connectors(context: Context, segment: Segment) -> tuple[Component, ...]:
    ends = (context.graph.component(end) for end in (segment.from_id, segment.to_id))
    return tuple(end for end in ends if end.kind == "connector")


def _line_has_connectors(context: Context, segment: Segment) -> bool:
    """Whether any run of the same fuel line ends at a connector."""
    names = {name for line in context.graph.lines_of(segment.id) for name in line.components}
    return any(context.graph.component(name).kind == "connector" for name in names)


def _not_looked_at(connectors: tuple[Component, ...]) -> tuple[str, ...]:
    """What to look at before a coupling can fail: nothing, once one is known to stay open."""
    if any(connector.self_sealing is False for connector in connectors):
        return ()
    unknown = [connector.id for connector in connectors if connector.self_sealing is None]
    return tuple(component_path(name, "self_sealing") for name in unknown) or ("components",)


@rule(
    id="cfr-40-1060-105-d",
    title="Portable line seals itself",
    words=Text(
        "The maker of a detachable gasoline line made on {portable_start} or later gives both"
        " ends couplings that close by themselves when they come off. Fixed lines, older lines"
        " and diesel are left out."
    ),
    regime=EPA,
    applies_to="segment",
    citation="40 CFR 1060.105(d); 1045.112(d)",
    force="vessel or engine maker",
    evidence="V",
    services=("feed",),
    parameters=("40-cfr/1045-112/portable_start",),
    in_force_from=date(2010, 1, 1),
)
def portable_line_seals(segment: Segment, context: Context) -> Result:
    """Each coupling of a detachable gasoline line closes by itself when it comes off."""
    tanks = tanks_of(context, segment)
    fuel = fuel_of(context.graph, segment)
    if not is_portable(segment, tanks) or (fuel is not None and fuel.fuel == DIESEL):
        return None
    connectors = _connectors(context, segment)
    if not connectors and _line_has_connectors(context, segment):
        return None
    sealing = [connector.self_sealing for connector in connectors]
    if sealing and all(sealing):
        return passed(Text("The couplings of this portable line close by themselves."))
    dated = portable_dated(segment, tanks, context.day("portable_start"))
    if dated.reached is False:
        return not_applicable(Text("It was made before the standard began."))
    lacking = dated.missing + _not_looked_at(connectors)
    if lacking:
        return cannot_tell(
            Text("Cannot tell whether the couplings of this portable line close by themselves."),
            *lacking,
            remedy=Text("Take the line off its tank and look; add its couplings and its year."),
        )
    return failed(
        Text("A coupling of this portable line stays open when it comes off."),
        remedy=Text("Fit self-sealing couplings at both ends."),
    )


@rule(
    id="cfr-40-1060-105-c",
    title="Portable tank stays shut",
    words=Text(
        "The maker of a portable gasoline tank made on {portable_start} or later lets its"
        " outlet stay shut below {tank_vents_from}; air may be let in. Installed tanks, older"
        " tanks and diesel are left out."
    ),
    regime=EPA,
    applies_to="tank",
    citation="40 CFR 1060.105(c)",
    force="vessel or engine maker",
    evidence="V",
    parameters=("40-cfr/1060-105/tank_vents_from", "40-cfr/1045-112/portable_start"),
    in_force_from=date(2010, 1, 1),
)
def portable_tank_shut(tank: Tank, context: Context) -> Result:
    """The outlet of a portable gasoline tank does not vent below 5.0 psi."""
    fuel = fuel_of(context.graph, tank)
    if tank.installed or (fuel is not None and fuel.fuel == DIESEL):
        return None
    made, start = tank.made, context.day("portable_start")
    reached = None if made is None else made.on_or_after(start)
    if reached is False:
        return not_applicable(Text("It was made before the standard began."))
    held_pa, least_pa = tank.relief_pa, context.value("tank_vents_from")
    facts = {"relief_psi": held_pa, "made": reached, "fuel": fuel and fuel.fuel}
    missing = [tank_path(tank.id, key) for key, fact in facts.items() if fact is None]
    figures = {"limit": _psi(least_pa)} | ({} if held_pa is None else {"measured": _psi(held_pa)})
    if held_pa is not None and held_pa >= least_pa:
        return passed(Text("The portable tank stays shut as it must."), **figures)
    if missing:
        return cannot_tell(
            Text("Cannot tell at which pressure this portable tank vents."),
            *missing,
            remedy=Text("Read the tank's label or its maker's sheet; add its year."),
        )
    return failed(
        Text("This portable tank vents at {measured}. It must stay shut to {limit}.", figures),
        remedy=Text("Fit a cap that stays shut, or replace the tank."),
        **figures,
    )


def _psi(pressure_pa: Fraction) -> Figure:
    return Figure(from_base(pressure_pa, "psi"), "psi")
