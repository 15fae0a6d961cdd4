"""The lines of a boat unrolled: from a tank outward, along each hose, part by part.

A run is a chain of segments that leaves a tank (or a branch of another run) and
ends where nothing goes on. Every segment stands in exactly one run.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fuelsys.document.model import Component, Document, Segment
from shop.drawing.facts import is_tank_fitting

# A longer chain goes on in a run of its own, so that its numbers find room in the lanes.
LONGEST_RUN = 8


@dataclass(frozen=True, slots=True)
class Step:
    """One segment walked outward; `back` when that is against its own direction."""

    segment: Segment
    near: str
    far: str
    back: bool


@dataclass(frozen=True, slots=True)
class Run:
    """A chain outward from the part `root`; `parent` is the run it branches from."""

    root: str
    steps: tuple[Step, ...]
    tank: str | None
    parent: int | None = None  # index among the runs
    preferred: int = 1  # side: -1 left of the tank, 1 right


class _Unwalked:
    """The segments not yet in a run, by the parts they join."""

    def __init__(self, segments: Iterable[Segment]) -> None:
        self.left = {segment.id: segment for segment in segments}

    def at(self, part: str, back: bool | None = None) -> list[Segment]:
        """The segments at a part; only those walked with or against their fuel, if asked."""
        joined = [s for s in self.left.values() if part in (s.from_id, s.to_id)]
        return [s for s in joined if back is None or (s.from_id != part) == back]

    def take(self, segment: Segment, near: str) -> Step:
        del self.left[segment.id]
        back = segment.from_id != near
        return Step(segment, near, segment.from_id if back else segment.to_id, back)


def runs_of(document: Document) -> list[Run]:
    """All runs, those of the first tank first; branches follow the run they leave."""
    parts = {part.id: part for part in document.components}
    unwalked = _Unwalked(document.segments)
    runs: list[Run] = []
    for root, tank in _roots(document):
        while unwalked.at(root):
            _follow(root, tank, None, unwalked, parts, runs)
    while unwalked.left:
        first = next(iter(unwalked.left.values()))
        _follow(first.from_id, None, None, unwalked, parts, runs)
    return [_with_side(run, document) for run in runs]


def _roots(document: Document) -> Iterator[tuple[str, str]]:
    for tank in document.tanks:
        for part in document.components:
            if part.tank == tank.id:
                yield part.id, tank.id


def _follow(
    root: str,
    tank: str | None,
    parent: int | None,
    unwalked: _Unwalked,
    parts: dict[str, Component],
    runs: list[Run],
) -> None:
    """Walk one run from `root`, then every branch that leaves it."""
    steps: list[Step] = []
    part, goes_on = root, True
    while goes_on and len(steps) < LONGEST_RUN:
        # A line is followed the way it began, so that another tank's line is left to that tank.
        segment = _next(unwalked.at(part, steps[0].back if steps else None), steps)
        if segment is None:
            break
        steps.append(unwalked.take(segment, part))
        part = steps[-1].far
        component = parts.get(part)
        goes_on = component is None or not is_tank_fitting(component)
    own = len(runs)
    runs.append(Run(root, tuple(steps), tank, parent))
    for step in steps:
        component = parts.get(step.far)
        if component is not None and is_tank_fitting(component):
            continue
        while unwalked.at(step.far, step.back):
            _follow(step.far, tank, own, unwalked, parts, runs)


def _next(choices: list[Segment], steps: list[Step]) -> Segment | None:
    """The segment that goes on: the same service first, then the order of the document."""
    if not steps:
        return choices[0] if choices else None
    service = steps[-1].segment.service
    return min(choices, key=lambda segment: segment.service != service, default=None)


def _with_side(run: Run, document: Document) -> Run:
    side = _side_of(run.steps[0].segment, run, document)
    return Run(run.root, run.steps, run.tank, run.parent, side)


def _side_of(segment: Segment, run: Run, document: Document) -> int:
    """Fill and the second engine left, vent and the first engine right."""
    if segment.service == "fill":
        return -1
    if segment.service in ("vent", "transfer"):
        return 1
    served = next((step.segment.engine for step in run.steps if step.segment.engine), None)
    order = _engines_of(run.tank, document)
    return -1 if served in order and order.index(served) % 2 else 1


def _engines_of(tank: str | None, document: Document) -> list[str]:
    """The engines fed from a tank in the order of the document; all of them without one."""
    fittings = {part.id for part in document.components if part.tank == tank}
    fed = {
        segment.engine
        for segment in document.segments
        if segment.from_id in fittings or segment.to_id in fittings
    }
    return [engine.id for engine in document.engines if engine.id in fed or tank is None]
