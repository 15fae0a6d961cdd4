"""What stands in a compartment and whether it is open to the air: 33 CFR 183.605, .610, .620."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain

from fuelsys.document.model import Compartment, Component, Engine, Opening, Tank
from fuelsys.rules.answers import NO, YES, Answer, all_of, any_of, known, unless
from fuelsys.rules.context import (
    Context,
    compartment_path,
    component_path,
    engine_path,
    tank_path,
)
from fuelsys.rules.fuel import GASOLINE, FuelAnswer, fuel_of, tanks_met
from fuelsys.text import Text
from fuelsys.units import from_base, to_base

OPEN_AREA = "33-cfr/183-605/open_area"
OPEN = Text("The compartment is open to the air.")
METAL = ("aluminum", "steel", "stainless_steel", "carbon_steel", "terneplate")


def is_open(place: Compartment, per_volume: Fraction) -> Answer:
    """Open to the atmosphere: so much open area for each net volume [m2/m3]."""
    if place.kind == "open_deck":
        return YES
    facts = {"open_area_in2": place.open_area_m2, "net_volume_ft3": place.net_volume_m3}
    missing = tuple(compartment_path(place.id, key) for key, fact in facts.items() if fact is None)
    if place.open_area_m2 == 0:
        return NO
    if missing or place.open_area_m2 is None or place.net_volume_m3 is None:
        return Answer(None, missing)
    return Answer(place.open_area_m2 >= per_volume * place.net_volume_m3)


def open_per_volume(context: Context) -> Fraction:
    """15 square inches of open area for each cubic foot of net volume, 33 CFR 183.605 [m2/m3]."""
    key = ("open per volume", context.on)
    return context.graph.once(key, lambda: context.value("open_area") / to_base(1, "ft3"))


def open_to_air(place: Compartment, context: Context) -> Answer:
    """Open to the atmosphere as 33 CFR 183.605 says."""
    return is_open(place, open_per_volume(context))


def is_gasoline_inside(engine: Engine) -> Answer:
    """A gasoline engine installed inside the hull."""
    if engine.portable:
        return NO
    fuel = None if engine.fuel is None else engine.fuel == GASOLINE
    inside = None if engine.mount is None else engine.mount != "outboard"
    return all_of(
        (
            known(fuel, engine_path(engine.id, "fuel")),
            known(inside, engine_path(engine.id, "mount")),
        )
    )


def holds_engine(context: Context, place: Compartment, *, cranked: bool = False) -> Answer:
    """Whether an installed gasoline engine stands here; with `cranked`, one with a starter."""
    key = ("engine in", place.id, cranked)
    return context.graph.once(key, lambda: any_of(_engines_here(context, place, cranked=cranked)))


def _engines_here(context: Context, place: Compartment, *, cranked: bool) -> Iterator[Answer]:
    for engine in context.document.engines:
        here = None if engine.compartment is None else engine.compartment == place.id
        facts = [is_gasoline_inside(engine), known(here, engine_path(engine.id, "compartment"))]
        if cranked:
            facts.append(known(engine.cranking_motor, engine_path(engine.id, "cranking_motor")))
        yield all_of(facts)


def opens_to_engine(context: Context, place: Compartment, most_pct: Fraction) -> Answer:
    """Whether more than 2 % of the wall shared with an engine compartment is open."""
    others = [other for other in context.document.compartments if other.id != place.id]
    return any_of(
        all_of((holds_engine(context, other), _share(place, other, most_pct))) for other in others
    )


def _share(place: Compartment, other: Compartment, most_pct: Fraction) -> Answer:
    """An opening may be recorded on either side of the wall."""
    told = [*_openings(place, other.id), *_openings(other, place.id)]
    if not told and place.open_to is None:
        return Answer(None, (compartment_path(place.id, "open_to"),))
    return any_of(
        Answer(None, (compartment_path(place.id, "open_to"),))
        if opening.share_pct is None
        else Answer(opening.share_pct > most_pct)
        for opening in told
    )


def _openings(place: Compartment, towards: str) -> list[Opening]:
    return [opening for opening in place.open_to or () if opening.compartment == towards]


def _gasoline_tank_here(context: Context, tank: Tank, place: Compartment) -> Answer:
    answer = fuel_of(context.graph, tank)
    fuel = None if answer is None or answer.fuel is None else answer.fuel == GASOLINE
    here = None if tank.compartment is None else tank.compartment == place.id
    return all_of(
        (
            Answer(tank.installed),
            known(fuel, tank_path(tank.id, "fuel")),
            known(here, tank_path(tank.id, "compartment")),
        )
    )


def holds_tank_and_sparks(context: Context, place: Compartment) -> Answer:
    """An installed gasoline tank beside electrics that are not ignition-protected."""
    sparks = known(place.unprotected_electrics, compartment_path(place.id, "unprotected_electrics"))
    tanks = context.document.tanks
    return all_of((any_of(_gasoline_tank_here(context, t, place) for t in tanks), sparks))


def tank_vents_here(context: Context, place: Compartment) -> Answer:
    """A vent fitting of gasoline whose overflow runs into this compartment."""
    return any_of(
        all_of((_stands_in(part, place), _of_gasoline(context, part), _spills(part)))
        for part in context.document.components
        if part.kind == "vent_fitting"
    )


def _stands_in(part: Component, place: Compartment) -> Answer:
    here = None if part.compartment is None else part.compartment == place.id
    return known(here, component_path(part.id, "compartment"))


def _of_gasoline(context: Context, part: Component) -> Answer:
    answer = fuel_of(context.graph, part)
    fuel = None if answer is None or answer.fuel is None else answer.fuel == GASOLINE
    return known(fuel, _fuel_path(answer))


def _spills(part: Component) -> Answer:
    return known(part.overflow_enters_boat, component_path(part.id, "overflow_enters_boat"))


def tanks_vent_outside(context: Context) -> Answer:
    """Every built-in tank stands beside ignition-protected electrics alone and vents outside."""
    built_in = [tank for tank in context.document.tanks if tank.installed]
    if not context.document.tanks:
        return Answer(None, ("tanks",))
    return all_of(chain.from_iterable(_protected(context, tank) for tank in built_in))


def _protected(context: Context, tank: Tank) -> Iterator[Answer]:
    if tank.compartment is None:
        yield Answer(None, (tank_path(tank.id, "compartment"),))
    else:
        place = context.graph.compartment(tank.compartment)
        path = compartment_path(place.id, "unprotected_electrics")
        yield unless(place.unprotected_electrics, path)
    vents = [part for part in context.document.components if _is_vent_of(context, part, tank)]
    yield from (
        unless(part.overflow_enters_boat, component_path(part.id, "overflow_enters_boat"))
        for part in vents
    )
    if not vents:
        yield Answer(None, ("components",))


def _is_vent_of(context: Context, part: Component, tank: Tank) -> bool:
    if part.kind != "vent_fitting":
        return False
    runs = context.graph.segments_at(part.id)
    return any(tank.id in tanks_met(context.graph, run) for run in runs)


def _fuel_path(answer: FuelAnswer | None) -> str:
    return answer.path if answer else ""


def tank_permeates(
    context: Context, place: Compartment, limit_g_day_ft3: Fraction, least_m3: Fraction
) -> Answer:
    """A tank not of metal gives off more than 1.2 g a day for each cubic foot of net volume."""
    return any_of(
        all_of(
            (
                _gasoline_tank_here(context, tank, place),
                _not_metal(tank),
                _gives_off(tank, place, limit_g_day_ft3, least_m3),
            )
        )
        for tank in context.document.tanks
    )


def _not_metal(tank: Tank) -> Answer:
    told = None if tank.material in (None, "other") else tank.material not in METAL
    return known(told, tank_path(tank.id, "material"))


def _gives_off(
    tank: Tank, place: Compartment, limit_g_day_ft3: Fraction, least_m3: Fraction
) -> Answer:
    lost, volume_m3 = tank.permeation_g_day, place.net_volume_m3
    missing = () if lost is not None else (tank_path(tank.id, "permeation_g_day"),)
    if volume_m3 is None:
        missing = (*missing, compartment_path(place.id, "net_volume_ft3"))
    if lost is None or volume_m3 is None:
        return Answer(None, missing)
    return Answer(lost > limit_g_day_ft3 * from_base(max(volume_m3, least_m3), "ft3"))
