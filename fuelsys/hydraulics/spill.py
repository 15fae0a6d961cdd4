"""To what level fills and vents hold liquid: each dip stands full to its lower way out."""

from __future__ import annotations

from heapq import heappop, heappush
from math import inf

from fuelsys.document.model import Segment
from fuelsys.graph import Graph
from fuelsys.hydraulics.elements import TANK_FITTINGS
from fuelsys.hydraulics.reading import Reading
from fuelsys.hydraulics.runs import DRY_SERVICES, FAR_ABOVE_M, highest
from fuelsys.hydraulics.sources import tank_surface


def spill_levels(graph: Graph, segment: Segment, reading: Reading) -> dict[str, float]:
    """For each component of a fill's or vent's run, the level above which liquid leaves [m].

    Liquid leaves into the tank, at its surface where the fitting is submerged, and to the
    outside. Where a run has no way out at all, the level is above everything.
    """
    components, segments = _joined(graph, segment)
    levels = dict.fromkeys(components, FAR_ABOVE_M)
    waiting: list[tuple[float, str]] = []
    for component_id in components:
        level = _way_out(graph, component_id, reading)
        if level is not None:
            levels[component_id] = level
            heappush(waiting, (level, component_id))
    while waiting:
        level, component_id = heappop(waiting)
        if level > levels[component_id]:
            continue
        for joined in graph.segments_at(component_id):
            if joined.id not in segments:
                continue
            beyond = graph.neighbor(joined.id, component_id)
            crest = max(level, highest(graph, joined, _opposite(reading)))
            if crest < levels[beyond]:
                levels[beyond] = crest
                heappush(waiting, (crest, beyond))
    return levels


def _joined(graph: Graph, segment: Segment) -> tuple[list[str], set[str]]:
    components = [segment.from_id]
    segments: set[str] = set()
    for component_id in components:
        for joined in graph.segments_at(component_id):
            if joined.service not in DRY_SERVICES or joined.id in segments:
                continue
            segments.add(joined.id)
            beyond = graph.neighbor(joined.id, component_id)
            if beyond not in components:
                components.append(beyond)
    return components, segments


def _way_out(graph: Graph, component_id: str, reading: Reading) -> float | None:
    component = graph.component(component_id)
    if component.kind in TANK_FITTINGS:
        return tank_surface(graph.tank_of(component_id), component_id, reading)
    if len(graph.segments_at(component_id)) == 1:
        return -inf
    return None


class _Opposite(Reading):
    """Reads a route that is not known as high where most is asked: it then traps most."""

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self.asked = reading.asked

    def most(self, fact: str) -> bool:
        return not self._reading.most(fact)


def _opposite(reading: Reading) -> Reading:
    return _Opposite(reading)
