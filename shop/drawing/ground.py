"""The ground of a part: height staff, waterline and water, tank and its surface."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from fuelsys.document.model import Tank
from shop.drawing import canvas, facts
from shop.drawing.geometry import Box
from shop.drawing.labels import Board, DrawnLine
from shop.drawing.marks import CANNOT_TELL, mark
from shop.drawing.metrics import text_width
from shop.drawing.placed import Frame
from shop.drawing.sizes import Size
from shop.drawing.strokes import texture

STAFF_STEP_IN = 10


@dataclass(frozen=True, slots=True)
class Outline:
    """A tank as far as it is known, at its place; an unknown edge is None."""

    tank: Tank
    left: float
    right: float
    top: float | None
    bottom: float | None
    surface: float | None

    @property
    def box(self) -> Box | None:
        if self.top is None or self.bottom is None:
            return None
        return Box(self.left, self.top, self.right, self.bottom)


def outline_of(tank: Tank, frame: Frame, center: float) -> Outline:
    top, bottom = facts.inches(tank.top_m), facts.inches(tank.bottom_m)
    surface = facts.surface_of(tank)
    half = frame.size.tank / 2
    return Outline(
        tank,
        center - half,
        center + half,
        None if top is None else frame.y(top),
        None if bottom is None else frame.y(bottom),
        None if surface is None else frame.y(surface),
    )


def water(board: Board, frame: Frame, right: float) -> tuple[str, str]:
    """The tint below the static waterline, and the line itself; nothing where 0 is not drawn."""
    if not frame.bottom <= 0 <= frame.top:
        return "", ""
    y, left = frame.y(0), frame.size.staff
    below = canvas.area(Box(left, y, right, frame.depth + frame.size.margin), "water")
    points = ((left, y), (right, y))
    board.add_line(DrawnLine("waterline", "", points, 1.4))
    width = 1.4 if frame.size.name != "paper" else 1.1
    return below, canvas.stroke(canvas.path_of(points), "ink", width)


def surface(board: Board, frame: Frame, y: float, right: float) -> str:
    """The tank's surface at capacity: a chain line through the whole drawing."""
    points = ((frame.size.staff, y), (right, y))
    board.add_line(DrawnLine("surface", "", points, 1.0))
    return canvas.stroke(canvas.path_of(points), "ink", 1, ' stroke-dasharray="14 3 2 3"')


def staffed(size: Size, heights: Sequence[float]) -> Size:
    """The size with a staff wide enough for the figures these heights need."""
    ends = [math.floor(min(heights, default=0)), math.ceil(max(heights, default=0))]
    widest = max(text_width(facts.height_text(round(end, -1)), size.text) for end in ends)
    return replace(size, staff=max(size.staff, widest + _figure_gap(size) + _thickness(size) + 1))


def _thickness(size: Size) -> float:
    return max(size.text * 0.55, 4.0)


def _figure_gap(size: Size) -> float:
    return size.text * 0.35


def staff(board: Board, frame: Frame) -> str:
    """Alternating black and white every 10 in, true to the lowest and highest point."""
    size = frame.size
    left, right = size.staff - _thickness(size), size.staff
    pieces: list[str] = []
    step = math.floor(frame.bottom / STAFF_STEP_IN)
    while step * STAFF_STEP_IN < frame.top - 1e-9:
        low = max(step * STAFF_STEP_IN, frame.bottom)
        high = min((step + 1) * STAFF_STEP_IN, frame.top)
        box = Box(left, frame.y(high), right, frame.y(low))
        pieces.append(canvas.area(box, "ink"))
        if step % 2:
            pieces.append(canvas.area(box.grown(-1), "paper") if box.height > 2 else "")
        step += 1
    board.add_box("symbol", "staff", Box(left, 0, right, frame.depth))
    return "".join(pieces) + _staff_figures(board, frame, left - _figure_gap(size))


def _staff_figures(board: Board, frame: Frame, right: float) -> str:
    size = frame.size
    every = STAFF_STEP_IN * next(
        n for n in (1, 2, 5, 10, 20, 50, 100, 1000, 10**6)
        if n * STAFF_STEP_IN * frame.per_in >= size.text * 1.5
    )  # fmt: skip
    pieces: list[str] = []
    for step in range(math.ceil(frame.bottom / every), math.floor(frame.top / every) + 1):
        text = facts.height_text(float(step * every))
        text_right, y = right, frame.y(step * every)
        left = text_right - text_width(text, size.text)
        board.add_box("text", text, Box(left, y - size.text * 0.4, text_right, y + size.text * 0.4))
        pieces.append(canvas.words(text, (left, y + size.text * 0.35), size.text))
    return "".join(pieces)


def tank_lines(board: Board, outline: Outline) -> None:
    """Put the tank's edges on the board, so that no label is written over them."""
    edges = {"top": outline.top, "bottom": outline.bottom}
    for y in edges.values():
        if y is not None:
            points = ((outline.left, y), (outline.right, y))
            board.add_line(DrawnLine("tank", outline.tank.id, points, 2.6))
    low, high = _sides(outline)
    for x in (outline.left, outline.right):
        if high is not None and low is not None:
            board.add_line(DrawnLine("tank", outline.tank.id, ((x, high), (x, low)), 2.6))


def _sides(outline: Outline) -> tuple[float | None, float | None]:
    """How far down and up the sides are drawn: to a known edge, else a short way on."""
    stub = (outline.right - outline.left) * 0.14
    low, high = outline.bottom, outline.top
    if low is None and high is not None:
        low = high + stub
    if high is None and low is not None:
        high = low - stub
    return low, high


def tank(outline: Outline, frame: Frame) -> str:
    """The outline on the ground's color; an edge that is not known stays open."""
    low, high = _sides(outline)
    if low is None or high is None:
        return ""
    width = max(2.6 * frame.size.stroke, 1.4)
    left, right = outline.left, outline.right
    pieces = [canvas.area(Box(left, high, right, low), "paper")]
    sides = f"M{left:.2f} {high:.2f}V{low:.2f}M{right:.2f} {high:.2f}V{low:.2f}"
    pieces.append(canvas.stroke(sides, "ink", width))
    for y in (outline.top, outline.bottom):
        if y is not None:
            pieces.append(canvas.stroke(f"M{left:.2f} {y:.2f}H{right:.2f}", "ink", width,
                                        ' stroke-linecap="square"'))  # fmt: skip
    return "".join(pieces)


def liquid(outline: Outline, frame: Frame, keep_clear: Iterable[Box], board: Board) -> str:
    """The surface in the tank and broken lines below it, clear of every label."""
    box = outline.box
    if box is None or outline.surface is None:
        return ""
    step = 9.0 if frame.size.name == "desk" else 6.0
    clear = [label.grown(3) for label in keep_clear]
    lines = [
        points
        for points in texture(box.left, outline.surface, box.right, box.bottom, step)
        if not any(_meets(points[0], points[1], label) for label in clear)
    ]
    for points in lines:
        board.add_line(DrawnLine("liquid", outline.tank.id, points, 0.9))
    d = "".join(canvas.path_of(points) for points in lines)
    top = f"M{box.left:.2f} {outline.surface:.2f}H{box.right:.2f}"
    return (canvas.stroke(d, "soft", 0.9) if lines else "") + canvas.stroke(top, "ink", 1.2)


def _meets(a: tuple[float, float], b: tuple[float, float], box: Box) -> bool:
    return a[0] < box.right and b[0] > box.left and box.top < a[1] < box.bottom


def level_sign(left: float, y: float, size: float) -> str:
    """A small solid triangle standing on the line and two strokes beneath."""
    half, tall = size * 0.38, size * 0.62
    x = left + half
    triangle = f"M{x - half:.2f} {y - tall:.2f}H{x + half:.2f}L{x:.2f} {y:.2f}Z"
    strokes = (
        f"M{x - half * 0.8:.2f} {y + 3.2:.2f}H{x + half * 0.8:.2f}"
        f"M{x - half * 0.4:.2f} {y + 6:.2f}H{x + half * 0.4:.2f}"
    )
    return canvas.fill(triangle, "ink") + canvas.stroke(strokes, "soft", 0.9)


def gap_sign(at: tuple[float, float], size: float) -> tuple[str, Box]:
    """The empty dashed square that stands where a fact is missing."""
    half = size * 0.5
    box = Box(at[0] - half, at[1] - half, at[0] + half, at[1] + half)
    return mark(CANNOT_TELL, box.left, box.top, size), box
