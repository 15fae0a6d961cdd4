"""Labels: measured blocks of text, and the first free place for each.

A place is free when no label, no symbol and no drawn line comes into it. A label
that finds none is handed back, to stand in a lane on a leader.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from shop.drawing import canvas
from shop.drawing.geometry import Box, Point, Points, bounds, strikes
from shop.drawing.marks import mark
from shop.drawing.metrics import ASCENT_EM, DESCENT_EM, LINE_EM, text_width

_CLEAR = 2.0  # px between a label and a symbol, or a label over it
_CLEAR_BESIDE = 7.0  # px between two labels in one row, so that they are not read as one
_CLEAR_LINE = 1.5  # px between a label and the edge of a line


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of a row; computed figures are `sloping`, judgments `mark`."""

    text: str
    color: str = "ink"
    face: str = "regular"


Row = tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """Rows of text with a measured size; an outcome mark may lead the first row."""

    rows: tuple[Row, ...]
    size: float
    align: str = "left"
    outcome: str | None = None

    @property
    def text(self) -> str:
        return " / ".join("".join(span.text for span in row) for row in self.rows)

    @property
    def lead(self) -> float:
        if not self.outcome:
            return 0.0
        return self.size * (1.38 if self.rows[0] else 1.0)

    def row_width(self, index: int) -> float:
        own = sum(text_width(span.text, self.size, span.face) for span in self.rows[index])
        return own + (self.lead if index == 0 else 0.0)

    @property
    def width(self) -> float:
        return max(self.row_width(index) for index in range(len(self.rows)))

    @property
    def height(self) -> float:
        return self.size * (ASCENT_EM + DESCENT_EM + LINE_EM * (len(self.rows) - 1))

    def box(self, left: float, top: float) -> Box:
        return Box(left, top, left + self.width, top + self.height)

    def draw(self, box: Box) -> str:
        pieces: list[str] = []
        for index, row in enumerate(self.rows):
            slack = box.width - self.row_width(index)
            x = box.left + {"left": 0.0, "center": slack / 2, "right": slack}[self.align]
            base = box.top + self.size * (ASCENT_EM + LINE_EM * index)
            if index == 0 and self.outcome:
                side = self.size
                pieces.append(mark(self.outcome, x, base - side * 0.85, side))
                x += self.lead
            for span in row:
                pieces.append(canvas.words(span.text, (x, base), self.size, span.color, span.face))
                x += text_width(span.text, self.size, span.face)
        return "".join(pieces)


@dataclass(frozen=True, slots=True)
class LabelBox:
    """A finished label or symbol and the room it takes; `kind` is text or symbol."""

    kind: str
    text: str
    box: Box


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A finished line: its points, its width, what it is and whose."""

    kind: str
    owner: str
    points: Points
    width: float = 1.0


@dataclass(slots=True)
class Board:
    """What is drawn so far within `area`, the room for labels."""

    area: Box
    boxes: list[LabelBox] = field(default_factory=list)
    lines: list[DrawnLine] = field(default_factory=list)
    _reach: list[Box] = field(default_factory=list)
    kept_out: list[Box] = field(default_factory=list)  # where no label may stand but its own

    def copy(self) -> Board:
        return Board(
            self.area, list(self.boxes), list(self.lines), list(self._reach), list(self.kept_out)
        )

    def add_line(self, line: DrawnLine) -> None:
        self.lines.append(line)
        self._reach.append(bounds(line.points).grown(line.width / 2 + _CLEAR_LINE))

    def add_box(self, kind: str, text: str, box: Box) -> None:
        self.boxes.append(LabelBox(kind, text, box))

    def is_free(self, box: Box, but: str = "") -> bool:
        """Whether nothing comes into `box`; lines of the kind `but` are let pass."""
        if not self.area.contains(box):
            return False
        wide = box.grown(_CLEAR)
        row = Box(box.left - _CLEAR_BESIDE, wide.top, box.right + _CLEAR_BESIDE, wide.bottom)
        if any(box.overlaps(other) for other in self.kept_out):
            return False
        for other in self.boxes:
            if (row if other.kind == "text" else wide).overlaps(other.box):
                return False
        return not any(
            line.kind != but
            and reach.overlaps(box.grown(0.01))
            and strikes(line.points, box.grown(line.width / 2 + _CLEAR_LINE))
            for line, reach in zip(self.lines, self._reach, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Request:
    """A label wanted: its block, what it belongs to, and where a leader would start."""

    block: Block
    room: Box
    anchor: Point
    must: bool = True
    order: str = "around"
    places: tuple[Point, ...] = ()  # left and top corners to try, in place of those around


def place(
    board: Board, requests: Iterable[Request]
) -> tuple[list[tuple[Block, Box]], list[Request]]:
    """Set each label in its first free place; give back the needed ones that found none."""
    placed: list[tuple[Block, Box]] = []
    homeless: list[Request] = []
    for request in requests:
        block = request.block
        for aligned, box in _candidates(request):
            if board.is_free(box):
                board.add_box("text", block.text, box)
                placed.append((aligned, box))
                break
        else:
            if request.must:
                homeless.append(request)
    return placed, homeless


def _candidates(request: Request) -> Iterator[tuple[Block, Box]]:
    block = request.block
    if request.places:
        for left, top in request.places:
            yield block, block.box(left, top)
        return
    for gap in (4.0,) if request.order in _ONLY else (4.0, 9.0, 15.0):
        for align, left, top in _around(request.room, block, gap, request.order):
            yield Block(block.rows, block.size, align, block.outcome), block.box(left, top)


_ORDERS = {
    "around": ("above", "right", "below", "left"),
    "leftward": ("above", "left", "below", "right"),
    "over": ("above", "above a little left", "above a little right", "above left", "above right"),
    "crest": ("above",),
    "dip": ("below",),
    "below": ("below", "below right", "below left", "right", "left", "above"),
}
# The height of a crest stands over it, that of a dip under it, or neither is written.
_ONLY = {"crest": "above", "dip": "below"}


def _around(room: Box, block: Block, gap: float, order: str) -> Iterator[tuple[str, float, float]]:
    """Places around a symbol: the four sides in the wanted order, then the corners."""
    width, height, size = block.width, block.height, block.size
    x, y = room.center
    middle, above, below = y - height / 2, room.top - gap - height, room.bottom + gap
    right, left = room.right + gap, room.left - gap - width
    places = {
        "above": ("center", x - width / 2, above),
        "right": ("left", right, middle),
        "below": ("center", x - width / 2, below),
        "left": ("right", left, middle),
        "right a little below": ("left", right, middle + size * 0.35),
        "right a little above": ("left", right, middle - size * 0.35),
        "left a little below": ("right", left, middle + size * 0.35),
        "left a little above": ("right", left, middle - size * 0.35),
        "above a little left": ("right", x - width * 0.75, above),
        "above a little right": ("left", x - width * 0.25, above),
        "below a little left": ("right", x - width * 0.75, below),
        "below a little right": ("left", x - width * 0.25, below),
        "above right": ("left", x + 1, above),
        "above left": ("right", x - 1 - width, above),
        "below right": ("left", x + 1, below),
        "below left": ("right", x - 1 - width, below),
        "right above": ("left", right, room.top - height * 0.5),
        "left above": ("right", left, room.top - height * 0.5),
        "right below": ("left", right, room.bottom - height * 0.5),
        "left below": ("right", left, room.bottom - height * 0.5),
    }
    first = _ORDERS[order]
    if order in _ONLY:
        others = [name for name in places if name.startswith(_ONLY[order])]
    else:
        others = list(places)
    for name in (*first, *(name for name in others if name not in first)):
        yield places[name]
