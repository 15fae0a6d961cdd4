"""The way of the fuel from each tank to a cut segment, part by part; for what figures tell.

The discharge itself keeps no order of parts. Here the walk is done once more, so that no
evaluation carries what only a page asks for.
"""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.document.model import Segment
from fuelsys.graph import Graph
from fuelsys.graph.walk import AT_THE_CUT
from fuelsys.hydraulics.reading import Reading
from fuelsys.hydraulics.sides import SideBuilder
from fuelsys.hydraulics.sources import Source


@dataclass(frozen=True, slots=True)
class Way:
    """From a pick-up to one end of a segment: `parts` has one more than `segments`."""

    source: Source
    parts: tuple[str, ...]
    segments: tuple[str, ...]
    openings_m: tuple[float, ...]  # for each of these, of the valves between it and the tank


@dataclass(frozen=True, slots=True)
class Reach:
    """What is joined to one end of a segment, and the ways of fuel to that end."""

    end: str
    ways: tuple[Way, ...]
    parts: tuple[str, ...]
    segments: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Crest:
    """The point of a way at which a siphon's pressure is least."""

    height_m: float
    opening_m: float  # of the valves before it


def reaches(graph: Graph, segment_id: str) -> tuple[Reach, Reach]:
    """What lies beyond a segment's `from` end, and beyond its `to` end.

    >>> from fuelsys.document.model import Component, Document, Tank
    >>> graph = Graph(Document(tanks=(Tank("T", fuel="gasoline"),), components=(
    ...     Component("P", "withdrawal", tank="T"), Component("F", "filter"),
    ...     Component("E", "fuel_pump")),
    ...     segments=(Segment("S1", "feed", "P", "F"), Segment("S2", "feed", "F", "E"))))
    >>> before, beyond = reaches(graph, "S2")
    >>> before.ways[0].parts, before.ways[0].segments, beyond.parts
    (('P', 'F'), ('S1',), ('E',))
    """
    segment = graph.segment(segment_id)
    return _reach(graph, segment, segment.from_id), _reach(graph, segment, segment.to_id)


def _reach(graph: Graph, segment: Segment, end: str) -> Reach:
    builder = SideBuilder(graph, segment, end, Reading(most=True))
    side = builder.build()
    steps = builder.walk.steps
    arrived = {arrival.component: arrival.step for arrival in builder.walk.arrivals}
    ways = []
    for source in side.sources:
        parts, taken, index = [source.component], [], arrived[source.component]
        while index != AT_THE_CUT:
            parts.append(steps[index].near)
            taken.append(index)
            index = steps[index].before
        hoses = tuple(steps[index].segment.id for index in taken)
        before = tuple(source.opening_m - builder.ways[index].opening_m for index in taken)
        ways.append(Way(source, tuple(parts), hoses, before))
    found = tuple(dict.fromkeys(step.segment.id for step in steps))
    return Reach(end, tuple(ways), side.passed, found)


def crest_of(graph: Graph, way: Way, own_id: str, *, at_m: float) -> Crest | None:
    """Where a siphon along a way to a cut of a segment first begins to boil.

    That is the point with the greatest height and opening head of valves before it, together.
    None where a route on the way was not surveyed.
    """
    points: list[tuple[float, float]] = []
    for hose, opening in zip(way.segments, way.openings_m, strict=True):
        run = graph.polyline(hose)
        if run is None:
            return None
        points += [(height, opening) for height in run.heights_m]
    own = graph.polyline(own_id)
    if own is None:
        return None
    forward = graph.segment(own_id).from_id == way.parts[-1]
    places = zip(own.distances_m, own.heights_m, strict=True)
    within = [z for s, z in places if (s <= at_m if forward else s >= at_m)]
    points += [(height, way.source.opening_m) for height in (*within, own.height_at(at_m))]
    return Crest(*max(points, key=sum))
