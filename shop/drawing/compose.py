"""One part of a drawing put together, every label in a place of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shop.drawing import canvas, ground, lanes, notes, parts, trace, words
from shop.drawing.earlier import earlier_lines
from shop.drawing.facts import height_text, inches, surface_of
from shop.drawing.geometry import Box, Points
from shop.drawing.ground import Outline
from shop.drawing.labels import Block, Board, DrawnLine, LabelBox, Request, Span, place
from shop.drawing.lanes import DOWN, UP, Lanes
from shop.drawing.metrics import wrapped
from shop.drawing.numbering import label_item, number_item
from shop.drawing.placed import Frame, Part, moved
from shop.drawing.subject import Subject
from shop.drawing.trace import Trace

# After so many rounds every label still without a place goes to a lane at once.
_ROUNDS = 8


@dataclass(frozen=True, slots=True)
class PartDrawing:
    """One finished part in its own coordinates; `top` and `bottom` are its edges."""

    svg: str
    boxes: tuple[LabelBox, ...]
    lines: tuple[DrawnLine, ...]
    top: float
    bottom: float
    width: float


@dataclass(slots=True)
class _Stage:
    """The part before its labels: drawn pieces and what stands in the way."""

    board: Board
    plot: Box
    under: list[str]
    outline: Outline | None
    traces: list[Trace]
    symbols: list[str]
    rooms: dict[tuple[str, float], Box]
    levels: list[notes.Level]


def draw_part(part: Part, frame: Frame, center: float, subject: Subject) -> PartDrawing:
    """Lines and symbols first, then leaders, then labels around them until all have a place."""
    stage = _stage(moved(part, center), frame, center, subject)
    wanted = list(_requests(moved(part, center), stage, subject))
    homeless: list[Request] = []
    for round_ in range(_ROUNDS + len(wanted)):
        hung = _hang(stage, homeless, subject)
        board = stage.board.copy()
        _leaders(board, hung, stage.plot, frame)
        placed, failed = _tank_label(board, stage, homeless, subject)
        rest = [request for request in wanted if request.must and request not in homeless]
        done, left = place(board, rest)
        placed, failed = [*placed, *done], [*failed, *left]
        svg_levels, failed_levels = _levels(board, stage, frame, homeless)
        failed += failed_levels
        if not failed:
            break
        homeless += failed
        if round_ == _ROUNDS:
            homeless = [*dict.fromkeys([*homeless, *(r for r in wanted if r.must)])]
    more, _ = place(board, [r for r in wanted if not r.must])
    return _assembled(stage, hung, board, frame, subject, [*placed, *more], svg_levels)


def _stage(part: Part, frame: Frame, center: float, subject: Subject) -> _Stage:
    size = frame.size
    plot = Box(size.staff, -size.margin, size.width, frame.depth + size.margin)
    inset = Box(plot.left + 4, plot.top + 1, plot.right - 1, plot.bottom - 1)
    board = Board(inset)
    tint, waterline = ground.water(board, frame, size.width)
    under = [tint]
    outline = ground.outline_of(part.tank, frame, center) if part.tank else None
    levels = (
        [notes.Level(frame.y(0), "waterline", subject.say(words.WATERLINE))] if waterline else []
    )
    surface = ""
    if outline is not None and outline.surface is not None:
        surface = ground.surface(board, frame, outline.surface, size.width)
        text = _surface_text(outline, subject)
        levels.insert(0, notes.Level(outline.surface, "surface", text))
    if outline is not None:
        ground.tank_lines(board, outline)
    traces = _traces(part, frame, subject, board)
    earlier = earlier_lines(part, frame, subject, board)
    under += [*(each.band for each in traces), waterline, surface, earlier]
    under.append(ground.staff(board, frame))
    symbols: list[str] = []
    rooms: dict[tuple[str, float], Box] = {}
    for node, _ in parts.placed_nodes(part):
        svg, box = parts.symbol(node, subject, outline, board)
        symbols.append(svg)
        if box is not None:
            rooms[(node.part, round(node.x, 1))] = box
    if subject.on_phone:
        levels = []
    return _Stage(board, plot, under, outline, traces, symbols, rooms, levels)


def _traces(part: Part, frame: Frame, subject: Subject, board: Board) -> list[Trace]:
    """Every segment drawn; those without a course last, so that their signs keep clear."""
    segments = [
        (segment, segment.ident in shown)
        for run in part.runs
        for shown in (trace.shown_cuts(run, subject),)
        for segment in run.segments
    ]
    segments.sort(key=lambda pair: len(pair[0].points) < 2)
    return [trace.trace(segment, frame, subject, board, cut=cut) for segment, cut in segments]


def _surface_text(outline: Outline, subject: Subject) -> str:
    height = surface_of(outline.tank) or 0.0
    phrase = words.SURFACE if subject.on_desk else words.SURFACE_SHORT
    if inches(outline.tank.capacity_m3) is None and outline.tank.surface_m is None:
        phrase = words.SURFACE_SHORT
    return subject.say(phrase, height=height_text(height))


def _requests(part: Part, stage: _Stage, subject: Subject) -> Iterator[Request]:
    """Labels in the order in which they choose their places."""
    document = subject.document
    if not (document.segments or document.tanks or document.components):
        yield _nothing(stage, subject)
    gaps = {each.segment.ident: each.gap_at for each in stage.traces if each.gap_at}
    yield from notes.cut_requests(stage.traces, subject)
    yield from notes.pocket_requests(stage.traces, subject)
    yield from parts.missing_requests(part, subject, gaps)
    yield from parts.label_requests(part, subject, stage.rooms)
    yield from notes.crest_requests(stage.traces, subject)


def _nothing(stage: _Stage, subject: Subject) -> Request:
    """The one sentence of an empty drawing."""
    size = subject.size.text
    room = (stage.plot.right - stage.plot.left) * 0.8
    lines = wrapped(subject.say(words.NOTHING), size, room)
    block = Block(tuple((Span(line),) for line in lines), size, "center")
    x, y = stage.plot.center
    places = tuple((x - block.width / 2, y + shift * size) for shift in (1.5, -3.0, 3.0))
    return Request(block, Box(x, y, x, y), (x, y), places=places)


def _hang(stage: _Stage, homeless: Sequence[Request], subject: Subject) -> Lanes:
    items = [number_item(each.segment, each.slide, subject) for each in stage.traces]
    items += [label_item(request, index) for index, request in enumerate(homeless)]
    size = subject.size
    return lanes.hang(items, stage.board, stage.plot, (size.staff + 4, size.width - 1))


def _leaders(board: Board, hung: Lanes, plot: Box, frame: Frame) -> None:
    for one in hung.hung:
        center = lanes.center_of_row(hung, one, plot, frame.size.gutter)
        points = _leader(one, plot, frame, center)
        board.add_line(lanes.leader_line(one, points))


def _leader(one: lanes.Hung, plot: Box, frame: Frame, center: float) -> Points:
    radius = frame.size.circle if one.item.numbered else 0.0
    stop = Box(0, -radius, 0, radius)
    return lanes.leader_points(one, plot, frame.size.gutter * 0.8, stop, center)


def _levels(
    board: Board, stage: _Stage, frame: Frame, homeless: Sequence[Request]
) -> tuple[str, list[Request]]:
    gone = {request.block.text for request in homeless}
    wanted = [level for level in stage.levels if level.text not in gone]
    return notes.level_labels(board, wanted, frame, frame.size.width)


def _tank_label(
    board: Board, stage: _Stage, homeless: Sequence[Request], subject: Subject
) -> tuple[list[tuple[Block, Box]], list[Request]]:
    """The tank's own words first; after them its inside is kept free of all others."""
    if stage.outline is None:
        return [], []
    request = parts.tank_request(stage.outline, subject)
    placed, failed = ([], []) if request in homeless else place(board, [request])
    if stage.outline.box is not None:
        board.kept_out.append(stage.outline.box)
    return placed, failed


def _assembled(
    stage: _Stage,
    hung: Lanes,
    board: Board,
    frame: Frame,
    subject: Subject,
    placed: Sequence[tuple[Block, Box]],
    levels: str,
) -> PartDrawing:
    """Ground, tank, lines with their numbers as links, symbols, labels: in this order."""
    gutter = frame.size.gutter
    links: dict[str, list[str]] = {each.segment.ident: [each.svg] for each in stage.traces}
    loose: list[str] = []
    for one in hung.hung:
        center = lanes.center_of_row(hung, one, stage.plot, gutter)
        points = _leader(one, stage.plot, frame, center)
        svg, boxes = one.item.draw(one.lane, (one.x, center))
        piece = canvas.stroke(canvas.path_of(points), "soft", 0.9)
        if one.item.numbered:
            piece += canvas.disk(one.start, max(2.4 * frame.size.stroke, 1.4), "ink")
        links.get(one.item.key, loose).append(piece + svg)
        for text, box in boxes:
            board.add_box("text", text, box)
    tank = liquid = ""
    if stage.outline is not None:
        texts = [box.box for box in board.boxes if box.kind == "text"]
        liquid = ground.liquid(stage.outline, frame, texts, board)
        tank = ground.tank(stage.outline, frame)
    content = [*stage.under, tank, liquid]
    content += [_link(each, links[each.segment.ident], subject) for each in stage.traces]
    content += [*stage.symbols, *loose, levels]
    content += [block.draw(box) for block, box in placed]
    return PartDrawing(
        "".join(content),
        tuple(board.boxes),
        tuple(board.lines),
        lanes.outer_edge(hung, UP, stage.plot, gutter),
        lanes.outer_edge(hung, DOWN, stage.plot, gutter),
        hung.width + 1,
    )


def _link(each: Trace, content: Sequence[str], subject: Subject) -> str:
    segment = each.segment.step.segment
    href = subject.href(segment.id) if subject.href else None
    more = f' class="d-segment{" d-chosen" if segment.id == subject.chosen else ""}"'
    return canvas.link(content, href, subject.read_out(segment), more)
