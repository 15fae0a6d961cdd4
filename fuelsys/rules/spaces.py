"""What stands in a compartment and whether it is open to the air: 33 CFR 183.605, .610, .620."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from fuelsys.document.model import Compartment, Engine, Opening, Tank
from fuelsys.rules.answers import NO, YES, Answer, all_of, any_of, known
from fuelsys.rules.context import (
    Context,
    compartment_path,
    component_path,
    engine_path,
    tank_path,
)
from fuelsys.rules.fuel import GASOLINE, FuelAnswer, fuel_of
from fuelsys.text import Text
from fuelsys.units import from_base, to_base

# 33 CFR 183.605: 15 square inches of open area for each cubic foot of net volume.
OPEN_AREA_PER_VOLUME = to_base(15, "in2") / to_base(1, "ft3")
OPEN = Text("The compartment is open to the air.")
METAL = ("aluminum", "steel", "stainless_steel", "carbon_steel", "terneplate")


def is_open(place: Compartment, per_volume: Fraction = OPEN_AREA_PER_VOLUME) -> Answer:
    """Open to the atmosphere."""
    if place.kind == "open_deck":
        return YES
    facts = {"open_area_in2": place.open_area_m2, "net_volume_ft3": place.net_volume_m3}
    missing = tuple(compartment_path(place.id, key) for key, fact in facts.items() if fact is None)
    if place.open_area_m2 == 0:
        return NO
    if missing or place.open_area_m2 is None or place.net_volume_m3 is None:
        return Answer(None, missing)
    return Answer(place.open_area_m2 >= per_volume * place.net_volume_m3)


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
    answers = []
    for part in context.document.components:
        if part.kind != "vent_fitting" or part.compartment != place.id:
            continue
        answer = fuel_of(context.graph, part)
        fuel = None if answer is None or answer.fuel is None else answer.fuel == GASOLINE
        spills = known(part.overflow_enters_boat, component_path(part.id, "overflow_enters_boat"))
        answers.append(all_of((known(fuel, _fuel_path(answer)), spills)))
    return any_of(answers)


def _fuel_path(answer: FuelAnswer | None) -> str:
    return answer.path if answer else ""


def tank_permeates(context: Context, place: Compartment, limit_g_day_ft3: Fraction) -> Answer:
    """A tank not of metal gives off more than 1.2 g a day for each cubic foot of net volume."""
    return any_of(
        all_of(
            (
                _gasoline_tank_here(context, tank, place),
                _not_metal(tank),
                _gives_off(tank, place, limit_g_day_ft3),
            )
        )
        for tank in context.document.tanks
    )


def _not_metal(tank: Tank) -> Answer:
    told = None if tank.material in (None, "other") else tank.material not in METAL
    return known(told, tank_path(tank.id, "material"))


def _gives_off(tank: Tank, place: Compartment, limit_g_day_ft3: Fraction) -> Answer:
    lost, volume_m3 = tank.permeation_g_day, place.net_volume_m3
    missing = () if lost is not None else (tank_path(tank.id, "permeation_g_day"),)
    if volume_m3 is None:
        missing = (*missing, compartment_path(place.id, "net_volume_ft3"))
    if lost is None or volume_m3 is None:
        return Answer(None, missing)
    return Answer(lost > limit_g_day_ft3 * max(Fraction(from_base(volume_m3, "ft3")), Fraction(1)))
