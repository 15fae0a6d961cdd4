"""What would turn a severed-hose verdict: low points lifted, or a valve that holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from fuelsys.document.model import Document
from fuelsys.graph import Graph, build
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.sources import fuel_liquid, pressure_head

LEVELS = 24
LEVEL_STEP_M = 0.001
ABOVE_M = 0.05


@dataclass(frozen=True, slots=True)
class Lift:
    """The level below which no point of a run may lie for it to pass, and the lift this takes."""

    level_m: float
    rise_m: float


@dataclass(frozen=True, slots=True)
class OpeningNeeded:
    """Opening head that holds at every cut of a segment, and the verdict with such a valve."""

    head_m: float
    verdict: str


def lift_needed(graph: Graph, segment_id: str) -> Lift | None:
    """How far the low points of a run must be lifted for its discharge to be within the limit.

    Parameters
    ----------
    graph : Graph
    segment_id : str

    Returns
    -------
    Lift or None
        To 1 mm, the lowest of 24 levels tried from which it passes; a rise of 0 where it does as
        it lies. None where no lift is enough, as with contents that leave over the ends alone.

    Raises
    ------
    KeyError
        The graph has no such segment.

    Valid for
    ---------
    The run keeps its length; ends below the level are lifted too, with their fittings.

    Source
    ------
    As `fuelsys.hydraulics.discharge.discharge`.

    Examples
    --------
    >>> from fuelsys.document.model import Component, Hose, Segment, Tank
    >>> F = Fraction
    >>> graph = build(Document(
    ...     tanks=(Tank("T", fuel="gasoline", surface_m=F(0)),),
    ...     components=(Component("P", "withdrawal", tank="T", anti_siphon="none"),
    ...                 Component("E", "fuel_pump", check_valve=True)),
    ...     segments=(Segment("S", "feed", "P", "E",
    ...         route=((F(0), F("0.1")), (F(1), F("-0.2")), (F(2), F("0.1"))),
    ...         hose=Hose(inside_diameter_m=F("0.009525"))),)))
    >>> round(lift_needed(graph, "S").rise_m, 2)
    0.2
    """
    run = graph.polyline(segment_id)
    first = discharge(graph, segment_id)
    if first is None or run is None:
        return None
    lowest = run.lowest_m
    if first.verdict == "within":
        return Lift(lowest, 0.0)
    surfaces = [tank.level_at_capacity_m for tank in graph.document.tanks]
    top = max([run.highest_m, *(float(level) for level in surfaces if level is not None)]) + ABOVE_M

    def passes(level_m: float) -> bool:
        found = discharge(build(_lifted(graph.document, segment_id, level_m)), segment_id)
        return found is not None and found.verdict == "within"

    below = lowest
    for step in range(1, LEVELS + 1):
        level = lowest + (top - lowest) * step / LEVELS
        if passes(level):
            return _between(below, level, lowest, passes)
        below = level
    return None


def _between(
    below_m: float, level_m: float, lowest_m: float, passes: Callable[[float], bool]
) -> Lift:
    while level_m - below_m > LEVEL_STEP_M:
        middle = 0.5 * (below_m + level_m)
        if passes(middle):
            level_m = middle
        else:
            below_m = middle
    return Lift(level_m, level_m - lowest_m)


def _lifted(document: Document, own_id: str, level_m: float) -> Document:
    level = Fraction(level_m)
    segments = []
    for segment in document.segments:
        if segment.id == own_id and segment.route:
            route = tuple((s, max(z, level)) for s, z in segment.route)
            segment = replace(segment, route=route)
        segments.append(segment)
    return replace(document, segments=tuple(segments))


def opening_needed(graph: Graph, segment_id: str) -> OpeningNeeded | None:
    """The opening head that a siphon valve at the tank needs to hold at every cut of a segment.

    Parameters
    ----------
    graph : Graph
    segment_id : str

    Returns
    -------
    OpeningNeeded or None
        Greatest head from a tank's surface, its own pressure included, to the lowest point of the
        segment, and the verdict were there such a valve: what stands in the hose may still be too
        much. None where no line with a known surface runs through the segment.

    Raises
    ------
    KeyError
        The graph has no such segment.

    Valid for
    ---------
    Lines from a withdrawal to an engine.

    Source
    ------
    Hydrostatics; 33 CFR 183.558(b).

    Examples
    --------
    >>> from fuelsys.document.model import Component, Hose, Segment, Tank
    >>> F = Fraction
    >>> graph = build(Document(
    ...     tanks=(Tank("T", fuel="gasoline", surface_m=F(0)),),
    ...     components=(Component("P", "withdrawal", tank="T", anti_siphon="none"),
    ...                 Component("E", "fuel_pump", check_valve=True)),
    ...     segments=(Segment("S", "feed", "P", "E", route=((F(0), F(0)), (F(1), F("-0.2"))),
    ...         hose=Hose(inside_diameter_m=F("0.009525"))),)))
    >>> found = opening_needed(graph, "S")
    >>> found.head_m, found.verdict
    (0.2, 'within')
    """
    run = graph.polyline(segment_id)
    sources = dict.fromkeys(line.source for line in graph.lines_of(segment_id))
    heads = [head for source in sources if (head := _head_above(graph, source)) is not None]
    if run is None or not heads or len(heads) < len(sources):
        return None
    needed = max(0.0, max(heads) - run.lowest_m)
    fitted = discharge(build(_with_valves(graph.document, set(sources), needed)), segment_id)
    if fitted is None:
        return None
    return OpeningNeeded(needed, fitted.verdict)


def _head_above(graph: Graph, source: str) -> float | None:
    """Height to which a tank's own pressure would lift its fuel [m]."""
    tank = graph.tank_of(source)
    if tank is None or tank.level_at_capacity_m is None or tank.fuel is None:
        return None
    density = fuel_liquid(graph, tank.fuel).density_kg_m3
    return float(tank.level_at_capacity_m) + pressure_head(tank, density)


def _with_valves(document: Document, sources: set[str], head_m: float) -> Document:
    """The document with a valve that holds this head at each of these pick-ups."""
    parts = tuple(
        replace(part, anti_siphon="spring_valve", opening_head_m=Fraction(head_m), opening_pa=None)
        if part.id in sources
        else part
        for part in document.components
    )
    return replace(document, components=parts)
