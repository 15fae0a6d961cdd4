"""What the tightest turn of a route would take of hose; worked out when asked for."""

from __future__ import annotations

from itertools import accumulate
from math import degrees, sqrt

from fuelsys.document.model import Hose, Segment
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.figures_bend import Turn, tightest_turn
from fuelsys.graph import Graph
from fuelsys.graph.geometry import Polyline
from fuelsys.hydraulics.geometry import (
    bend_length_m,
    needed_tangent_m,
    radius_of_points_m,
    route_shortening_m,
)
from fuelsys.text import Figure, Text

SOURCE = "plane geometry of the tangent arc; hose in a bend: RMA IP-2 (its example unverified)"
POINTS = Text(
    "By its three surveyed points the turn has the other radius, if they lie on one curve of the"
    " hose; between straight legs the tangent arc is the tighter one."
)


def with_turn(graph: Graph, segment: Segment, side: str, found: Computed) -> Computed:
    """A bend figure of a route with the angle of its turn, and the hose that a bend there takes.

    Parameters
    ----------
    graph : Graph
    segment : Segment
    side : str
        "from" or "to".
    found : Computed
        The bend figure of that side.

    Returns
    -------
    Computed
        The same with the turn's angle [deg], the length its legs leave on each side, the radius by
        its three points, and with a minimum radius on file what a bend of it takes [in]. As it was
        where the bend was measured, or the route has no turn.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Heights alone: turns to the side are in none of it.

    Source
    ------
    Plane geometry; RMA IP-2.

    Examples
    --------
    >>> from fuelsys.document.model import Component, Document
    >>> parts = (Component("A", "tee"), Component("B", "tee"))
    >>> run = Segment("S", "feed", "A", "B")
    >>> bare = Computed(None, "in", Text("m"), "s")
    >>> with_turn(Graph(Document(components=parts, segments=(run,))), run, "from", bare) is bare
    True
    """
    line = graph.polyline(segment.id)
    turn = None if line is None else tightest_turn(graph, segment.id, line, side)
    if line is None or turn is None or "distance" not in found.inputs:
        return found
    more: dict[str, Figure | None] = {
        "turn_angle": Figure(degrees(turn.angle_rad), "°", computed=True),
        "turn_tangent": in_unit(turn.tangent_m, "in", computed=True),
    }
    said = []
    if (by_points := _by_points(line, turn)) is not None:
        more["points_radius"] = in_unit(by_points, "in", computed=True)
        said.append(POINTS)
    minimum = (segment.hose or Hose()).minimum_bend_radius_m
    if minimum:
        more |= _at_least(float(minimum), turn.angle_rad)
    return found._replace(
        details={**(found.details or {}), **more},
        assumptions=(*found.assumptions, *said),
        source=f"{found.source}; {SOURCE}",
    )


def _at_least(radius_m: float, angle_rad: float) -> dict[str, Figure]:
    """What a bend of the maker's least radius takes: of each leg, of hose, and off the route."""
    lengths = {
        "needed_tangent": needed_tangent_m(radius_m, angle_rad),
        "bend_length": bend_length_m(radius_m, angle_rad),
        "shortening": route_shortening_m(radius_m, angle_rad),
    }
    return {name: in_unit(length, "in", computed=True) for name, length in lengths.items()}


def _by_points(line: Polyline, turn: Turn) -> float | None:
    """Radius through the turn's vertex and the surveyed points before and after it [m]."""
    pieces = [piece for piece in line.pieces if piece[0] > 0]
    across = [sqrt(max(0.0, s * s - (b - a) * (b - a))) for s, a, b in pieces]
    along = [0.0, *accumulate(across)]
    heights = [pieces[0][1], *(piece[2] for piece in pieces)]
    points = [(along[i], 0.0, heights[i]) for i in range(turn.vertex - 1, turn.vertex + 2)]
    if len(set(points)) < len(points):
        return None
    return radius_of_points_m(*points)
