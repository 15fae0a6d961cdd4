"""Which hoses on the way to a cut carry a flow between laminar and turbulent."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fuelsys.graph import Graph
from fuelsys.hydraulics.cuts import Cut, Half, Section
from fuelsys.hydraulics.friction import in_transition
from fuelsys.hydraulics.joined import joined_hoses
from fuelsys.hydraulics.reading import UNBOUNDED_M3
from fuelsys.hydraulics.result import TEST_TIME_S
from fuelsys.hydraulics.runs import bore
from fuelsys.hydraulics.sources import Source


def in_transition_at(graph: Graph, segment_id: str, section: Section, cut: Cut) -> tuple[str, ...]:
    """Hoses, and pick-ups by their tubes, in transition flow when a segment is cut there.

    `cut` was solved in `section`. The cut segment stands first; empty where the flow is not known.
    Reynolds numbers of 2000 to 4000: EPANET 2.2 User Manual, analysis algorithms.
    """
    found: list[str] = []
    halves = (section.tank, section.far)
    flows_m3 = (cut.tank_flow_m3, cut.far_flow_m3)
    toward_to = (not section.tank_first, section.tank_first)
    sides = zip(halves, section.flowing(cut), flows_m3, toward_to, strict=True)
    for half, flowing, flow_m3, to_end in sides:
        if not flowing or not 0.0 < flow_m3 < UNBOUNDED_M3 or half.bore_m is None:
            continue
        own = (segment_id,) if _banded(flow_m3, half.bore_m, flowing[0]) else ()
        found += own
        if len(half.side.sources) > 1:
            hoses = joined_hoses(graph, segment_id, at_m=cut.distance_m, toward_to=to_end)
            found += _of_joined(graph, hoses, flowing[0])
        elif any(_banded(flow_m3, width, flowing[0]) for width, _ in flowing[0].runs):
            found += _of_way(graph, half, flow_m3)
    return tuple(dict.fromkeys(found))


def _banded(flow_m3: float, bore_m: float, source: Source) -> bool:
    """`flow_m3` is what flows in the time of the test."""
    return in_transition(flow_m3 / TEST_TIME_S, bore_m, source.viscosity_m2_s)


def _of_joined(graph: Graph, hoses: Mapping[str, float], source: Source) -> Iterator[str]:
    for name, flow_m3_s in hoses.items():
        width = bore(graph.segment(name))
        if width and _banded(flow_m3_s * TEST_TIME_S, width, source):
            yield name


def _of_way(graph: Graph, half: Half, flow_m3: float) -> Iterator[str]:
    """The hoses of the one way on this side, and its pick-up."""
    (source,) = half.side.sources
    tube = graph.component(source.component).dip_tube_inside_diameter_m
    if tube and _banded(flow_m3, float(tube), source):
        yield source.component
    for name in source.hoses:
        width = bore(graph.segment(name))
        if width and _banded(flow_m3, width, source):
            yield name
