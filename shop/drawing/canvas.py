"""Writing SVG: every mark carries a class for the page and its color for paper.

A page sets the colors by class and CSS variable (`shop.drawing.style`); the
presentation attributes hold the sun theme, so that a paper or a saved picture
needs no style sheet. There is never a style attribute.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from shop.drawing.geometry import Box, Point

SUN = {
    "paper": "#FFFFFF",
    "ink": "#0B1D2A",
    "soft": "#364853",
    "mark": "#8A0A60",
    "water": "#E6EFF4",
    "tint": "#FAEDF5",
    "sel": "#C4D9E6",
    "rule": "#B4C0C7",
}
FONT = "Atkinson Hyperlegible Next, Atkinson Hyperlegible Next Variable, system-ui, sans-serif"
FACES = {"regular": "", "strong": ' font-weight="650"', "sloping": ' font-style="italic"'}


def number(value: float) -> str:
    """A coordinate with at most two decimals.

    >>> number(3.0), number(2.456), number(-0.001)
    ('3', '2.46', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def attribute(text: str) -> str:
    """Text made fit to stand between tags or in quotes; characters XML forbids are dropped."""
    return escape("".join(letter for letter in text if _allowed(letter)), quote=True)


def _allowed(letter: str) -> bool:
    point = ord(letter)
    return point >= 0x20 and not 0xD800 <= point <= 0xDFFF and point not in (0xFFFE, 0xFFFF)


def path_of(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def stroke(d: str, color: str, width: float, more: str = "") -> str:
    """An unfilled line in one of the colors."""
    return (
        f'<path class="d-{color}-line" d="{d}" fill="none" stroke="{SUN[color]}" '
        f'stroke-width="{number(width)}"{more}/>'
    )


def fill(d: str, color: str) -> str:
    return f'<path class="d-{color}-fill" d="{d}" fill="{SUN[color]}"/>'


def shape(d: str, width: float, more: str = "") -> str:
    """An outlined shape with the ground inside, as symbols are."""
    return (
        f'<path class="d-shape" d="{d}" fill="{SUN["paper"]}" stroke="{SUN["ink"]}" '
        f'stroke-width="{number(width)}" stroke-linejoin="round"{more}/>'
    )


def area(box: Box, color: str) -> str:
    return (
        f'<rect class="d-{color}-fill" x="{number(box.left)}" y="{number(box.top)}" '
        f'width="{number(box.width)}" height="{number(box.height)}" fill="{SUN[color]}"/>'
    )


def disk(center: Point, radius: float, color: str) -> str:
    return (
        f'<circle class="d-{color}-fill" cx="{number(center[0])}" cy="{number(center[1])}" '
        f'r="{number(radius)}" fill="{SUN[color]}"/>'
    )


def words(text: str, at: Point, size: float, color: str = "ink", face: str = "regular") -> str:
    """One piece of text from its left end and base line."""
    return (
        f'<text class="d-{color}-text" x="{number(at[0])}" y="{number(at[1])}" '
        f'font-size="{number(size)}"{FACES[face]} fill="{SUN[color]}">{attribute(text)}</text>'
    )


def group(content: Iterable[str], more: str = "") -> str:
    return f"<g{more}>{''.join(content)}</g>"


def moved(content: Iterable[str], dx: float, dy: float) -> str:
    return group(content, f' transform="translate({number(dx)} {number(dy)})"')


def link(content: Iterable[str], href: str | None, name: str, more: str = "") -> str:
    """A link around a segment, named by its title; without an address, a group with a title.

    What is drawn in a link is hidden from readers, who hear the title: its words say the same.
    """
    title = f"<title>{attribute(name)}</title>"
    if href is None:
        return f"<g{more}>{title}{''.join(content)}</g>"
    drawn = group(content, ' aria-hidden="true"')
    return f'<a href="{attribute(href)}"{more}>{title}{drawn}</a>'
