"""The lower panel of a profile: volume against the place of the cut, limit and excess."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from fuelsys.document.model import Segment
from fuelsys.units import from_base
from shop.drawing import canvas, facts, words
from shop.drawing.geometry import Box, Point, Points
from shop.drawing.labels import Block, Board, DrawnLine, Request, Span, place
from shop.drawing.metrics import ASCENT_EM, text_width, wrapped
from shop.drawing.subject import Subject

if TYPE_CHECKING:
    from shop.drawing.profile import CutResult

LIMIT_FLOZ = 5.0  # 33 CFR 183.558(b)(2)(ii): type B hose of a feed line, 5 ounces
_TALL = {"desk": 108.0, "paper": 68.0, "phone": 82.0}


@dataclass(frozen=True, slots=True)
class Upper:
    """What the panel above has settled: the abscissa, its foot, and where the cut stands."""

    left: float
    right: float
    span_in: float
    depth: float
    cut_at: Point | None

    def x(self, distance_in: float) -> float:
        return self.left + (self.right - self.left) * distance_in / self.span_in


@dataclass(frozen=True, slots=True)
class Panel:
    svg: str
    bottom: float
    said: str  # the panel in words


def cut_place_in(discharge: CutResult | None) -> float | None:
    """The worst cut in inches from the `from` end; the first place where it ties."""
    if discharge is None or discharge.worst_cut_m is None or not discharge.volume_m3:
        return None
    place_m = discharge.worst_cut_m
    return float(from_base(place_m[0] if isinstance(place_m, tuple) else place_m, "in"))


def panel(
    subject: Subject, segment: Segment, discharge: CutResult | None, board: Board, upper: Upper
) -> Panel:
    """The curve with its axes, or the words that say why there is none."""
    points = _curve(discharge)
    if len(points) < 2:
        return _words_only(subject, discharge, board, upper)
    plot = _Plot(subject, segment, discharge, board, upper, points).draw()
    if discharge is None or not discharge.least_curve:
        return plot
    text = subject.say(words.AT_LEAST)
    if discharge.missing:
        text = subject.say(words.AT_LEAST_LACKING, facts=", ".join(discharge.missing))
    below = _words(subject, text, board, upper, top=plot.bottom + subject.size.text * 0.5)
    return Panel(plot.svg + below.svg, below.bottom, f"{plot.said} {text}".strip())


def _curve(discharge: CutResult | None) -> tuple[tuple[float, float], ...]:
    """(inches, fluid ounces) at every computed cut; where facts lack, what runs out at least."""
    if discharge is None:
        return ()
    rows = discharge.least_curve or discharge.curve
    return tuple(
        (float(from_base(distance, "in")), float(from_base(tank + far, "floz")))
        for distance, tank, far in rows
        if tank is not None and far is not None
    )


def _words_only(subject: Subject, discharge: CutResult | None, board: Board, upper: Upper) -> Panel:
    missing = discharge.missing if discharge is not None else ()
    text = subject.say(words.NO_CURVE)
    if missing:
        text = subject.say(words.LACKING, facts=", ".join(missing))
    top = upper.depth + subject.size.margin
    return _words(subject, text, board, upper, top=top, loud=bool(missing))


def _words(
    subject: Subject, text: str, board: Board, upper: Upper, *, top: float, loud: bool = True
) -> Panel:
    size = subject.size.text
    lines = wrapped(text, size, upper.right - upper.left)
    block = Block(tuple((Span(line, "mark" if loud else "soft"),) for line in lines), size)
    box = block.box(upper.left, top)
    board.add_box("text", block.text, box)
    return Panel(block.draw(box), box.bottom + size, text)


class _Plot:
    """One curve being drawn; y grows downward from the top of the panel."""

    def __init__(
        self,
        subject: Subject,
        segment: Segment,
        discharge: CutResult | None,
        board: Board,
        upper: Upper,
        points: tuple[tuple[float, float], ...],
    ) -> None:
        self.subject, self.board, self.upper = subject, board, upper
        self.size = subject.size.text
        self.segment, self.discharge = segment, discharge
        self.kind = facts.kind_of_hose(segment.hose)
        self.limited = segment.service == "feed" and (self.kind or "B").startswith("B")
        highest = max(volume for _, volume in points)
        self.step = _nice(max(highest, LIMIT_FLOZ if self.limited else 0.0) / 2)
        self.most = max(highest, LIMIT_FLOZ if self.limited else 0.0, self.step)
        self.top = upper.depth + subject.size.margin + self.size * 1.9
        self.foot = self.top + _TALL[subject.size.name]
        self.points = points
        self.content: list[str] = []

    def y(self, volume: float) -> float:
        return self.foot - (self.foot - self.top) * volume / self.most

    def draw(self) -> Panel:
        self._unit()
        line: Points = tuple((self.upper.x(d), self.y(v)) for d, v in self.points)
        if self.limited:
            self._excess(line)
        self._axes()
        broken = bool(self.discharge and self.discharge.least_curve)
        dash = ' stroke-linejoin="round"' + (' stroke-dasharray="6 3"' if broken else "")
        self.content.append(canvas.stroke(canvas.path_of(line), "ink", 1.8, dash))
        self.board.add_line(DrawnLine("curve", self.segment.id, line, 1.8))
        self._limit()
        said = self._worst()
        self._no_limit()
        bottom = self._places()
        return Panel("".join(self.content), bottom, said)

    def _unit(self) -> None:
        text = self.subject.say(words.FLUID_OUNCES)
        left = self.upper.left - 6 - text_width(text, self.size)
        self._text(text, max(left, 1.0), self.top - self.size * 0.15)

    def _text(
        self, text: str, left: float, base: float, color: str = "ink", face: str = "regular"
    ) -> None:
        top = base - self.size * ASCENT_EM
        block = Block(((Span(text, color, face),),), self.size)
        box = block.box(left, top)
        self.board.add_box("text", text, box)
        self.content.append(block.draw(box))

    def _axes(self) -> None:
        left, right = self.upper.left, self.upper.right
        axis = ((left, self.top), (left, self.foot), (right, self.foot))
        self.content.append(canvas.stroke(canvas.path_of(axis), "ink", 1.2))
        self.board.add_line(DrawnLine("axis", "", axis, 1.2))
        volume = 0.0
        while self.y(volume) > self.top + self.size * 1.3:
            text = facts.figure(volume)
            wide = text_width(text, self.size)
            self._text(text, left - 6 - wide, self.y(volume) + self.size * 0.35)
            volume += self.step

    def _excess(self, line: Points) -> None:
        """The part of the curve beyond the limit, tinted."""
        level = self.y(LIMIT_FLOZ)
        for piece in _above(line, level):
            shape = ((piece[0][0], level), *piece, (piece[-1][0], level))
            self.content.append(canvas.fill(canvas.path_of(shape) + "Z", "tint"))

    def _limit(self) -> None:
        left, right = self.upper.left, self.upper.right
        if not self.limited:
            return
        y = self.y(LIMIT_FLOZ)
        points = ((left, y), (right, y))
        self.content.append(canvas.stroke(canvas.path_of(points), "mark", 1.6))
        self.board.add_line(DrawnLine("limit", "", points, 1.6))
        text = self.subject.say(words.LIMIT, limit=facts.figure(LIMIT_FLOZ))
        self._text(text, right + self.size * 1.1, y + self.size * 0.35, "mark", "strong")

    def _no_limit(self) -> None:
        """Type A hose of a feed line has no limit; nothing is said where the type is unknown."""
        if self.limited or self.segment.service != "feed" or not self.kind:
            return
        text = self.subject.say(words.NO_LIMIT, kind=self.kind)
        block = Block(((Span(text, "soft"),),), self.size)
        left = self.upper.right - block.width
        tops = [self.top + shift * self.size for shift in (0.0, 1.0, 4.0, 5.0, 6.0)]
        request = Request(
            block, Box(left, self.top, left, self.top), (left, self.top),
            places=tuple((left, top) for top in tops),
        )  # fmt: skip
        placed, _ = place(self.board, [request])
        self.content += [own.draw(box) for own, box in placed]

    def _worst(self) -> str:
        """The dot of the worst cut, tied to the cut above, and its figures."""
        place_in = cut_place_in(self.discharge)
        if place_in is None or self.discharge is None or not self.discharge.volume_m3:
            return ""
        volume = float(from_base(self.discharge.volume_m3, "floz"))
        at = (self.upper.x(place_in), self.y(min(volume, self.most)))
        if self.upper.cut_at is not None:
            tie = ((at[0], at[1]), (at[0], self.upper.cut_at[1] + 10))
            dash = ' stroke-dasharray="2 3"'
            self.content.append(canvas.stroke(canvas.path_of(tie), "soft", 0.9, dash))
            self.board.add_line(DrawnLine("leader", "", tie, 0.9))
        self.content.append(canvas.disk(at, 3.2, "mark"))
        text = self.subject.say(
            words.AT_PLACE, volume=facts.volume_text(volume), place=facts.figure(place_in)
        )
        self._beside(text, at)
        return text

    def _beside(self, text: str, at: Point) -> None:
        """Beside the dot and its tie, above the curve before below it."""
        block = Block(((Span(text, "mark", "sloping"),),), self.size)
        right, left = at[0] + 7, at[0] - 7 - block.width
        tops = [at[1] - 5 - block.height - rise for rise in (0.0, 4.0, 8.0)]
        tops += [at[1] + 8 + fall for fall in (0.0, 10.0, 20.0, 30.0)]
        places = tuple((x, top) for top in tops for x in (right, left))
        request = Request(block, Box(*at, *at), at, places=places)
        placed, _ = place(self.board, [request])
        self.content += [own.draw(box) for own, box in placed]

    def _places(self) -> float:
        """The surveyed places along the hose under the axis, as many as do not touch."""
        base = self.foot + self.size * 1.25
        last = self.points[-1][0]
        inch = self.subject.say(words.INCHES)
        places = [d for d, _ in facts.course_of(self.segment).points if 0 < d < last]
        taken: list[Box] = []
        for distance in (last, 0.0, *places):
            text = facts.figure(distance) + (f" {inch}" if distance == last else "")
            wide = text_width(text, self.size)
            own = text_width(facts.figure(distance), self.size)
            left = self.upper.x(distance) - own / 2
            box = Box(left - 5, base - self.size, left + wide + 5, base)
            if any(box.overlaps(other) for other in taken):
                continue
            taken.append(box)
            self._text(text, left, base)
        return base + self.size * 0.5


def _nice(rough: float) -> float:
    """A step of 1, 2 or 5 times a power of ten at or above `rough`.

    >>> _nice(4.4), _nice(142.0), _nice(0.7)
    (5.0, 200.0, 1.0)
    """
    power = 10.0 ** math.floor(math.log10(rough)) if rough > 0 else 1.0
    return next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= rough - 1e-12)


def _above(line: Points, level: float) -> list[Points]:
    """The stretches of a curve that lie over `level`, cut off where they pass it."""
    found: list[Points] = []
    current: list[Point] = []
    for a, b in pairwise(line):
        if a[1] < level and not current:
            current.append(a)
        if (a[1] - level) * (b[1] - level) < 0:
            share = (level - a[1]) / (b[1] - a[1])
            current.append((a[0] + share * (b[0] - a[0]), level))
            if b[1] > level:
                found.append(tuple(current))
                current = []
        if b[1] < level:
            current.append(b)
    if len(current) > 1:
        found.append(tuple(current))
    return found
