"""Detachable lines of portable tanks seal themselves, 40 CFR 1060.105(d)."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from fuelsys.document.model import Component, Segment, Tank
from fuelsys.graph import Graph
from fuelsys.rules.base import EPA, Result, cannot_tell, failed, not_applicable, passed, rule
from fuelsys.rules.context import Context, component_path, segment_path, tank_path
from fuelsys.rules.epa_dates import Served, is_portable, served_by, served_dated
from fuelsys.rules.fuel import DIESEL, FuelAnswer, fuel_of
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

SEALING_UNKNOWN = Text(
    "Cannot tell whether the couplings of this portable line close by themselves."
)
LOOK = Text("Take the line off its tank and look; add its couplings and its year.")
TANK_UNKNOWN = Text("Cannot tell whether this is the line of a portable tank or of a fixed one.")
FOLLOW = Text("Follow the line to its tank, and add what it begins at.")


def _is_coupling(part: Component) -> bool:
    return part.kind == "connector"


def _line_ends(graph: Graph, segment: Segment) -> tuple[Component, ...]:
    """Where the line ends: at a coupling, at a tank, or where no other run goes on."""
    found: dict[str, Component] = {}
    waiting, seen = [segment], {segment.id}
    while waiting:
        run = waiting.pop()
        for part in (graph.component(run.from_id), graph.component(run.to_id)):
            beyond = [other for other in graph.segments_at(part.id) if other.id != run.id]
            if _is_coupling(part) or part.tank is not None or not beyond:
                found[part.id] = part
                continue
            waiting += [other for other in beyond if other.id not in seen]
            seen |= {other.id for other in beyond}
    return tuple(found.values())


def _not_known(parts: tuple[Component, ...]) -> tuple[str, ...]:
    """What lacks before the parts are known to close: a coupling, or how one stays."""
    unknown = [part.id for part in parts if _is_coupling(part) and part.self_sealing is None]
    bare = any(not _is_coupling(part) for part in parts)
    paths = tuple(component_path(name, "self_sealing") for name in unknown)
    return (*paths, *(("components",) if bare else ()))


def _may_be_portable(served: Served) -> bool:
    """Whether the line may be that of a portable tank, and which tank it is on is not known."""
    return not served.certain and any(not tank.installed for tank in served.tanks)


def _fuel_lacking(fuel: FuelAnswer | None) -> tuple[str, ...]:
    return fuel.paths if fuel is not None and fuel.fuel is None else ()


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
    served, fuel = served_by(context, segment), fuel_of(context.graph, segment)
    portable = is_portable(segment, served.tanks)
    if (fuel is not None and fuel.fuel == DIESEL) or not (portable or _may_be_portable(served)):
        return None
    ends = _line_ends(context.graph, segment)
    own = [end for end in ends if _is_coupling(end) and end.id in (segment.from_id, segment.to_id)]
    if not own and any(map(_is_coupling, ends)):
        return None
    if not portable:
        return cannot_tell(TANK_UNKNOWN, segment_path(segment.id, "from"), remedy=FOLLOW)
    sealing, unseen = [coupling.self_sealing for coupling in own], _not_known(ends)
    if all(sealing) and not unseen:
        return passed(Text("The couplings of this portable line close by themselves."))
    dated = served_dated(context, segment, context.day("portable_start"))
    if dated.reached is False:
        return not_applicable(Text("It was made before the standard began."))
    lacking = dated.missing + _fuel_lacking(fuel) + (() if False in sealing else unseen)
    if lacking:
        return cannot_tell(SEALING_UNKNOWN, *lacking, remedy=LOOK)
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
