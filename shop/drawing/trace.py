"""One segment on paper: its known course in its style, cut, pocket and gap."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

from shop.drawing import canvas, facts, strokes
from shop.drawing.geometry import Box, Point, Points, at_x, length, portion
from shop.drawing.ground import gap_sign
from shop.drawing.judge import Cut
from shop.drawing.labels import Board, DrawnLine
from shop.drawing.placed import Frame, PlacedRun, PlacedSegment
from shop.drawing.subject import Subject

_HIT_PX = 24


@dataclass(frozen=True, slots=True)
class Pocket:
    """Trapped fuel: the filled shape and its lowest point."""

    shape: Points
    lowest: Point


@dataclass(frozen=True, slots=True)
class Trace:
    """A drawn segment and what labels need to know of it."""

    segment: PlacedSegment
    svg: str
    band: str
    slide: Points
    cut_at: Point | None = None
    gap_at: Point | None = None
    pockets: tuple[Pocket, ...] = ()


def shown_cuts(run: PlacedRun, subject: Subject) -> frozenset[str]:
    """Segments whose worst cut is drawn: worst of its line, beyond a limit, or chosen."""
    cuts = {
        segment.ident: cut
        for segment in run.segments
        if (cut := subject.judgment.cuts.get(segment.ident)) and _has_place(segment, cut)
    }
    if not cuts:
        return frozenset()
    worst = max(cuts, key=lambda ident: cuts[ident].volume_floz or 0.0)
    over = {ident for ident, cut in cuts.items() if cut.over}
    return frozenset({worst} | over | ({subject.chosen} & set(cuts) if subject.chosen else set()))


def _has_place(segment: PlacedSegment, cut: Cut) -> bool:
    trapped = segment.step.segment.service in ("fill", "vent") and cut.state in ("trapped", "dry")
    return bool(cut.volume_floz) and cut.place_in is not None and not trapped


def trace(
    segment: PlacedSegment, frame: Frame, subject: Subject, board: Board, *, cut: bool
) -> Trace:
    """Draw one segment and put its lines on the board."""
    gap_at = None if segment.whole else _gap_place(segment, frame)
    if len(segment.points) < 2:
        return _gap(segment, gap_at, subject, board)
    place = _cut_place(segment, frame, subject) if cut else None
    pieces: tuple[Points, ...] = (segment.points,)
    cut_at, cut_svg = None, ""
    if place is not None:
        gap = 9 * max(frame.size.stroke, 0.55)
        pieces, cut_at = strokes.interrupted(segment.points, place, gap)
        cut_svg = _cut(cut_at, frame, board)
    svg = _pieces(segment, pieces, frame, subject, board) + cut_svg
    if gap_at is not None:
        svg += _sign(gap_at, subject, board)
    pockets = tuple(_pockets(segment, frame, subject))
    svg += "".join(canvas.fill(canvas.path_of(pocket.shape) + "Z", "mark") for pocket in pockets)
    return Trace(
        segment, svg + hit(segment.points), _band(segment, subject),
        _slide(segment, frame), cut_at, gap_at, pockets,
    )  # fmt: skip


def _pieces(
    segment: PlacedSegment, pieces: tuple[Points, ...], frame: Frame, subject: Subject, board: Board
) -> str:
    service, scale = segment.step.segment.service, frame.size.stroke
    color = subject.color(segment.ident)
    style = strokes.STYLES[service]
    svg = ""
    for points in pieces:
        svg += strokes.line(points, service, scale, color)
        board.add_line(DrawnLine(service, segment.ident, points, style.outside * scale))
    whole = segment.points
    if style.arrows and length(whole) > 24 * scale:
        svg += strokes.arrows(whole, service, scale, segment.step.back, color)
    return svg


def hit(points: Points) -> str:
    """The 24 px wide stretch a pointer may touch, never seen."""
    return (
        f'<path class="d-hit" d="{canvas.path_of(points)}" fill="none" stroke="#000000" '
        f'stroke-opacity="0" stroke-width="{_HIT_PX}" pointer-events="stroke"/>'
    )


def _band(segment: PlacedSegment, subject: Subject) -> str:
    if segment.ident != subject.chosen:
        return ""
    more = ' stroke-linecap="round" stroke-linejoin="round"'
    width = 20 * max(subject.size.stroke, 0.6)
    return canvas.stroke(canvas.path_of(segment.points), "sel", width, more)


def _slide(segment: PlacedSegment, frame: Frame) -> Points:
    """The stretch on which a leader may start, clear of the symbols at the ends."""
    points = segment.points
    whole = length(points)
    clear = min(17 * frame.size.symbol, whole * 0.3)
    return portion(points, clear, whole - clear)


def _cut_place(segment: PlacedSegment, frame: Frame, subject: Subject) -> float | None:
    """Where the cut is drawn, px along the line, just clear of the symbols at its ends."""
    place_in = subject.judgment.cuts[segment.ident].place_in
    if place_in is None:
        return None
    span = facts.course_of(segment.step.segment).span_in
    outward = span - place_in if segment.step.back else place_in
    x = segment.near.x + segment.near.outward * frame.along * min(max(outward, 0.0), span)
    if segment.far.outward != segment.near.outward:
        x = segment.near.x + segment.far.outward * frame.along * outward
    whole = length(segment.points)
    clear = min(22 * frame.size.symbol, whole * 0.4)
    return min(max(_length_to(segment.points, x), clear), whole - clear)


def _length_to(points: Points, x: float) -> float:
    """Distance along a line that runs sideways to the place above `x`."""
    passed = 0.0
    for a, b in itertools.pairwise(points):
        if min(a[0], b[0]) <= x <= max(a[0], b[0]):
            return passed + math.dist(a, (x, at_x((a, b), x)))
        passed += math.dist(a, b)
    first, last = points[0][0], points[-1][0]
    return 0.0 if abs(x - first) < abs(x - last) else passed


def _cut(at: Point, frame: Frame, board: Board) -> str:
    scale = max(frame.size.stroke, 0.55)
    svg, lines = strokes.cut_strokes(at, scale)
    for points in lines:
        board.add_line(DrawnLine("cut", "", points, 2.4 * scale))
    box = Box(at[0] - 7 * scale, at[1] - 10 * scale, at[0] + 7 * scale, at[1] + 10 * scale)
    board.add_box("symbol", "cut", box)
    return svg


def _pockets(segment: PlacedSegment, frame: Frame, subject: Subject) -> Iterator[Pocket]:
    """The fuel that stays in a fill or vent, from its course, where the evaluation finds any."""
    cut = subject.judgment.cuts.get(segment.ident)
    if segment.step.segment.service not in ("fill", "vent") or not cut or not cut.volume_floz:
        return
    course = facts.course_of(segment.step.segment)
    for start, end, level in facts.pockets(course.points):
        inner = [(d, h) for d, h in course.points if start < d < end]
        outline = [(start, level), *inner, (end, level)]
        shape = tuple((_x_at(segment, d, course.span_in, frame), frame.y(h)) for d, h in outline)
        yield Pocket(shape, max(shape, key=lambda point: point[1]))


def _x_at(segment: PlacedSegment, distance_in: float, span_in: float, frame: Frame) -> float:
    outward = span_in - distance_in if segment.step.back else distance_in
    return segment.near.x + segment.far.outward * frame.along * outward


def _gap_place(segment: PlacedSegment, frame: Frame) -> Point:
    """Where a missing course is marked: between its ends, at the heights that are known."""
    if segment.points:
        at_near = abs(segment.points[0][0] - segment.near.x) > 1
        end, tip = (
            (segment.near, segment.points[0]) if at_near else (segment.far, segment.points[-1])
        )
        y = tip[1] if end.y is None else (tip[1] + end.y) / 2
        return (tip[0] + end.x) / 2, y
    known = [y for y in (segment.near.y, segment.far.y) if y is not None]
    level = frame.y(min(max(0.0, frame.bottom), frame.top))
    y = sum(known) / len(known) if known else level
    return (segment.near.x + segment.far.x) / 2, y


def _sign(at: Point, subject: Subject, board: Board) -> str:
    svg, box = gap_sign(at, subject.size.text * 0.95)
    board.add_box("symbol", "gap", box)
    return svg


def _free_sign(at: Point, subject: Subject, board: Board) -> Point:
    """A place for the sign clear of the lines, above or below the middle of the gap."""
    size = subject.size.text
    for shift in (0.0, -1.5, 1.5, -3.0, 3.0, -4.5, 4.5):
        moved = (at[0], at[1] + shift * size)
        if board.is_free(gap_sign(moved, size)[1]):
            return moved
    return at


def _gap(segment: PlacedSegment, at: Point | None, subject: Subject, board: Board) -> Trace:
    """A segment whose course is not known: nothing but the sign of it between its ends."""
    place = _free_sign(at or (segment.near.x, 0.0), subject, board)
    half = subject.size.text * 0.95 / 2
    left, right = (place[0] - half, place[1]), (place[0] + half, place[1])
    svg = _sign(place, subject, board) + hit((left, right))
    return Trace(segment, svg, "", (place,), gap_at=place)
