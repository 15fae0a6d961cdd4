"""A segment as the computation sees it: straight pieces, their heights and their liquid."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import inf
from typing import NamedTuple

from fuelsys.document.model import Segment
from fuelsys.graph import Graph, Polyline
from fuelsys.hydraulics.friction import bore_area
from fuelsys.hydraulics.reading import UNBOUNDED_M3, Reading

# Only what stands at or below the tank's surface, and what a dip traps, is liquid in these.
DRY_SERVICES = frozenset({"fill", "vent"})
FAR_ABOVE_M = 1e9  # a height above everything, finite so that differences stay numbers
_new = tuple.__new__  # a named tuple from all its fields, without matching names


class Piece(NamedTuple):
    """A straight piece between two distances along its segment, with the liquid it holds."""

    start_m: float
    end_m: float
    start_height_m: float
    end_height_m: float
    area_m2: float  # 0 where it is dry

    @property
    def volume_m3(self) -> float:
        return (self.end_m - self.start_m) * self.area_m2

    def reversed(self, length_m: float) -> Piece:
        """The same piece measured from the segment's other end."""
        start_m, end_m, start_height_m, end_height_m, area_m2 = self
        turned = (length_m - end_m, length_m - start_m, end_height_m, start_height_m, area_m2)
        return _new(Piece, turned)


def _as_float(exact: Fraction) -> float:
    """As `float` has it, at a third of the time: each hose of each line comes through here."""
    return exact.numerator / exact.denominator


def bore_fact(segment: Segment) -> str:
    """Document path of the inside diameter."""
    part = "metal_line" if segment.metal_line is not None else "hose"
    return f"segments[{segment.id}].{part}.inside_diameter_in"


def bore(segment: Segment) -> float | None:
    """Inside diameter [m]; None where it is not known."""
    diameter = segment.inside_diameter_m
    return None if diameter is None else _as_float(diameter)


def liquid_area(segment: Segment, reading: Reading) -> float:
    """Area of the bore [m2]; of an unknown one nothing, or more than any."""
    diameter = bore(segment)
    if diameter is None:
        return UNBOUNDED_M3 if reading.most(bore_fact(segment)) else 0.0
    return bore_area(diameter)


def hose_length(graph: Graph, segment: Segment) -> float | None:
    """Measured length [m], of the hose or else of its route."""
    if segment.length_m is not None:
        return _as_float(segment.length_m)
    run = graph.polyline(segment.id)
    return None if run is None else run.length_m


def bore_and_length(graph: Graph, segment: Segment) -> tuple[float | None, float | None]:
    """Inside diameter and length [m], as far as they are known."""
    key = ("bore and length", segment.id)
    return graph.once(key, lambda: (bore(segment), hose_length(graph, segment)))


def pieces(run: Polyline, area_m2: float, *, rims_m: tuple[float, float] | None) -> list[Piece]:
    """The pieces of a run from its start; `rims_m` given, only its dips hold liquid.

    The rims are the levels at which liquid leaves past each end.
    """
    points = list(zip(run.distances_m, run.heights_m, strict=True))
    straight = [(a, b) for a, b in pairwise(points) if b[0] > a[0]]
    if rims_m is None:
        return [_new(Piece, (a[0], b[0], a[1], b[1], area_m2)) for a, b in straight]
    found: list[Piece] = []
    pockets = run.pockets(start_rim_m=rims_m[0], end_rim_m=rims_m[1])
    for a, b in straight:
        edges = {a[0], b[0]}
        edges.update(e for p in pockets for e in (p.start_m, p.end_m) if a[0] < e < b[0])
        for start, end in pairwise(sorted(edges)):
            middle = 0.5 * (start + end)
            wet = any(p.start_m <= middle <= p.end_m for p in pockets)
            heights = (_height(a, b, start), _height(a, b, end))
            found.append(Piece(start, end, *heights, area_m2 if wet else 0.0))
    return found


def _height(a: tuple[float, float], b: tuple[float, float], distance_m: float) -> float:
    if distance_m == b[0]:
        return b[1]
    return a[1] + (b[1] - a[1]) * (distance_m - a[0]) / (b[0] - a[0])


class Stretch(NamedTuple):
    """A wet piece as a walk meets it, and what lies before and beyond it in its segment."""

    near_m: float
    far_m: float
    volume_m3: float
    floor_m: float  # highest point from where the walk enters the segment to the piece
    air_m: float  # lowest point from the piece's far end to where the walk leaves the segment


def stretches(pieces_outward: list[Piece]) -> tuple[Stretch, ...]:
    """The wet pieces of a run walked outward, the farthest first."""
    floors: list[float] = []
    floor = -inf
    for _, _, near, far, _ in pieces_outward:
        floor = near if near > floor else floor
        floors.append(floor)
        floor = far if far > floor else floor
    found: list[Stretch] = []
    air = inf
    for piece, floor in zip(reversed(pieces_outward), reversed(floors), strict=True):
        start, end, near, far, area = piece
        air = far if far < air else air
        if area > 0.0:
            found.append(_new(Stretch, (near, far, (end - start) * area, floor, air)))
        air = near if near < air else air
    return tuple(found)


def end_height(graph: Graph, segment: Segment, component_id: str) -> float | None:
    """Height of a segment's end at a component [m]; None where its route was not surveyed."""
    run = graph.polyline(segment.id)
    if run is None:
        return None
    return run.heights_m[0] if segment.from_id == component_id else run.heights_m[-1]


def port_height(graph: Graph, component_id: str) -> float | None:
    """Height of a component's ports [m]: as recorded, else where the hoses end at it."""
    return graph.once(("port height", component_id), lambda: _port_height(graph, component_id))


def _port_height(graph: Graph, component_id: str) -> float | None:
    recorded = graph.component(component_id).height_m
    if recorded is not None:
        return _as_float(recorded)
    known = [
        height
        for segment in graph.segments_at(component_id)
        if (height := end_height(graph, segment, component_id)) is not None
    ]
    return max(known, default=None)


def highest(graph: Graph, segment: Segment, reading: Reading) -> float:
    """Highest point of a segment [m]; of an unknown route no barrier at all, or a sure one."""
    run = graph.polyline(segment.id)
    if run is None:
        return -inf if reading.most(f"segments[{segment.id}].route") else FAR_ABOVE_M
    return run.highest_m
