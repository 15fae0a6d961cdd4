"""Which date decides whether 40 CFR 1045.112 reaches a line, and on which side it lies.

A vessel with outboards and an installed tank dates from the day the tank went in, any other
vessel from the day it was built (40 CFR 1060.801). A line that came with the engine goes by the
engine's model year (1045.112(f)). A portable line is a product of its own and goes by the year
it was made, or that of its tank.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fuelsys.document.model import Engine, PartialDate, Segment, Tank
from fuelsys.rules.context import Context, engine_path, segment_path, tank_path
from fuelsys.rules.fuel import tanks_met
from fuelsys.text import Text

NOTHING = Text("")
BUILD_FOR_TANK = Text(
    " The day the tank went in is not on file; the boat's build date is read for it."
)
TANK_MADE = Text(" The day the tank went in is not on file; it is no earlier than its make.")


@dataclass(frozen=True, slots=True)
class Dated:
    """Whether a date lies on or after a start; None with the paths of the facts that tell."""

    reached: bool | None
    missing: tuple[str, ...] = ()
    assumption: Text = NOTHING


@dataclass(frozen=True, slots=True)
class Served:
    """The tanks a segment serves; where that is not certain, those it may serve."""

    tanks: tuple[Tank, ...]
    certain: bool


def _of_date(when: PartialDate | None, start: date, *paths: str) -> Dated:
    reached = None if when is None else when.on_or_after(start)
    return Dated(reached, paths if reached is None else ())


def _of_installed_tank(tank: Tank, built: PartialDate | None, start: date) -> Dated:
    """The day a tank went in, or what other dates say of it."""
    path = tank_path(tank.id, "installed_on")
    if tank.installed_on is not None:
        return _of_date(tank.installed_on, start, path)
    if tank.made is not None and tank.made.on_or_after(start):
        return Dated(True, assumption=TANK_MADE)
    # A tank goes in no earlier than its boat is built, but it may go in long after.
    if built is not None and built.on_or_after(start):
        return Dated(True, assumption=BUILD_FOR_TANK)
    return Dated(None, (path,))


def _agreed(answers: Iterable[Dated]) -> Dated:
    """One answer from several tanks: reached if any is, not reached if none is."""
    found = tuple(answers)
    for wanted in (True, None, False):
        for answer in found:
            if answer.reached is wanted:
                return answer
    raise ValueError("No date was given to agree on.")


def whichever(answers: Iterable[Dated], path: str) -> Dated:
    """One answer where any of several may hold: theirs if all say the same, else `path` tells."""
    found = tuple(answers)
    first = found[0]
    if first.reached is not None and all(each.reached is first.reached for each in found):
        return first
    missing = dict.fromkeys((path, *(fact for each in found for fact in each.missing)))
    return Dated(None, tuple(missing))


def vessel_dated(context: Context, tanks: tuple[Tank, ...], start: date) -> Dated:
    """The vessel's date of manufacture as it holds for what these tanks serve.

    Where it is not known whether an engine is an outboard, both dates must say the same.
    """
    built, engines = context.document.boat.built, context.document.engines
    by_boat = _of_date(built, start, "boat.built")
    may_hang_outside = any(engine.mount in (None, "outboard") for engine in engines)
    if tanks == () and may_hang_outside and by_boat.reached is not True:
        return Dated(None, ("tanks",))  # a tank may have gone in long after she was built
    installed = tuple(tank for tank in tanks if tank.installed)
    if not installed:
        return by_boat
    by_tank = _agreed(_of_installed_tank(tank, built, start) for tank in installed)
    if any(engine.mount == "outboard" for engine in engines):
        return by_tank
    unknown = tuple(engine_path(each.id, "mount") for each in engines if each.mount is None)
    if not unknown or by_boat.reached is by_tank.reached:
        return by_boat
    return Dated(None, unknown)


def engine_dated(engine: Engine, start: date) -> Dated:
    """By model year: a year's engines may be made from the January before it."""
    year = engine.model_year
    if year is not None and year != start.year:
        return Dated(year > start.year)
    return Dated(None, (engine_path(engine.id, "model_year"),))


def portable_dated(segment: Segment, tanks: tuple[Tank, ...], start: date) -> Dated:
    """By the year the line was made, or the date its portable tank was."""
    made = segment.hose.made if segment.hose else None
    line = _of_date(
        None if made is None else PartialDate(made), start, segment_path(segment.id, "hose", "made")
    )
    answers = [line] + [
        _of_date(tank.made, start, tank_path(tank.id, "made"))
        for tank in tanks
        if not tank.installed
    ]
    return _agreed(answers)


def served_by(context: Context, segment: Segment) -> Served:
    """The tanks that a segment's ends, its line or its run name; else any of those aboard."""
    return context.graph.once(("tanks of", segment.id), lambda: _served_by(context, segment))


def _served_by(context: Context, segment: Segment) -> Served:
    graph, aboard = context.graph, context.document.tanks
    ends = {segment.from_id, segment.to_id}
    ends |= {line.source for line in graph.lines_of(segment.id)}
    joined = {tank.id for tank in map(graph.tank_of, ends) if tank is not None}
    if joined:
        return Served(tuple(tank for tank in aboard if tank.id in joined), certain=True)
    met = tanks_met(graph, segment)
    tanks = tuple(tank for tank in aboard if tank.id in met) or aboard
    return Served(tanks, certain=len(tanks) <= 1)


def engine_of(context: Context, segment: Segment) -> Engine | None:
    """The engine a segment serves; the only one aboard where it names none."""
    if segment.engine is not None:
        return context.graph.engine(segment.engine)
    engines = context.document.engines
    return engines[0] if len(engines) == 1 else None


def line_dated(context: Context, segment: Segment, start: date) -> Dated:
    """Whether a line falls under a standard that begins on `start`."""
    if segment.engine_maker_part or segment.part_of_outboard:
        engine = engine_of(context, segment)
        if engine is None:
            return Dated(None, (segment_path(segment.id, "engine"),))
        return engine_dated(engine, start)
    return served_dated(context, segment, start)


def served_dated(context: Context, segment: Segment, start: date) -> Dated:
    """By the tanks a line serves; where it may be any of several, all must say the same."""
    served = served_by(context, segment)
    if served.certain:
        return _of_tanks(context, segment, served.tanks, start)
    each = (_of_tanks(context, segment, (tank,), start) for tank in served.tanks)
    return whichever(each, segment_path(segment.id, "from"))


def _of_tanks(context: Context, segment: Segment, tanks: tuple[Tank, ...], start: date) -> Dated:
    if is_portable(segment, tanks):
        return portable_dated(segment, tanks, start)
    key = ("vessel dated", tuple([tank.id for tank in tanks]), start)
    return context.graph.once(key, lambda: vessel_dated(context, tanks, start))


def is_portable(segment: Segment, tanks: tuple[Tank, ...]) -> bool:
    """A portable line, or one that serves none but portable tanks."""
    return segment.portable or (bool(tanks) and not any(tank.installed for tank in tanks))
