"""How each service is drawn, so that lines differ without color.

Widths and dashes are those of the desk, set at the stroke scale of the size.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shop.drawing import canvas
from shop.drawing.canvas import number
from shop.drawing.geometry import Point, Points, along, length, portion


@dataclass(frozen=True, slots=True)
class Style:
    width: float
    dash: tuple[float, ...] = ()
    hollow: float = 0.0  # inner width of a line seen as a pipe
    bars: float = 0.0  # length of cross bars
    arrows: tuple[str, ...] = ()  # at the fuel's far end "to", near end "from"

    @property
    def outside(self) -> float:
        """The widest the line gets."""
        return max(self.width, self.bars)


STYLES = {
    "feed": Style(4),
    "fill": Style(8, hollow=4.6),
    "vent": Style(2.2, dash=(11, 5)),
    "pump_to_carburetor": Style(4, bars=12),
    "return": Style(3, dash=(14, 4, 3, 4), arrows=("to",)),
    "transfer": Style(3, arrows=("to", "from")),
}
# An arrowhead stands clear of the fitting at the line's end.
_ARROW_FROM_END = 16.0


def line(points: Points, service: str, scale: float, color: str = "ink") -> str:
    """One known piece of a line in the style of its service."""
    style = STYLES[service]
    d = canvas.path_of(points)
    dash = _dashes(style.dash, scale)
    pieces = [canvas.stroke(d, color, max(style.width * scale, 1.1), f"{_JOIN}{dash}")]
    if style.hollow:
        pieces.append(canvas.stroke(d, "paper", style.hollow * scale, _JOIN))
    if style.bars:
        bar = _dashes((2, 10), scale, offset=-8)
        pieces.append(canvas.stroke(d, color, style.bars * scale, bar))
    return "".join(pieces)


_JOIN = ' stroke-linejoin="round"'


def _dashes(dash: Sequence[float], scale: float, offset: float = 0.0) -> str:
    if not dash:
        return ""
    text = " ".join(number(piece * max(scale, 0.5)) for piece in dash)
    shift = f' stroke-dashoffset="{number(offset * max(scale, 0.5))}"' if offset else ""
    return f' stroke-dasharray="{text}"{shift}'


def arrows(points: Points, service: str, scale: float, back: bool, color: str = "ink") -> str:
    """Arrowheads of the service; `back` when the points run against the fuel."""
    ends = STYLES[service].arrows
    return "".join(
        _arrow(points if (end == "to") != back else points[::-1], scale, color) for end in ends
    )


def _arrow(points: Points, scale: float, color: str) -> str:
    """A solid head near the last point, pointing along the line."""
    long, half = 11 * scale, 5.5 * scale
    whole = length(points)
    tip = max(whole - _ARROW_FROM_END * scale, min(whole, long))
    x, y = along(points, tip)
    bx, by = along(points, max(tip - long, 0.0))
    run = math.dist((x, y), (bx, by)) or 1.0
    ux, uy = (x - bx) / run, (y - by) / run
    left = (x - long * ux - half * uy, y - long * uy + half * ux)
    right = (x - long * ux + half * uy, y - long * uy - half * ux)
    return canvas.fill(canvas.path_of(((x, y), left, right)) + "Z", color)


def interrupted(points: Points, place: float, gap: float) -> tuple[tuple[Points, ...], Point]:
    """The line in two pieces with a gap around `place` px along it; and the gap's middle.

    >>> interrupted(((0, 0), (100, 0)), 32, 16)[0]
    (((0, 0), (24.0, 0.0)), ((40.0, 0.0), (100, 0)))
    """
    whole = length(points)
    pieces = (portion(points, 0, place - gap / 2), portion(points, place + gap / 2, whole))
    return tuple(piece for piece in pieces if len(piece) > 1), along(points, place)


def cut_strokes(at: Point, scale: float) -> tuple[str, tuple[Points, ...]]:
    """The two strokes of a cut, drawn and as lines."""
    x, y = at
    tall, lean, apart = 10 * scale, 3 * scale, 4 * scale
    lines = tuple(
        ((x + shift - lean, y + tall), (x + shift + lean, y - tall)) for shift in (-apart, apart)
    )
    d = "".join(canvas.path_of(points) for points in lines)
    return canvas.stroke(d, "mark", max(2.4 * scale, 1.3)), lines


def texture(left: float, top: float, right: float, bottom: float, step: float) -> Iterator[Points]:
    """Broken lines that stand for liquid in a tank."""
    y, row = top + step, 0
    while y < bottom - step * 0.3:
        x = left + (2 if row % 2 == 0 else 9) * step / 9
        while x + step * 0.5 < right - 2:
            yield ((x, y), (min(x + step * 1.3, right - 2), y))
            x += step * 2.2
        y, row = y + step, row + 1
