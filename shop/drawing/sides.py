"""Which side of its tank a line leaves, and from which fitting place, so that none cross.

A unit is a run with the branches that can be drawn on it. Units on different
sides never meet; those on one side are ordered by trial, lowest line outermost
first, at ever closer fittings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import permutations, product

from fuelsys.document.model import Component, Tank
from shop.drawing import facts
from shop.drawing.geometry import Box, Points, crossings, length, nearer_than, portion, strikes
from shop.drawing.placed import Frame, PlacedRun, height_of, place, tank_box
from shop.drawing.runs import Run

_LOOSE = (46.0, 28.0, 18.0)
_TIGHT = (12.0, 8.0)
MOST_SEGMENTS = 12  # in one part, so that the lanes hold the numbers
_MOST_UNITS = 8
_TRY_ALL_ORDERS = 4
# What it costs to draw a line on the side its service does not prefer.
_COST = {"fill": 3, "vent": 1}
_COST_OTHERS = 2
# Lines keep so far apart, px on the desk, but for the first stretch past their fittings,
# where they must be close.
_APART = 5.5
_NEAR_FITTING = 36


@dataclass(frozen=True, slots=True)
class Unit:
    """A run and its branches, drawn outward to the right from x 0."""

    root: str
    runs: tuple[tuple[int, int], ...]  # index and direction against the unit's
    lines: tuple[Points, ...]
    preferred: int
    cost: int
    segments: int
    low: float


@dataclass(frozen=True, slots=True)
class Side:
    """Units of one side and the x of their roots, outward counted positive."""

    places: tuple[tuple[int, float], ...]  # unit, x


@dataclass(slots=True)
class Sorter:
    """Decides for the units of one tank at one scale."""

    runs: Sequence[Run]
    frame: Frame
    components: Mapping[str, Component]
    tank: Tank | None
    units: list[Unit] = field(default_factory=list)
    _pairs: dict[tuple[int, int, float], bool] = field(default_factory=dict)
    _sides: dict[tuple[frozenset[int], bool], Side | None] = field(default_factory=dict)

    def take(self, waiting: Sequence[int]) -> list[int]:
        """Make units of the waiting runs; the branches that fit none are given back."""
        self.units, left = [], []
        held: dict[int, int] = {}
        for index in waiting:
            run = self.runs[index]
            if run.parent not in held:
                held[index] = len(self.units)
                self.units.append(self._unit(((index, 1),)))
                continue
            owner = held[run.parent]
            grown = self._with_branch(self.units[owner], index)
            if grown is None:
                left.append(index)
            else:
                self.units[owner] = grown
                held[index] = owner
        return left

    def _unit(self, members: tuple[tuple[int, int], ...]) -> Unit:
        lines = tuple(run.course for run in self.placed(members, 1, 0.0))
        first = self.runs[members[0][0]]
        service = first.steps[0].segment.service
        return Unit(
            first.root,
            members,
            lines,
            first.preferred,
            _COST.get(service, _COST_OTHERS),
            sum(len(self.runs[index].steps) for index, _ in members),
            _lowness(lines[0]),
        )

    def placed(
        self, members: Sequence[tuple[int, int]], outward: int, x: float
    ) -> tuple[PlacedRun, ...]:
        """The runs of a unit with its root at `x`."""
        done: dict[int, PlacedRun] = {}
        for index, turn in members:
            run = self.runs[index]
            parent = done.get(run.parent) if run.parent is not None else None
            start = x if parent is None else _branch_x(run, parent)
            done[index] = place(run, outward * turn, start, self.frame, self.components)
        return tuple(done.values())

    def _with_branch(self, unit: Unit, index: int) -> Unit | None:
        """The unit with one more branch, outward or folded back where it has the room."""
        if unit.segments + len(self.runs[index].steps) > MOST_SEGMENTS:
            return None
        for turn in (1, -1):
            grown = self._unit((*unit.runs, (index, turn)))
            branch = grown.lines[-1]
            inside = all(x >= self.frame.size.tank * 0.1 for x, _ in branch)
            if (turn == 1 or inside) and not any(
                self._touch(branch, other, share_root=True) for other in unit.lines
            ):
                return grown
        return None

    def _touch(self, one: Points, other: Points, *, share_root: bool) -> bool:
        """Whether two lines cross, or run too near each other past their fittings."""
        if len(one) < 2 or len(other) < 2:
            return False
        skip = _NEAR_FITTING * self.frame.size.symbol
        clear = portion(one, skip, length(one))
        if share_root:
            one = portion(one, skip / 3, length(one))
        if len(one) > 1 and crossings(one, other):
            return True
        return len(clear) > 1 and nearer_than(clear, other, _APART * self.frame.size.stroke)

    def best(self, members: Sequence[int]) -> dict[int, Side] | None:
        """Left and right for these units, as they prefer as far as no lines meet."""
        if len(members) > _MOST_UNITS:
            return None
        if sum(self.units[m].segments for m in members) > MOST_SEGMENTS and len(members) > 1:
            return None
        for tight in (False, True):
            for sides in self._by_cost(members):
                left, right = (
                    self._side(
                        frozenset(m for m, s in zip(members, sides, strict=True) if s == side),
                        tight,
                    )
                    for side in (-1, 1)
                )
                if left is not None and right is not None:
                    return {-1: left, 1: right}
        return None

    def _by_cost(self, members: Sequence[int]) -> list[tuple[int, ...]]:
        units = [self.units[m] for m in members]
        return sorted(
            product((1, -1), repeat=len(members)),
            key=lambda sides: sum(
                unit.cost for unit, side in zip(units, sides, strict=True) if unit.preferred != side
            ),
        )

    def _side(self, members: frozenset[int], tight: bool) -> Side | None:
        key = (members, tight)
        if key not in self._sides:
            smaller = any(
                self._side(members - {m}, tight) is None for m in members if len(members) > 2
            )
            self._sides[key] = None if smaller else self._ordered(sorted(members), tight)
        return self._sides[key]

    def _ordered(self, members: list[int], tight: bool) -> Side | None:
        spacings = _LOOSE + _TIGHT if tight else _LOOSE
        for order in self._orders(members):
            for spacing in spacings if self.tank else (0.0,):
                side = self.spaced(members, order, spacing * self.frame.size.symbol)
                if self._is_clear(side):
                    return side
        return None

    def _orders(self, members: list[int]) -> Iterator[tuple[str, ...]]:
        """Fittings from the outside in: the lowest line outermost, then any other order."""
        low: dict[str, float] = {}
        for m in members:
            unit = self.units[m]
            low[unit.root] = min(low.get(unit.root, math.inf), unit.low)
        usual = tuple(sorted(low, key=lambda root: low[root]))
        yield usual
        if len(usual) <= _TRY_ALL_ORDERS:
            yield from (order for order in permutations(usual) if order != usual)

    def spaced(self, members: Sequence[int], order: Sequence[str], spacing: float) -> Side:
        return Side(
            tuple(
                (m, self._root_x(self.units[m].root, order.index(self.units[m].root), spacing))
                for m in members
            )
        )

    def _root_x(self, root: str, rank: int, spacing: float) -> float:
        if self.tank is None:
            return 0.0
        half = self.frame.size.tank / 2
        height, top = height_of(root, self.components), facts.inches(self.tank.top_m)
        if height is not None and top is not None and height < top - 0.3:
            return half  # through the side of the tank
        return max(half - 5 * self.frame.size.symbol - rank * spacing, 4.0)

    def _is_clear(self, side: Side) -> bool:
        outline = tank_box(self.tank, self.frame)
        for m, x in side.places:
            if outline is None:
                break
            inside = outline.grown(-1.5).moved(-x, 0)
            corner = 6 * self.frame.size.symbol  # the fitting itself covers the tank's corner
            inside = Box(inside.left + corner, inside.top, inside.right - corner, inside.bottom)
            if any(len(line) > 1 and strikes(line, inside) for line in self.units[m].lines):
                return False
        return not any(
            self._meet(one, other, round(x1 - x0, 3))
            for i, (one, x0) in enumerate(side.places)
            for other, x1 in side.places[i + 1 :]
        )

    def _meet(self, one: int, other: int, apart: float) -> bool:
        """Whether lines of two units meet when the other's root stands `apart` px further out."""
        key = (one, other, apart)
        if key not in self._pairs:
            first, second = self.units[one], self.units[other]
            same = first.root == second.root
            self._pairs[key] = any(
                self._touch(tuple((x + apart, y) for x, y in b), a, share_root=same)
                for a in first.lines
                for b in second.lines
            )
        return self._pairs[key]


def _branch_x(run: Run, parent: PlacedRun) -> float:
    return next(s.far.x for s in parent.segments if s.step.far == run.root)


def _lowness(line: Points) -> float:
    """How low a line runs near the tank, in px downward: the lowest is the most negative."""
    near = portion(line, 0, 160) if len(line) > 1 else ()
    if not near:
        return 0.0
    return -sum(y for _, y in near) / len(near)
