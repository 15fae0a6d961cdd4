"""What is written along the lines: cuts, trapped fuel, crests and dips, the two levels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shop.drawing import canvas, facts, words
from shop.drawing.geometry import Box, Point
from shop.drawing.ground import level_sign
from shop.drawing.labels import Block, Board, Request, Row, Span
from shop.drawing.metrics import ASCENT_EM
from shop.drawing.placed import Frame, PlacedSegment
from shop.drawing.subject import Subject
from shop.drawing.trace import Trace


def cut_requests(traces: Sequence[Trace], subject: Subject) -> Iterator[Request]:
    """The volume at each drawn cut, in sloping figures."""
    for each in traces:
        if each.cut_at is None or subject.on_phone:
            continue
        volume = subject.judgment.cuts[each.segment.ident].volume_floz or 0.0
        rows: list[Row] = [(subject.volume(volume),)]
        if subject.on_desk:
            rows.insert(0, (Span(subject.say(words.WORST_CUT), "mark", "sloping"),))
        room = _around(each.cut_at, 8 * subject.size.stroke + 2, 10 * subject.size.stroke)
        yield Request(Block(tuple(rows), subject.size.text), room, each.cut_at, order="below")


def pocket_requests(traces: Sequence[Trace], subject: Subject) -> Iterator[Request]:
    """How much fuel stays in a dip, and the height of the dip."""
    for each in traces:
        cut = subject.judgment.cuts.get(each.segment.ident)
        if not each.pockets or cut is None or not cut.volume_floz or subject.on_phone:
            continue
        deepest = max(each.pockets, key=lambda pocket: pocket.lowest[1])
        height = _height_at(each.segment, deepest.lowest, subject)
        rows: list[Row] = []
        if subject.on_desk and height is not None:
            rows.append((Span(subject.say(words.DIPS_TO, height=height)),))
        phrase = words.HOLDS if subject.on_desk else words.VOLUME
        rows.append((subject.volume(cut.volume_floz, phrase),))
        xs, ys = [x for x, _ in deepest.shape], [y for _, y in deepest.shape]
        room = Box(min(xs), min(ys), max(xs), max(ys))
        yield Request(
            Block(tuple(rows), subject.size.text), room, deepest.lowest, subject.on_desk, "over"
        )


def _height_at(segment: PlacedSegment, at: Point, subject: Subject) -> str | None:
    points = facts.course_of(segment.step.segment).points
    if len(points) != len(segment.points):
        return None
    ordered = reversed(points) if segment.step.back else points
    nearest = min(zip(ordered, segment.points, strict=True), key=lambda p: abs(p[1][0] - at[0]))
    return facts.height_text(nearest[0][1])


def crest_requests(traces: Sequence[Trace], subject: Subject) -> Iterator[Request]:
    """Crests and dips between the parts, where there is room for their heights."""
    if subject.on_phone:
        return
    for each in traces:
        points = facts.course_of(each.segment.step.segment).points
        if each.segment.step.back:
            points = points[::-1]
        for i in range(1, len(points) - 1):
            before, here, after = (points[j][1] for j in (i - 1, i, i + 1))
            crest, dip = before < here >= after, before > here <= after
            at = each.segment.points[i]
            if not (crest or dip) or _said(each, at):
                continue
            if not (crest or subject.on_desk):
                continue
            block = Block(((Span(facts.height_text(here)),),), subject.size.text)
            order = "crest" if crest else "dip"
            yield Request(block, _around(at, 3, 2), at, must=False, order=order)


def _said(each: Trace, at: Point) -> bool:
    """Whether a cut or a pocket stands there already and says it."""
    spots = [each.cut_at] if each.cut_at else []
    spots += [pocket.lowest for pocket in each.pockets]
    return any(abs(x - at[0]) < 12 and abs(y - at[1]) < 12 for x, y in spots)


def _around(at: Point, wide: float, tall: float) -> Box:
    return Box(at[0] - wide, at[1] - tall, at[0] + wide, at[1] + tall)


@dataclass(frozen=True, slots=True)
class Level:
    """A level to be named on its line; `kind` is that of the line."""

    y: float
    kind: str
    text: str


def level_labels(
    board: Board, levels: Sequence[Level], frame: Frame, right: float
) -> tuple[str, list[Request]]:
    """Name the levels on their lines, one under the other where that is free."""
    places = {level.kind: _free_places(board, level, frame, right) for level in levels}
    lefts = [{x for x, top in places[level.kind] if top < level.y} for level in levels]
    shared = sorted(set.intersection(*lefts)) if lefts else []
    svg, homeless = "", []
    for level in levels:
        found = places[level.kind]
        wanted = [place for place in found if shared and place[0] == shared[0]] + found
        # The first level named may have taken the place of the second.
        extent = _extent(level, frame)
        spot = next((p for p in wanted if _is_free(board, level, frame, p, extent)), None)
        if spot is None:
            anchor = (frame.size.staff + frame.size.text * 2, level.y)
            block = Block(((Span(level.text),),), frame.size.text)
            homeless.append(Request(block, _around(anchor, 1, 1), anchor))
            continue
        svg += _draw_level(board, level, frame, spot)
    return svg, homeless


def _free_places(
    board: Board, level: Level, frame: Frame, right: float
) -> list[tuple[float, float]]:
    """Left edge of the sign and top of the words, above the line first, from left to right."""
    size = frame.size.text
    extent = _extent(level, frame)
    words_box, _ = _level_boxes(level, frame, (0.0, 0.0), extent)
    above, below = level.y - size * 0.3 - words_box.height, level.y + size * 0.3
    start = frame.size.staff + size
    steps = int((right - start - words_box.right) / 9)
    return [
        (start + 9 * step, top)
        for top in (above, below)
        for step in range(max(steps, 0))
        if _is_free(board, level, frame, (start + 9 * step, top), extent)
    ]


def _extent(level: Level, frame: Frame) -> tuple[float, float]:
    """Width and height of its words: measured once for all the places that are tried."""
    block = Block(((Span(level.text),),), frame.size.text)
    return block.width, block.height


def _level_boxes(
    level: Level, frame: Frame, at: tuple[float, float], extent: tuple[float, float]
) -> tuple[Box, Box]:
    """The words and the sign to their left."""
    size, (width, height) = frame.size.text, extent
    sign = Box(at[0], level.y - size * 0.7, at[0] + size * 0.8, level.y + 7)
    left = at[0] + size * 1.35
    return Box(left, at[1], left + width, at[1] + height), sign


def _is_free(
    board: Board, level: Level, frame: Frame, at: tuple[float, float], extent: tuple[float, float]
) -> bool:
    box, sign = _level_boxes(level, frame, at, extent)
    whole = Box(sign.left, box.top, box.right, box.bottom)
    return board.is_free(whole) and board.is_free(sign, but=level.kind)


def _draw_level(board: Board, level: Level, frame: Frame, at: tuple[float, float]) -> str:
    size = frame.size.text
    box, sign = _level_boxes(level, frame, at, _extent(level, frame))
    board.add_box("text", level.text, box)
    board.add_box("symbol", f"level {level.kind}", sign)
    base = (box.left, box.top + size * ASCENT_EM)
    return level_sign(sign.left, level.y, size) + canvas.words(level.text, base, size)
