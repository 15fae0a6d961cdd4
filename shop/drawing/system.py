"""The drawing of a boat's fuel system: heights true, sideways the distance along each hose."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fuelsys.document.model import Document
from shop.drawing import canvas, words
from shop.drawing.arrange import arrange
from shop.drawing.compose import PartDrawing, draw_part
from shop.drawing.facts import heights_of
from shop.drawing.geometry import Box, Points
from shop.drawing.ground import staffed
from shop.drawing.judge import Evaluated, judgment
from shop.drawing.labels import DrawnLine, LabelBox
from shop.drawing.legend import legend
from shop.drawing.sizes import SIZES
from shop.drawing.subject import Subject
from shop.drawing.words import Strings, english

_BETWEEN_PARTS = 20.0


@dataclass(frozen=True, slots=True)
class Drawing:
    """One finished picture: its SVG, and its boxes and lines for whoever checks them.

    `parts` are the drawings one above the other of which it consists, in the same
    coordinates; a picture of one part lists that one.
    """

    svg: str
    boxes: tuple[LabelBox, ...]
    lines: tuple[DrawnLine, ...]
    width: float
    height: float
    parts: tuple[Box, ...] = ()


def draw_system(
    document: Document,
    evaluation: Evaluated | Mapping[str, Any] | None,
    *,
    size: str,
    state: str = "found",
    chosen: str | None = None,
    found: Document | None = None,
    href: Callable[[str], str] | None = None,
    kept: frozenset[str] = frozenset(),
    strings: Strings = english,
) -> Drawing:
    """Draw a fuel system at one of the sizes desk, paper, phone.

    Parameters
    ----------
    document : the state to draw.
    evaluation : what is said of it, or None to draw the facts alone.
    size : "desk" (1376 px wide), "paper" (680) or "phone" (328); each drawn anew.
    state : "found", "proposed" or "installed"; names the picture.
    chosen : the segment that is looked at, banded and its number reversed.
    found : the found state, thin beneath a proposed one.
    href : the address of a segment's page; without it nothing is a link.
    kept : segments that stay, drawn soft and labelled so.
    strings : translates the phrases of `shop.drawing.words`.

    Raises
    ------
    KeyError : a size or state that does not exist.
    """
    drawn, subject = _drawn(
        document,
        evaluation,
        size=size,
        state=state,
        chosen=chosen,
        found=found,
        href=href,
        kept=kept,
        strings=strings,
    )
    return _stacked(drawn, subject, subject.say(words.TITLES[state]))


def draw_sheets(
    document: Document,
    evaluation: Evaluated | Mapping[str, Any] | None,
    *,
    size: str,
    state: str = "found",
    found: Document | None = None,
    strings: Strings = english,
) -> list[Drawing]:
    """The same as a list, each part a drawing of its own that can stand on a sheet of its own."""
    drawn, subject = _drawn(
        document,
        evaluation,
        size=size,
        state=state,
        chosen=None,
        found=found,
        href=None,
        kept=frozenset(),
        strings=strings,
    )
    title = subject.say(words.TITLES[state])
    return [_stacked([part], subject, title) for part in drawn]


def _drawn(
    document: Document,
    evaluation: Evaluated | Mapping[str, Any] | None,
    *,
    size: str,
    state: str,
    chosen: str | None,
    found: Document | None,
    href: Callable[[str], str] | None,
    kept: frozenset[str],
    strings: Strings,
) -> tuple[list[PartDrawing], Subject]:
    subject = Subject(
        document,
        staffed(SIZES[size], heights_of(document)),
        state,
        judgment(evaluation),
        {part.id: part for part in document.components},
        strings,
        chosen,
        href,
        kept,
        found,
    )
    layout = arrange(document, subject.size, found)
    drawn = [draw_part(part, layout.frame, layout.center, subject) for part in layout.parts]
    return drawn, subject


def _stacked(drawn: list[PartDrawing], subject: Subject, title: str) -> Drawing:
    """The parts one above the other, the legend beneath."""
    content: list[str] = []
    boxes: list[LabelBox] = []
    lines: list[DrawnLine] = []
    frames: list[Box] = []
    width = max([subject.size.width, *(part.width for part in drawn)])
    y = 2.0
    for part in drawn:
        dy = y - part.top
        content.append(canvas.moved([part.svg], 0, dy))
        boxes += [replace(box, box=box.box.moved(0, dy)) for box in part.boxes]
        lines += [replace(line, points=_down(line.points, dy)) for line in part.lines]
        frames.append(Box(0, y, width, part.bottom + dy))
        y = part.bottom + dy + _BETWEEN_PARTS
    services = {line.kind for line in lines}
    earlier = any(line.kind == "earlier" for line in lines)
    computed = 'font-style="italic"' in "".join(content)
    svg, words_below, bottom = legend(
        subject,
        services,
        y - _BETWEEN_PARTS + subject.size.text,
        earlier=earlier,
        computed=computed,
    )
    boxes += words_below
    whole = _svg([*content, svg], width, bottom + 2, title, _description(subject), subject)
    return Drawing(whole, tuple(boxes), tuple(lines), width, bottom + 2, tuple(frames))


def _down(points: Points, dy: float) -> Points:
    return tuple((x, y + dy) for x, y in points)


def _description(subject: Subject) -> str:
    """The picture in words: every segment with its service and outcome."""
    read_out = [subject.read_out(segment) for segment in subject.document.segments]
    if not read_out and not subject.document.tanks and not subject.document.components:
        return subject.say(words.NOTHING)
    scale = [subject.say(words.SCALE), subject.say(words.SIDEWAYS)]
    return " ".join([*scale, *(f"{text}." for text in read_out)])


def _svg(
    content: list[str], width: float, height: float, title: str, description: str, subject: Subject
) -> str:
    return svg_element(
        content,
        width,
        height,
        title,
        description,
        name=f"d-{subject.size.name}",
        with_links=subject.href is not None,
    )


def svg_element(
    content: list[str],
    width: float,
    height: float,
    title: str,
    description: str,
    *,
    name: str,
    with_links: bool,
) -> str:
    """The one SVG element; an image to a reader, or a group where it holds links."""
    role = "group" if with_links else "img"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing {name}" role="{role}" '
        f'aria-label="{canvas.attribute(title)}" viewBox="0 0 {canvas.number(width)} '
        f'{canvas.number(height)}" width="{canvas.number(width)}" '
        f'height="{canvas.number(height)}" font-family="{canvas.FONT}">'
        f"<title>{canvas.attribute(title)}</title><desc>{canvas.attribute(description)}</desc>"
        f"{''.join(content)}</svg>"
    )
