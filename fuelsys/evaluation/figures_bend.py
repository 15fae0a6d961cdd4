"""The tightest bend towards each end of a hose, against its product's own minimum."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import asin
from typing import NamedTuple

from fuelsys.document.model import Hose, Segment
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.graph import Graph
from fuelsys.graph.geometry import Polyline
from fuelsys.hydraulics.geometry import CANNOT_TELL, bend_outcome, vertex_radius_m
from fuelsys.rules.context import segment_path
from fuelsys.text import Figure, Text

SOURCE = "the product's own minimum bend radius, from its maker's sheet"
AS_ROUTED = Text("smallest bend radius as measured on the run")
BY_ROUTE = Text(
    "largest radius that the heights of the route leave at a turn:"
    " tangent over the tangent of half the angle"
)
HEIGHTS_ONLY = Text(
    "The route gives heights only: turns to the side are not in it, so the true radius is at most"
    " this. Measure the tightest bend."
)
TURN = Text("The tightest turn lies {distance} from the from end.")
STEEP = Text("The route rises by more than its own length. Survey it again.")
STRAIGHTEST_RAD = 1e-6


class Turn(NamedTuple):
    """A vertex where the slope changes; turns compare by their radius, then by their place."""

    radius_m: float
    distance_m: float  # from the start
    angle_rad: float
    tangent_m: float  # what the legs leave on each side
    vertex: int  # its number among the points of the pieces that have a length


def bend(graph: Graph, segment: Segment, side: str) -> Computed:
    """The tightest bend of the half of a run nearer an end.

    Parameters
    ----------
    graph : Graph
    segment : Segment
        A run of hose.
    side : str
        "from" or "to". A radius as measured is the whole run's and stands at both ends.

    Returns
    -------
    Computed
        [in], with the product's minimum as `limit`. As measured: pass or fail. From the route:
        review where even the heights leave too little, else cannot_tell; never pass.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Hose with its own minimum bend radius on file; there is no default.

    Source
    ------
    `fuelsys.hydraulics.geometry`; the maker's sheet of the product.

    Examples
    --------
    >>> from fuelsys.document.model import Component, Document
    >>> hose = Hose(smallest_bend_radius_m=Fraction("0.1"), minimum_bend_radius_m=Fraction("0.08"))
    >>> run = Segment("S", "feed", "A", "B", hose=hose)
    >>> parts = (Component("A", "tee"), Component("B", "tee"))
    >>> bend(Graph(Document(components=parts, segments=(run,))), run, "from").outcome
    'pass'
    """
    hose = segment.hose or Hose()
    minimum_m = hose.minimum_bend_radius_m
    lacking = [] if minimum_m else [segment_path(segment.id, "hose", "minimum_bend_radius_in")]
    limit = in_unit(minimum_m, "in") if minimum_m else None
    measured_m = hose.smallest_bend_radius_m
    if measured_m:
        outcome = bend_outcome(float(measured_m), float(minimum_m) if minimum_m else None)
        inputs = {"smallest_bend_radius": in_unit(measured_m, "in")}
        return Computed(
            measured_m, "in", AS_ROUTED, SOURCE, inputs, (), tuple(lacking), limit, outcome
        )
    lacking.append(segment_path(segment.id, "hose", "smallest_bend_radius_in"))
    run = graph.polyline(segment.id)
    turns = turns_of(graph, segment.id, run)
    return _by_route(segment.id, run, turns, side, minimum_m, limit, lacking)


def _by_route(
    segment_id: str,
    run: Polyline | None,
    turns: tuple[Turn, ...] | None,
    side: str,
    minimum_m: Fraction | None,
    limit: Figure | None,
    lacking: list[str],
) -> Computed:
    route = segment_path(segment_id, "route")
    if run is None or turns is None:
        said = (HEIGHTS_ONLY,) if run is None else (HEIGHTS_ONLY, STEEP)
        missing = (*lacking, route)
        return Computed(None, "in", BY_ROUTE, SOURCE, {}, said, missing, limit, CANNOT_TELL)
    turn = _tightest(turns, side, run.length_m)
    if turn is None:
        said = (HEIGHTS_ONLY,)
        return Computed(None, "in", BY_ROUTE, SOURCE, {}, said, tuple(lacking), limit, CANNOT_TELL)
    distance = in_unit(turn.distance_m, "in", computed=True)
    too_tight = minimum_m is not None and turn.radius_m < minimum_m
    return Computed(
        turn.radius_m,
        "in",
        BY_ROUTE,
        SOURCE,
        {"distance": distance},
        (Text(TURN.msgid, {"distance": distance}), HEIGHTS_ONLY),
        () if too_tight else tuple(lacking),
        limit,
        "review" if too_tight else CANNOT_TELL,
    )


def turns_of(graph: Graph, segment_id: str, run: Polyline | None) -> tuple[Turn, ...] | None:
    """The turns of a run that both its ends are judged by; None where it has none to trust."""

    def found() -> tuple[Turn, ...] | None:
        return None if run is None or _too_steep(run) else tuple(_turns(run))

    return graph.once(("turns", segment_id), found)


def tightest_turn(graph: Graph, segment_id: str, run: Polyline, side: str) -> Turn | None:
    """The turn that the figure of a side is about; None where that half runs straight."""
    return _tightest(turns_of(graph, segment_id, run) or (), side, run.length_m)


def _tightest(turns: tuple[Turn, ...], side: str, length_m: float) -> Turn | None:
    towards = [turn for turn in turns if _is_towards(side, turn.distance_m, length_m)]
    return min(towards, default=None)


def _too_steep(run: Polyline) -> bool:
    return any(abs(after - before) > length for length, before, after in run.pieces)


def _is_towards(side: str, distance_m: float, length_m: float) -> bool:
    return distance_m <= length_m / 2 if side == "from" else distance_m >= length_m / 2


def _turns(run: Polyline) -> Iterator[Turn]:
    """Each vertex where the slope changes.

    Between two slopes the run turns by their difference at the least, whatever it does to the
    side. A leg is halved where the vertex at its other end bends too.
    """
    pieces = [piece for piece in run.pieces if piece[0] > 0]
    slopes = [asin((after - before) / length) for length, before, after in pieces]
    angles = [0.0, *(abs(b - a) for a, b in pairwise(slopes)), 0.0]
    distance_m = 0.0
    for i in range(1, len(pieces)):
        distance_m += pieces[i - 1][0]
        if angles[i] <= STRAIGHTEST_RAD:
            continue
        before_m = pieces[i - 1][0] / (2 if angles[i - 1] > STRAIGHTEST_RAD else 1)
        after_m = pieces[i][0] / (2 if angles[i + 1] > STRAIGHTEST_RAD else 1)
        tangent_m = min(before_m, after_m)
        radius_m = vertex_radius_m(angles[i], tangent_m)
        yield Turn(radius_m, distance_m, angles[i], tangent_m, i)
