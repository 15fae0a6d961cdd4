"""The profile of one line: its heights, and under them what runs out by the place of the cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from fuelsys.document.model import Document, Segment, Tank
from fuelsys.units import from_base
from shop.drawing import canvas, curve, facts, ground, strokes, symbols, words
from shop.drawing.geometry import Box, Point, Points, at_x, length
from shop.drawing.ground import staffed
from shop.drawing.judge import NOTHING_SAID
from shop.drawing.labels import Block, Board, DrawnLine, LabelBox, Request, Span, place
from shop.drawing.metrics import text_width, wrapped
from shop.drawing.placed import Frame
from shop.drawing.runs import Run, runs_of
from shop.drawing.sizes import SIZES, Size
from shop.drawing.subject import Subject
from shop.drawing.system import Drawing, svg_element
from shop.drawing.words import Strings, english

_WIDTHS = {"desk": 560.0, "paper": 330.0, "phone": 328.0}
_TALL = {"desk": 110.0, "paper": 70.0, "phone": 84.0}


class CutResult(Protocol):
    """What a profile reads of `fuelsys.hydraulics.result.Discharge`: [m3] and [m]."""

    @property
    def volume_m3(self) -> float | None: ...
    @property
    def worst_cut_m(self) -> float | tuple[float, float] | None: ...
    @property
    def missing(self) -> tuple[str, ...]: ...
    @property
    def trapped(self) -> tuple[tuple[float, float, float], ...]: ...
    @property
    def curve(self) -> tuple[tuple[float, float | None, float | None], ...]: ...
    @property
    def least_curve(self) -> tuple[tuple[float, float, float], ...]: ...


@dataclass(slots=True)
class _Sheet:
    """The upper panel while it is drawn; x grows from the segment's `from` end."""

    subject: Subject
    segment: Segment
    run: Run
    tank: Tank | None
    frame: Frame
    left: float
    right: float
    span_in: float
    board: Board
    content: list[str]

    def x(self, distance_in: float) -> float:
        return self.left + (self.right - self.left) * distance_in / self.span_in


def draw_profile(
    document: Document,
    segment_id: str,
    discharge: CutResult | None,
    *,
    size: str,
    strings: Strings = english,
    with_curve: bool = True,
) -> Drawing:
    """Draw the height profile of one segment over the curve of its discharge.

    Parameters
    ----------
    document : the state the segment belongs to.
    segment_id : the segment.
    discharge : its discharge with the curve filled, [m3] against [m]; None where none applies.
    size : "desk" (560 px wide), "paper" (330) or "phone" (328).
    strings : translates the phrases of `shop.drawing.words`.
    with_curve : whether the lower panel is drawn; the yard needs the heights alone.

    Raises
    ------
    KeyError : no such segment, or no such size.
    """
    sheet = _sheet(document, segment_id, size, strings)
    below = _heights(sheet, discharge)
    panel = curve.Panel("", below.depth + sheet.subject.size.text, "")
    if with_curve:
        panel = curve.panel(sheet.subject, sheet.segment, discharge, sheet.board, below)
    content = [*sheet.content, panel.svg]
    title = sheet.subject.say(words.PROFILE_TITLE, segment=segment_id)
    top = min([0.0, *(box.box.top for box in sheet.board.boxes)]) - 2
    height = panel.bottom - top
    boxes = tuple(LabelBox(b.kind, b.text, b.box.moved(0, -top)) for b in sheet.board.boxes)
    lines = tuple(
        DrawnLine(each.kind, each.owner, _down(each.points, -top), each.width)
        for each in sheet.board.lines
    )
    svg = svg_element(
        [canvas.moved(content, 0, -top)],
        _WIDTHS[size],
        height,
        title,
        panel.said,
        name=f"d-profile d-{size}",
        with_links=False,
    )
    return Drawing(svg, boxes, lines, _WIDTHS[size], height)


def _down(points: Points, dy: float) -> Points:
    return tuple((x, y + dy) for x, y in points)


def _sheet(document: Document, segment_id: str, size: str, strings: Strings) -> _Sheet:
    run = next(
        (run for run in runs_of(document) for step in run.steps if step.segment.id == segment_id),
        None,
    )
    if run is None:
        raise KeyError(f"The document has no segment {segment_id!r}.")
    segment = next(step.segment for step in run.steps if step.segment.id == segment_id)
    tank = next((tank for tank in document.tanks if tank.id == run.tank), None)
    components = {part.id: part for part in document.components}
    heights = _heights_of(segment, tank, document)
    own = staffed(SIZES[size], heights)
    subject = Subject(document, own, "found", NOTHING_SAID, components, strings)
    frame = _frame(own, heights)
    right = _WIDTHS[size] - _right_margin(subject, tank)
    board = Board(Box(own.staff + 2, -own.margin, _WIDTHS[size], 10_000))
    span = facts.course_of(segment).span_in
    left = own.staff + _overhang(subject, segment)
    return _Sheet(subject, segment, run, tank, frame, left, right, span, board, [])


def _overhang(subject: Subject, segment: Segment) -> float:
    """How far the symbol at the `from` end reaches to the left, so that it clears the staff."""
    component = subject.components.get(segment.from_id)
    if component is None:
        return 6.0
    glyph = symbols.glyph_of(component.kind, component.anti_siphon)
    turn = -1 if component.kind in symbols.FACES_OUTWARD else 1
    room = symbols.room_of(glyph, (0.0, 0.0), turn, subject.size.symbol * 0.8)
    return max(6.0, 3.0 - room.left)


def _heights_of(segment: Segment, tank: Tank | None, document: Document) -> list[float]:
    """The heights the panel must hold: the route, its ends, the surface and the waterline."""
    found = [height for _, height in facts.course_of(segment).points]
    found += [
        height
        for part in document.components
        if part.id in (segment.from_id, segment.to_id)
        and (height := facts.inches(part.height_m)) is not None
    ]
    surface = facts.surface_of(tank) if tank else None
    found += [surface] if surface is not None else []
    if not found or min(abs(height) for height in found) <= 60:
        found.append(0.0)
    return found


def _frame(size: Size, heights: Sequence[float]) -> Frame:
    low, high = min(heights), max(heights)
    if high - low < 10:
        low, high = low - 5, high + 5
    return Frame(size, _TALL[size.name] / (high - low), high, low)


def _right_margin(subject: Subject, tank: Tank | None) -> float:
    """Room at the right for the names of the levels and the limit."""
    size = subject.size.text
    return max(text_width(text, size) for text, _ in _levels(subject, tank)) + size * 1.4


def _levels(subject: Subject, tank: Tank | None) -> list[tuple[str, float]]:
    surface = facts.surface_of(tank) if tank else None
    named = [(subject.say(words.WATER), 0.0)]
    if surface is not None:
        named.append((subject.say(words.TANK, height=facts.height_text(surface)), surface))
    return named


def _heights(sheet: _Sheet, discharge: CutResult | None) -> curve.Upper:
    """Draw the upper panel; tell the lower one where the cut stands."""
    _ground(sheet)
    course = facts.course_of(sheet.segment)
    points = tuple((sheet.x(d), sheet.frame.y(h)) for d, h in course.points)
    place_in = curve.cut_place_in(discharge)
    cut_at: Point | None = None
    trapped = discharge.trapped if discharge is not None else ()
    if len(points) > 1:
        cut_at = _line(sheet, points, None if trapped else place_in)
        if trapped and place_in is not None:
            cut_at = _pockets(sheet, trapped, points, place_in)
    if not course.whole:
        _gap(sheet, points)
    _ends(sheet, points)
    _level_names(sheet)
    return curve.Upper(sheet.left, sheet.right, sheet.span_in, sheet.frame.depth, cut_at)


def _ground(sheet: _Sheet) -> None:
    frame, board = sheet.frame, sheet.board
    size = frame.size
    if frame.bottom <= 0 <= frame.top:
        y = frame.y(0)
        box = Box(size.staff, y, sheet.right, frame.depth)
        if box.height > 0:
            sheet.content.append(canvas.area(box, "water"))
        points = ((size.staff, y), (sheet.right, y))
        board.add_line(DrawnLine("waterline", "", points, 1.2))
        sheet.content.append(canvas.stroke(canvas.path_of(points), "ink", 1.2))
    surface = facts.surface_of(sheet.tank) if sheet.tank else None
    if surface is not None:
        y = frame.y(surface)
        points = ((size.staff, y), (sheet.right, y))
        board.add_line(DrawnLine("surface", "", points, 1.0))
        dash = ' stroke-dasharray="12 3 2 3"'
        sheet.content.append(canvas.stroke(canvas.path_of(points), "ink", 1, dash))
    sheet.content.append(ground.staff(board, frame))


def _line(sheet: _Sheet, points: Points, place_in: float | None) -> Point | None:
    """The course in its style, interrupted at the worst cut."""
    service, scale = sheet.segment.service, max(sheet.frame.size.stroke, 0.6) * 0.9
    pieces: tuple[Points, ...] = (points,)
    cut_at: Point | None = None
    if place_in is not None:
        x = sheet.x(place_in)
        before = (*(p for p in points if p[0] < x), (x, at_x(points, x)))
        whole = length(points)
        clear = min(10 * scale, whole * 0.3)
        along = min(max(length(before), clear), whole - clear)
        pieces, cut_at = strokes.interrupted(points, along, 8 * scale)
    for piece in pieces:
        width = strokes.STYLES[service].outside * scale
        sheet.board.add_line(DrawnLine(service, sheet.segment.id, piece, width))
        sheet.content.append(strokes.line(piece, service, scale))
    sheet.content.append(strokes.arrows(points, service, scale, back=False))
    if cut_at is not None:
        svg, lines = strokes.cut_strokes(cut_at, scale * 0.9)
        sheet.content.append(svg)
        for each in lines:
            sheet.board.add_line(DrawnLine("cut", "", each, 2.2))
    return cut_at


def _pockets(
    sheet: _Sheet,
    trapped: Sequence[tuple[float, float, float]],
    points: Points,
    place_in: float,
) -> Point:
    """Fuel that stays in the line, filled to its level; and where the line is cut there."""
    course = facts.course_of(sheet.segment).points
    for start_m, end_m, level_m in trapped:
        start, end, level = (float(from_base(each, "in")) for each in (start_m, end_m, level_m))
        inner = [(d, h) for d, h in course if start < d < end and h < level]
        shape = [(sheet.x(d), sheet.frame.y(h)) for d, h in ((start, level), *inner, (end, level))]
        sheet.content.append(canvas.fill(canvas.path_of(shape) + "Z", "mark"))
    x = sheet.x(place_in)
    return (x, at_x(points, x))


def _gap(sheet: _Sheet, points: Points) -> None:
    """Where the course is not known, the sign of it and the words."""
    frame, size = sheet.frame, sheet.frame.size.text
    middle = (sheet.left + sheet.right) / 2
    at = (middle, frame.depth / 2)
    if points:
        inner, outer = (points[-1][0], sheet.right)
        if points[0][0] - sheet.left > outer - inner:
            inner, outer = sheet.left, points[0][0]
        at = ((inner + outer) / 2, at_x(points, (inner + outer) / 2))
    svg, box = ground.gap_sign(at, size)
    sheet.board.add_box("symbol", "gap", box)
    sheet.content.append(svg)
    phrase = words.ROUTE_PARTLY if points else words.ROUTE_MISSING
    text = sheet.subject.say(phrase, segment=sheet.segment.id)
    rows = tuple((Span(line, "mark"),) for line in wrapped(text, size, size * 14))
    _write(sheet, Block(rows, size), box, at)


def _ends(sheet: _Sheet, points: Points) -> None:
    """The parts at both ends: symbol, tag, height, and the valve at a withdrawal."""
    size = sheet.frame.size
    rooms: list[tuple[str, Box, Point]] = []
    for part, x, end in (
        (sheet.segment.from_id, sheet.left, 0),
        (sheet.segment.to_id, sheet.right, -1),
    ):
        component = sheet.subject.components.get(part)
        height = facts.inches(component.height_m) if component else None
        if height is not None:
            at = (x, sheet.frame.y(height))
        elif points and abs(points[end][0] - x) < 2:
            at = points[end]
        else:
            continue
        kind = component.kind if component else ""
        glyph = symbols.glyph_of(kind, component.anti_siphon if component else None)
        turn = -1 if kind in symbols.FACES_OUTWARD and end == 0 else 1
        scale = size.symbol * 0.8
        room = symbols.room_of(glyph, at, turn, scale)
        sheet.board.add_box("symbol", part, room)
        sheet.content.append(symbols.draw(glyph, at, turn, scale))
        rooms.append((part, room, at))
    for part, room, at in rooms:
        _write(sheet, _end_block(sheet, part), room, at)


def _end_block(sheet: _Sheet, part: str) -> Block:
    subject, size = sheet.subject, sheet.frame.size.text
    component = subject.components.get(part)
    height = facts.inches(component.height_m) if component else None
    row = [Span(subject.tag(part, height))]
    valve = None
    if component is not None and component.kind in ("withdrawal", "anti_siphon_valve"):
        valve = subject.valve_words(component, sheet.run)
    if valve is None:
        return Block((tuple(row),), size)
    if subject.on_desk and valve.color == "ink":
        row.append(Span(f", {valve.text}"))
        return Block((tuple(row),), size)
    return Block((tuple(row), (valve,)), size)


def _write(sheet: _Sheet, block: Block, room: Box, at: Point) -> None:
    """Write a label at its first free place; a crowded panel leaves it to the words beneath."""
    placed, _ = place(sheet.board, [Request(block, room, at)])
    sheet.content += [own.draw(box) for own, box in placed]


def _level_names(sheet: _Sheet) -> None:
    """Names of the levels at the right, set apart where they lie close."""
    size = sheet.frame.size.text
    for text, height in _levels(sheet.subject, sheet.tank):
        if not sheet.frame.bottom <= height <= sheet.frame.top:
            continue
        y = sheet.frame.y(height)
        block = Block(((Span(text),),), size)
        left = sheet.right + size * 1.1
        tops = [y - block.height / 2 + shift * size for shift in (0, 0.6, -0.6, 1.2, -1.2, 1.8)]
        request = Request(
            block, Box(left, y, left, y), (left, y), places=tuple((left, top) for top in tops)
        )
        placed, _ = place(sheet.board, [request])
        sheet.content += [own.draw(box) for own, box in placed]
