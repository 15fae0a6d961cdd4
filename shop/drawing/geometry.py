"""Plane geometry of the drawing: boxes, lines, what strikes what.

Coordinates are px of the drawing, y downward.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]
Points = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def center(self) -> Point:
        return ((self.left + self.right) / 2, (self.top + self.bottom) / 2)

    def grown(self, by: float) -> Box:
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def moved(self, dx: float, dy: float) -> Box:
        return Box(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def overlaps(self, other: Box) -> bool:
        """Whether the insides meet; touching edges do not count.

        >>> Box(0, 0, 2, 2).overlaps(Box(1, 1, 3, 3)), Box(0, 0, 2, 2).overlaps(Box(2, 0, 3, 2))
        (True, False)
        """
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def contains(self, other: Box) -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )


def around(boxes: Iterable[Box]) -> Box:
    """The smallest box that holds all of `boxes`."""
    held = tuple(boxes)
    return Box(
        min(box.left for box in held),
        min(box.top for box in held),
        max(box.right for box in held),
        max(box.bottom for box in held),
    )


def bounds(points: Sequence[Point]) -> Box:
    xs = [x for x, _ in points]
    ys = [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def strikes(points: Sequence[Point], box: Box) -> bool:
    """Whether the line through `points` enters the inside of `box`.

    >>> strikes(((0, 1), (4, 1)), Box(1, 0, 2, 2)), strikes(((0, 3), (4, 3)), Box(1, 0, 2, 2))
    (True, False)
    """
    return any(_piece_strikes(a, b, box) for a, b in itertools.pairwise(points))


def _piece_strikes(a: Point, b: Point, box: Box) -> bool:
    """Clip the piece a-b to the box (Liang and Barsky); true when something of it is left."""
    if max(a[0], b[0]) <= box.left or min(a[0], b[0]) >= box.right:
        return False
    if max(a[1], b[1]) <= box.top or min(a[1], b[1]) >= box.bottom:
        return False
    enter, leave = 0.0, 1.0
    dx, dy = b[0] - a[0], b[1] - a[1]
    for step, low, high in (
        (dx, box.left - a[0], box.right - a[0]),
        (dy, box.top - a[1], box.bottom - a[1]),
    ):
        if step == 0:
            continue
        first, last = sorted((low / step, high / step))
        enter, leave = max(enter, first), min(leave, last)
    return enter < leave


def at_x(points: Sequence[Point], x: float) -> float:
    """Height of a line that runs sideways, at `x`; the nearest end outside it."""
    ordered = sorted(points)
    if x <= ordered[0][0]:
        return ordered[0][1]
    for a, b in itertools.pairwise(ordered):
        if a[0] <= x <= b[0]:
            share = (x - a[0]) / (b[0] - a[0]) if b[0] > a[0] else 0.0
            return a[1] + share * (b[1] - a[1])
    return ordered[-1][1]


def length(points: Sequence[Point]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def portion(points: Sequence[Point], start: float, end: float) -> Points:
    """The part of a line between two distances along it, measured in px from its first point.

    >>> portion(((0, 0), (10, 0), (10, 10)), 5, 15)
    ((5.0, 0.0), (10, 0), (10.0, 5.0))
    """
    kept: list[Point] = []
    passed = 0.0
    for a, b in itertools.pairwise(points):
        piece = math.dist(a, b)
        low, high = max(start - passed, 0.0), min(end - passed, piece)
        if piece > 0 and high > low:
            first, last = _on(a, b, low / piece), _on(a, b, high / piece)
            if not kept or math.dist(kept[-1], first) > 1e-6:
                kept.append(first if low > 0 else a)
            kept.append(last if high < piece else b)
        passed += piece
    return tuple(kept)


def along(points: Sequence[Point], distance: float) -> Point:
    """The point at a distance along the line, in px; its ends beyond them."""
    for a, b in itertools.pairwise(points):
        piece = math.dist(a, b)
        if distance <= piece and piece > 0:
            return _on(a, b, max(distance, 0.0) / piece)
        distance -= piece
    return points[-1]


def _on(a: Point, b: Point, share: float) -> Point:
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def crossings(one: Sequence[Point], other: Sequence[Point]) -> int:
    """How often two lines cross or touch."""
    return sum(
        _pieces_cross(a, b, c, d)
        for a, b in itertools.pairwise(one)
        for c, d in itertools.pairwise(other)
    )


def _pieces_cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return False
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return False
    return _side(a, b, c) * _side(a, b, d) <= 0 and _side(c, d, a) * _side(c, d, b) <= 0


def _side(a: Point, b: Point, p: Point) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def nearer_than(one: Sequence[Point], other: Sequence[Point], gap: float) -> bool:
    """Whether two lines cross or come nearer to each other than `gap` px."""
    if not bounds(one).grown(gap).overlaps(bounds(other).grown(0.01)):
        return False
    if crossings(one, other):
        return True
    return any(_distance(p, other) < gap for p in one) or any(
        _distance(p, one) < gap for p in other
    )


def _distance(p: Point, line: Sequence[Point]) -> float:
    return min((_to_piece(p, a, b) for a, b in itertools.pairwise(line)), default=math.inf)


def _to_piece(p: Point, a: Point, b: Point) -> float:
    squared = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    if squared == 0:
        return math.dist(p, a)
    share = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / squared
    return math.dist(p, _on(a, b, min(max(share, 0.0), 1.0)))
