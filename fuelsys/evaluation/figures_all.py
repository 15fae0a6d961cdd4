"""Every figure of the ends of hoses and of the tanks, in the order of the document."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from fuelsys.document.model import Segment
from fuelsys.evaluation.computed import ByEnd, Computed
from fuelsys.evaluation.figures_bend import bend
from fuelsys.evaluation.figures_ends import SIDES, clamp_size, clearance
from fuelsys.evaluation.figures_expansion import expansion
from fuelsys.graph import Graph
from fuelsys.rules.fastening import is_hose


def clamp_sizes(graph: Graph) -> ByEnd:
    return _by_end(graph, clamp_size)


def clearances(graph: Graph, on: date) -> ByEnd:
    """A boat repeats few sizes: ends of one bore and one fitting share their figure."""

    def shared(segment: Segment, side: str) -> Computed:
        end = segment.from_end if side == "from" else segment.to_end
        bore_m = segment.inside_diameter_m
        fitting_m = end.minor_outside_diameter_m if end else None
        if not bore_m or not fitting_m:  # the figure then names the fact of this end
            return clearance(segment, side, on)
        key = ("clearance", bore_m.as_integer_ratio(), fitting_m.as_integer_ratio(), on)
        return graph.once(key, lambda: clearance(segment, side, on))

    return _by_end(graph, shared)


def bends(graph: Graph) -> ByEnd:
    return _by_end(graph, lambda segment, side: bend(graph, segment, side))


def expansions(graph: Graph) -> dict[str, Computed]:
    return {tank.id: expansion(graph, tank) for tank in graph.document.tanks}


def _by_end(graph: Graph, figure: Callable[[Segment, str], Computed]) -> ByEnd:
    """At both ends of every hose; metal lines have none of these."""
    return {
        segment.id: {side: figure(segment, side) for side in SIDES}
        for segment in graph.document.segments
        if is_hose(segment)
    }
