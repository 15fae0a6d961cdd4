"""The ways from a tank's vent fitting to the outside, as runs of hose and a line of heights."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.document.model import Segment, Tank
from fuelsys.graph import Graph
from fuelsys.graph.geometry import Polyline
from fuelsys.hydraulics.flow import ENTRANCE_K, EXIT_K
from fuelsys.hydraulics.friction import in_transition
from fuelsys.hydraulics.links import Run
from fuelsys.hydraulics.runs import bore, bore_fact, hose_length

MOST_PATHS = 64
UNCOUNTED = frozenset({"vent_fitting", "canister", "tee", "connector", "shutoff_valve"})


@dataclass(frozen=True, slots=True)
class VentPath:
    """One way out; `runs` are None while a bore or length is lacking, `line` while a route is."""

    nipple: str
    segments: tuple[str, ...]
    uncounted: tuple[str, ...]  # parts on the way of which no loss is on file
    runs: tuple[Run, ...] | None
    line: Polyline | None
    missing: tuple[str, ...]

    @property
    def one_bore(self) -> bool:
        return self.runs is not None and len({run.bore_m for run in self.runs}) <= 1

    def in_transition(self, flow_m3_s: float, *viscosities_m2_s: float) -> tuple[str, ...]:
        """Hoses in which a flow of any of these liquids or gases is of transition friction."""
        named = zip(self.segments, self.runs or (), strict=False)
        return tuple(
            name
            for name, run in named
            if any(in_transition(flow_m3_s, run.bore_m, nu) for nu in viscosities_m2_s)
        )


def vent_paths(graph: Graph, tank: Tank) -> tuple[VentPath, ...]:
    """Every way out of a tank's vent fittings along vent hose, at most 64.

    >>> from fuelsys.document.model import Component, Document
    >>> graph = Graph(Document(tanks=(Tank("T"),), components=(
    ...     Component("N", "vent_nipple", tank="T"), Component("OUT", "vent_fitting")),
    ...     segments=(Segment("V", "vent", "N", "OUT"),)))
    >>> vent_paths(graph, graph.tank("T"))[0].segments
    ('V',)
    """
    found: list[VentPath] = []
    for nipple in graph.document.components:
        if nipple.kind != "vent_nipple" or nipple.tank != tank.id:
            continue
        waiting: list[tuple[tuple[str, ...], tuple[str, ...]]] = [((), (nipple.id,))]
        while waiting and len(found) < MOST_PATHS:
            segments, places = waiting.pop()
            onward = _onward(graph, places)
            if not onward and segments:
                found.append(_path(graph, segments, places))
            for segment, beyond in reversed(onward):
                waiting.append(((*segments, segment.id), (*places, beyond)))
    return tuple(found)


def _onward(graph: Graph, places: tuple[str, ...]) -> list[tuple[Segment, str]]:
    here = graph.component(places[-1])
    if here.kind == "vent_fitting":
        return []
    steps = [
        (segment, graph.neighbor(segment.id, here.id))
        for segment in graph.segments_at(here.id)
        if segment.service == "vent"
    ]
    return [
        (segment, beyond)
        for segment, beyond in steps
        if beyond not in places and graph.tank_of(beyond) is None
    ]


def _path(graph: Graph, segments: tuple[str, ...], places: tuple[str, ...]) -> VentPath:
    runs: list[Run] = []
    missing: list[str] = []
    for segment_id in segments:
        segment = graph.segment(segment_id)
        width, length = bore(segment), hose_length(graph, segment)
        if not width:
            missing.append(bore_fact(segment))
        if length is None:
            missing.append(f"segments[{segment_id}].length_in")
        if graph.polyline(segment_id) is None:
            missing.append(f"segments[{segment_id}].route")
        if width and length is not None:
            runs.append(Run(width, length))
    complete = len(runs) == len(segments)
    if complete:
        runs[0] = runs[0]._replace(fittings_k=ENTRANCE_K)
        runs[-1] = runs[-1]._replace(fittings_k=runs[-1].fittings_k + EXIT_K)
    uncounted = [place for place in places if graph.component(place).kind in UNCOUNTED]
    return VentPath(
        places[0],
        segments,
        tuple(uncounted),
        tuple(runs) if complete else None,
        _line(graph, segments, places),
        tuple(missing),
    )


def _line(graph: Graph, segments: tuple[str, ...], places: tuple[str, ...]) -> Polyline | None:
    distances: list[float] = []
    heights: list[float] = []
    start = 0.0
    for segment_id, place in zip(segments, places, strict=False):
        run = graph.polyline(segment_id)
        if run is None:
            return None
        along, up = run.distances_m, run.heights_m
        if graph.segment(segment_id).from_id != place:
            along = tuple(run.length_m - s for s in reversed(along))
            up = up[::-1]
        distances += [start + s for s in along]
        heights += up
        start += run.length_m
    return Polyline(tuple(distances), tuple(heights))
