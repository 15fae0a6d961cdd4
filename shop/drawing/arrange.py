"""Where every line runs: parts, sides, order and scale, so that no two lines cross.

Heights are true to one scale; sideways every hose has the one scale. What
cannot be drawn without a crossing goes into a further part below, with the same
staff and the same scales.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fuelsys.document.model import Component, Document
from shop.drawing import facts
from shop.drawing.placed import Frame, Part, PlacedRun, place
from shop.drawing.runs import Run, runs_of
from shop.drawing.sides import Side, Sorter
from shop.drawing.sizes import Size

# Several drawings one above the other are each a little lower than one alone.
_LOWER = 0.78
_SMALLEST = 1e-3


@dataclass(frozen=True, slots=True)
class Layout:
    frame: Frame
    parts: tuple[Part, ...]
    center: float  # x of every tank


def arrange(document: Document, size: Size, like: Document | None = None) -> Layout:
    """Parts, sides and scales of the whole drawing.

    `like` is another state of the same boat: a line stays on the side it has there.
    """
    components = {part.id: part for part in document.components}
    runs = _runs(document, size, like)
    room = size.width - size.staff - 2 * size.edge
    frame = _frame(document, size, runs, room)
    parts: tuple[Part, ...] = ()
    for _ in range(3):
        parts = _parts(document, runs, components, frame)
        fitting = _scale_for(parts, size, room)
        if math.isclose(fitting, frame.along, rel_tol=1e-3):
            break
        frame = replace(frame, along=fitting)
    frame = replace(frame, along=min(frame.along, _scale_for(parts, size, room)))
    parts = tuple(_redrawn(part, frame, components) for part in parts)
    reaches = [part.reach(size.tank / 2) for part in parts]
    left, right = min(low for low, _ in reaches), max(high for _, high in reaches)
    center = size.staff + size.edge - left + max(room - (right - left), 0.0) / 2
    return Layout(frame, parts, center)


def _runs(document: Document, size: Size, like: Document | None) -> list[Run]:
    """The runs of the document, each preferring the side it has in the other state."""
    runs = runs_of(document)
    if like is None:
        return runs
    sides = {
        segment.ident: placed.outward
        for part in arrange(like, size).parts
        for placed in part.runs
        for segment in placed.segments
    }
    return [
        replace(run, preferred=sides.get(run.steps[0].segment.id, run.preferred)) for run in runs
    ]


def _frame(document: Document, size: Size, runs: Sequence[Run], room: float) -> Frame:
    heights = facts.heights_of(document)
    low, high = min(heights, default=0.0), max(heights, default=0.0)
    # Heights are taken from the waterline; where they plainly are not, it is left out.
    if low <= 60 and high >= -60:
        low, high = min(low, 0.0), max(high, 0.0)
    if high - low < 10:
        low, high = low - 5, high + 5
    tall = size.height * (_LOWER if len(document.tanks) > 1 else 1)
    per_in = min(size.per_in_most, tall / (high - low))
    return Frame(size, per_in, high, low, _first_scale(size, runs, room))


def _first_scale(size: Size, runs: Sequence[Run], room: float) -> float:
    """The scale if every line went to the side it prefers and left from the tank's edge."""
    reach = {-1: 1.0, 1: 1.0}
    for run in runs:
        reach[run.preferred] = max(reach[run.preferred], _long(run))
    return min(size.along_most, (room - size.tank) / (reach[-1] + reach[1]))


def _long(run: Run) -> float:
    return sum(facts.course_of(step.segment).span_in for step in run.steps)


def _parts(
    document: Document, runs: Sequence[Run], components: dict[str, Component], frame: Frame
) -> tuple[Part, ...]:
    """One part a tank, then parts for what found no room there."""
    made: list[Part] = []
    for tank in (*document.tanks, None):
        ident = tank.id if tank else None
        waiting = [i for i, run in enumerate(runs) if run.tank == ident]
        if tank is not None and not waiting:
            made.append(Part(tank))
        while waiting:
            on_tank = any(runs[i].parent is None for i in waiting)
            sorter = Sorter(runs, frame, components, tank if on_tank else None)
            part, waiting = _fill_part(sorter, waiting)
            made.append(part)
    return tuple(made) or (Part(None),)


def _fill_part(sorter: Sorter, waiting: list[int]) -> tuple[Part, list[int]]:
    """As many units as can be drawn together, and the runs left for the next part."""
    if sorter.tank is not None:
        roots = [i for i in waiting if sorter.runs[i].parent is None]
        held = set(roots)
        for index in waiting:
            if sorter.runs[index].parent in held:
                held.add(index)
        own = [i for i in waiting if i in held]
    else:
        own = waiting
    left = sorter.take(own)
    left += [i for i in waiting if i not in own]
    chosen: list[int] = []
    sides: dict[int, Side] = {}
    for unit in range(len(sorter.units)):
        found = sorter.best([*chosen, unit])
        if found is None and not chosen:
            # A line that would cut its own tank's outline is drawn all the same.
            only = sorter.units[unit]
            found = {only.preferred: sorter.spaced([unit], [only.root], 0.0)}
        if found is None:
            left += [index for index, _ in sorter.units[unit].runs]
        else:
            chosen.append(unit)
            sides = found
    return Part(sorter.tank, _placed(sorter, sides)), sorted(left)


def _placed(sorter: Sorter, sides: dict[int, Side]) -> tuple[PlacedRun, ...]:
    placed: list[tuple[int, PlacedRun]] = []
    for outward, side in sides.items():
        for unit, x in side.places:
            members = sorter.units[unit].runs
            runs = sorter.placed(members, outward, outward * x)
            placed += zip((index for index, _ in members), runs, strict=True)
    return tuple(run for _, run in sorted(placed, key=lambda pair: pair[0]))


def _scale_for(parts: Sequence[Part], size: Size, room: float) -> float:
    """The widest scale at which every part, its fittings in place, fits the room."""
    low, high = 0.0, size.along_most
    spans = _spans(parts)
    for _ in range(24):
        middle = (low + high) / 2
        if _needed(parts, size, middle, spans) <= room:
            low = middle
        else:
            high = middle
    return max(low, _SMALLEST)


def _spans(parts: Sequence[Part]) -> dict[str, float]:
    """Along each hose, in inches: read once for all the scales that are tried."""
    return {
        segment.step.segment.id: facts.course_of(segment.step.segment).span_in
        for part in parts
        for placed in part.runs
        for segment in placed.segments
    }


def _needed(parts: Sequence[Part], size: Size, along: float, spans: Mapping[str, float]) -> float:
    left = right = 0.0
    for part in parts:
        if part.tank is not None:
            left, right = min(left, -size.tank / 2), max(right, size.tank / 2)
        ends: dict[str, float] = {}
        for placed in part.runs:
            x = _start(placed, ends)
            for segment in placed.segments:
                x += placed.outward * along * spans[segment.step.segment.id]
                ends[segment.step.far] = x
                left, right = min(left, x), max(right, x)
    return right - left


def _start(placed: PlacedRun, ends: dict[str, float]) -> float:
    """The x of a run's root: that of the branch, or the fitting's own."""
    root = placed.segments[0].near
    return ends.get(root.part, root.x) if placed.run.parent is not None else root.x


def _redrawn(part: Part, frame: Frame, components: dict[str, Component]) -> Part:
    """The same part at another sideways scale, fittings and sides unchanged."""
    placed: list[PlacedRun] = []
    ends: dict[str, float] = {}
    for old in part.runs:
        new = place(old.run, old.outward, _start(old, ends), frame, components)
        ends.update({segment.far.part: segment.far.x for segment in new.segments})
        placed.append(new)
    return Part(part.tank, tuple(placed))
