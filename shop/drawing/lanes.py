"""The two lanes: segment numbers, and labels that found no place, on leaders.

In a lane the items keep the order of their leaders, so no leader crosses another;
where one row is too narrow the items stand in several rows, and each leader passes
the nearer rows in a gap kept for it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from shop.drawing.geometry import Box, Point, Points, at_x, strikes
from shop.drawing.labels import Board, DrawnLine

UP, DOWN = -1, 1
_GAP = 8.0  # px between neighbors in a lane, and beside a passing leader
_MOST_ROWS = 40


@dataclass(frozen=True, slots=True)
class LaneItem:
    """Something on a leader. `reach` gives its room around the leader's end, by lane."""

    key: str
    slide: Points  # where its leader may start: a line, or a single point
    reach: Callable[[int], Box]
    draw: Callable[[int, Point], tuple[str, list[tuple[str, Box]]]]
    favored: int = DOWN
    numbered: bool = False
    room: Box | None = None  # the symbol at whose edge the leader starts


@dataclass(slots=True)
class Hung:
    """An item with its lane and leader."""

    item: LaneItem
    lane: int
    start: Point
    x: float = 0.0
    row: int = 0


@dataclass(frozen=True, slots=True)
class Lanes:
    """Both lanes of one part, ready to draw."""

    hung: tuple[Hung, ...]
    rows: dict[int, int] = field(default_factory=dict)
    row_height: dict[int, float] = field(default_factory=dict)
    width: float = 0.0


def hang(items: Sequence[LaneItem], board: Board, plot: Box, edges: tuple[float, float]) -> Lanes:
    """Choose lane and leader of every item, then set both lanes."""
    hung: list[Hung] = []
    for item in sorted(items, key=lambda item: _freedom(item.slide)):
        hung.append(_best(item, hung, board, plot))
    rows: dict[int, int] = {}
    heights: dict[int, float] = {}
    width = edges[1]
    for lane in (UP, DOWN):
        own = sorted((h for h in hung if h.lane == lane), key=lambda h: h.start[0])
        if not own:
            continue
        rows[lane], right = _set(own, lane, edges)
        width = max(width, right)
        heights[lane] = max(h.item.reach(lane).height for h in own) + _GAP
        for one in own:
            if len(one.item.slide) > 1 and _within(one.x, one.item.slide):
                one.start = (one.x, at_x(one.item.slide, one.x))
    return Lanes(tuple(hung), rows, heights, width)


def _freedom(slide: Points) -> float:
    return abs(slide[-1][0] - slide[0][0])


def _within(x: float, slide: Points) -> bool:
    low, high = sorted((slide[0][0], slide[-1][0]))
    return low <= x <= high


def _best(item: LaneItem, hung: Sequence[Hung], board: Board, plot: Box) -> Hung:
    """The lane and the start of the leader that keep both clearest."""
    shares = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9)
    first, last = item.slide[0][0], item.slide[-1][0]
    choices = [
        Hung(item, lane, (x, at_x(item.slide, x)), x)
        for lane in (item.favored, -item.favored)
        for x in ({first: 0} if first == last else [first + s * (last - first) for s in shares])
    ]
    return min(choices, key=lambda choice: _cost(choice, hung, board, plot))


def _cost(choice: Hung, hung: Sequence[Hung], board: Board, plot: Box) -> float:
    x, y = choice.start
    edge = plot.top if choice.lane == UP else plot.bottom
    leader = ((x, y + choice.lane * 3), (x, edge))
    cost = 0.0 if choice.lane == choice.item.favored else 4.0
    slide = choice.item.slide
    if len(slide) > 1:
        cost += 5.0 * abs((x - slide[0][0]) / ((slide[-1][0] - slide[0][0]) or 1) - 0.5)
    for line in board.lines:
        if line.kind not in ("waterline", "surface"):
            cost += 6.0 * _passes(line.points, leader)
    cost += sum(8.0 for box in board.boxes if strikes(leader, box.box.grown(2)))
    own = choice.item.reach(choice.lane).moved(x, 0)
    for other in hung:
        if other.lane == choice.lane:
            theirs = other.item.reach(other.lane).moved(other.start[0], 0)
            shared = min(own.right, theirs.right) - max(own.left, theirs.left) + _GAP
            cost += 0.12 * max(shared, 0.0) + (10.0 if abs(other.start[0] - x) < _GAP else 0.0)
    return cost


def _passes(points: Points, leader: Points) -> int:
    x = leader[0][0]
    low, high = sorted((leader[0][1], leader[1][1]))
    count = 0
    for a, b in itertools.pairwise(points):
        if min(a[0], b[0]) <= x < max(a[0], b[0]):
            y = a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1])
            count += low < y < high
    return count


def _set(own: list[Hung], lane: int, edges: tuple[float, float]) -> tuple[int, float]:
    """Give the items of one lane, in the order of their leaders, place and row."""
    best: tuple[float, list[float], list[int]] | None = None
    for count in range(1, _MOST_ROWS + 1):
        rows = [(count - 1 - i) % count for i in range(len(own))]
        spots = _spots(own, lane, rows, edges)
        if spots is None:
            continue
        moved = sum(_jog(hung, x) for hung, x in zip(own, spots, strict=True))
        cost = moved + 130.0 * (count - 1)
        if best is None or cost < best[0]:
            best = (cost, spots, rows)
        if moved == 0 or count > len(own):
            break
    if best is None:
        rows = [0] * len(own)
        best = (0.0, _pushed(own, lane, rows, edges[0]), rows)
    for hung, x, row in zip(own, best[1], best[2], strict=True):
        hung.x, hung.row = x, row
    right = max(h.x + h.item.reach(lane).right for h in own)
    return max(best[2]) + 1, right


def _jog(hung: Hung, x: float) -> float:
    """How far a leader must turn aside to end at `x`."""
    slide = hung.item.slide
    low, high = sorted((slide[0][0], slide[-1][0]))
    return max(low - x, x - high, 0.0)


def _apart(one: Box, row: int, other: Box, other_row: int) -> float:
    """How far the leader of the right one of two items stands from that of the left one."""
    if row == other_row:
        return one.right - other.left + _GAP
    if other_row > row:
        return one.right + _GAP
    return _GAP - other.left


def _pushed(own: list[Hung], lane: int, rows: list[int], left: float) -> list[float]:
    """Each item as near its leader as the ones to its left allow."""
    rooms = [hung.item.reach(lane) for hung in own]
    spots: list[float] = []
    for i, hung in enumerate(own):
        x = max(hung.start[0], left - rooms[i].left)
        for j in range(i):
            x = max(x, spots[j] + _apart(rooms[j], rows[j], rooms[i], rows[i]))
        spots.append(x)
    return spots


def _pulled(
    own: list[Hung], lane: int, rows: list[int], right: float, most: list[float]
) -> list[float]:
    """Each item at most at `most`, as far right as the edge and the ones to its right allow."""
    rooms = [hung.item.reach(lane) for hung in own]
    spots = [0.0] * len(own)
    for i in reversed(range(len(own))):
        x = min(most[i], right - rooms[i].right)
        for j in range(i + 1, len(own)):
            x = min(x, spots[j] - _apart(rooms[i], rows[i], rooms[j], rows[j]))
        spots[i] = x
    return spots


def _spots(
    own: list[Hung], lane: int, rows: list[int], edges: tuple[float, float]
) -> list[float] | None:
    """Places that keep every distance: half way between pushing right and pushing left."""
    rooms = [hung.item.reach(lane) for hung in own]
    starts = [hung.start[0] for hung in own]
    pushed = _pulled(own, lane, rows, edges[1], _pushed(own, lane, rows, edges[0]))
    if any(x + room.left < edges[0] - 1e-6 for x, room in zip(pushed, rooms, strict=True)):
        return None
    pulled = _pulled(own, lane, rows, edges[1], starts)
    shifted: list[float] = []
    for i, x in enumerate(pulled):
        low = max(x, edges[0] - rooms[i].left)
        for j in range(i):
            low = max(low, shifted[j] + _apart(rooms[j], rows[j], rooms[i], rows[i]))
        shifted.append(low)
    if any(x + room.right > edges[1] + 1e-6 for x, room in zip(shifted, rooms, strict=True)):
        return pushed
    return [(a + b) / 2 for a, b in zip(pushed, shifted, strict=True)]


def leader_points(hung: Hung, plot: Box, gutter: float, reach: Box, center_y: float) -> Points:
    """From the line straight to the plot's edge, across the gutter, straight to the item."""
    x, y = hung.start
    if hung.item.room is not None:
        y = hung.item.room.top if hung.lane == UP else hung.item.room.bottom
    edge = plot.top if hung.lane == UP else plot.bottom
    beyond = edge + hung.lane * gutter
    stop = center_y + (reach.bottom if hung.lane == UP else reach.top)
    points = [(x, y), (x, edge), (hung.x, beyond), (hung.x, stop)]
    if abs(hung.x - x) < 0.01:
        points = [(x, y), (x, stop)]
    return tuple(points)


def center_of_row(lanes: Lanes, hung: Hung, plot: Box, gutter: float) -> float:
    """The y at which the item of a row is centered on its leader's end."""
    height = lanes.row_height[hung.lane]
    reach = hung.item.reach(hung.lane)
    near = gutter + hung.row * height
    if hung.lane == UP:
        return plot.top - near - reach.bottom
    return plot.bottom + near - reach.top


def outer_edge(lanes: Lanes, lane: int, plot: Box, gutter: float) -> float:
    """Where a lane ends."""
    edge = plot.top if lane == UP else plot.bottom
    deep = gutter + lanes.rows[lane] * lanes.row_height[lane] if lane in lanes.rows else 0.0
    return edge + lane * deep


def leader_line(hung: Hung, points: Points) -> DrawnLine:
    return DrawnLine("leader", hung.item.key, points, 1.0)
