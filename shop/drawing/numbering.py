"""Segment numbers and homeless labels as things to hang in a lane."""

from __future__ import annotations

from functools import cache

from shop.drawing import canvas, words
from shop.drawing.geometry import Box, Point, Points
from shop.drawing.labels import Block, Request, Row, Span
from shop.drawing.lanes import DOWN, UP, LaneItem
from shop.drawing.marks import color_of
from shop.drawing.metrics import shortened, text_width
from shop.drawing.placed import PlacedSegment
from shop.drawing.subject import Subject

_FAVORS_UP = frozenset({"fill", "vent"})


def number_item(segment: PlacedSegment, slide: Points, subject: Subject) -> LaneItem:
    """The number of a segment in its circle, with what the size has room for."""
    size, ident = subject.size, segment.ident
    label = shortened(ident, size.text, size.circle * 6, "strong")
    half = max(size.circle, text_width(label, size.text, "strong") / 2 + size.text * 0.18)
    beside, beyond = _words(segment, subject)

    def beside_box(x: float, y: float) -> Box | None:
        if beside is None:
            return None
        return beside.box(x + half + size.text * 0.5, y - beside.height * 0.5)

    def beyond_box(lane: int, x: float, y: float) -> Box | None:
        if beyond is None:
            return None
        left = x - half if subject.on_desk else x - beyond.width / 2
        gap = size.circle + size.text * 0.3
        return beyond.box(left, y + gap if lane == DOWN else y - gap - beyond.height)

    def boxes(lane: int, at: Point) -> list[tuple[str, Box, Block | None]]:
        x, y = at
        circle = Box(x - half, y - size.circle, x + half, y + size.circle)
        found: list[tuple[str, Box, Block | None]] = [(ident, circle, None)]
        for block, box in ((beside, beside_box(x, y)), (beyond, beyond_box(lane, x, y))):
            if block is not None and box is not None:
                found.append((block.text, box, block))
        return found

    def reach(lane: int) -> Box:
        held = [box for _, box, _ in boxes(lane, (0.0, 0.0))]
        return Box(
            min(box.left for box in held),
            min(box.top for box in held),
            max(box.right for box in held),
            max(box.bottom for box in held),
        )

    def draw(lane: int, at: Point) -> tuple[str, list[tuple[str, Box]]]:
        drawn = [_circle(label, at, half, subject, chosen=ident == subject.chosen)]
        placed = boxes(lane, at)
        drawn += [block.draw(box) for _, box, block in placed if block is not None]
        return "".join(drawn), [(text, box) for text, box, _ in placed]

    favored = UP if segment.step.segment.service in _FAVORS_UP else DOWN
    return LaneItem(ident, slide, cache(reach), draw, favored, numbered=True)


def _words(segment: PlacedSegment, subject: Subject) -> tuple[Block | None, Block | None]:
    """What stands beside the circle and beyond it, away from the lines."""
    size = subject.size
    verdict = subject.judgment.verdicts.get(segment.ident)
    kept = segment.ident in subject.kept
    outcome = verdict.outcome if verdict else None
    row: Row = ()
    if verdict is not None and not subject.on_phone:
        color = color_of(verdict.outcome)
        face = "strong" if color == "mark" else "regular"
        row = (Span(subject.say(verdict.phrase), color, face),)
    if subject.on_desk:
        said = Block((row,), size.text, outcome=outcome) if row else None
        line = subject.facts_line(segment.step.segment)
        if kept:
            line = f"{subject.say(words.KEPT)}, {line}"
        return said, Block(((Span(line, "soft"),),), size.text)
    rows: list[Row] = []
    if outcome is not None:
        rows.append(row)
    if kept:
        rows.append((Span(subject.say(words.KEPT), "soft"),))
    return None, Block(tuple(rows), size.text, "center", outcome) if rows else None


def _circle(label: str, at: Point, half: float, subject: Subject, *, chosen: bool) -> str:
    size = subject.size
    x, y = at
    radius = size.circle
    d = (
        f"M{x - half + radius:.2f} {y - radius:.2f}H{x + half - radius:.2f}"
        f"A{radius} {radius} 0 0 1 {x + half - radius:.2f} {y + radius:.2f}"
        f"H{x - half + radius:.2f}A{radius} {radius} 0 0 1 {x - half + radius:.2f} "
        f"{y - radius:.2f}Z"
    )
    ring = canvas.fill(d, "ink") if chosen else canvas.shape(d, 1.4 if size.text > 10 else 1)
    left = x - text_width(label, size.text, "strong") / 2
    color = "paper" if chosen else "ink"
    return ring + canvas.words(label, (left, y + size.text * 0.35), size.text, color, "strong")


def label_item(request: Request, index: int) -> LaneItem:
    """A label that found no free place, under or over the end of a leader."""
    block = request.block
    pad = 3.0

    def box(lane: int, at: Point) -> Box:
        top = at[1] + pad if lane == DOWN else at[1] - pad - block.height
        return block.box(at[0] - min(6.0, block.width / 2), top)

    def reach(lane: int) -> Box:
        own = box(lane, (0.0, 0.0))
        return Box(own.left, min(own.top, 0.0), own.right, max(own.bottom, 0.0))

    def draw(lane: int, at: Point) -> tuple[str, list[tuple[str, Box]]]:
        own = box(lane, at)
        left = Block(block.rows, block.size, "left", block.outcome)
        return left.draw(own), [(block.text, own)]

    return LaneItem(f"label {index}", (request.anchor,), cache(reach), draw, UP, room=request.room)
