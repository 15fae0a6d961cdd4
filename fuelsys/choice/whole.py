"""One product for each segment at once: least total cost, or fewest different reels.

A program in whole numbers, solved by HiGHS. A choice that is put together as a document and does
not hold is cut off and the program solved again; among equals the first by name is taken, so that
neither a repetition nor the order of the input changes the answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

COST = "cost"
REELS = "reels"
OPTIMAL = "optimal"  # proven: no choice that holds is better
NOT_PROVEN = "not_proven"  # the search was stopped; a better one may exist
NONE_HOLDS = "none_holds"  # proven: no choice holds
MOST_CUTS = 60
NODES = 20_000  # a stop that does not depend on the machine
HALF_CENT = 0.5
MOST_WEIGHT = 100_000  # far within what the solver tells apart

Picks = Mapping[str, str]  # product by segment
Holds = Callable[[Picks], Sequence[str]]  # the segments that do not hold; empty where all do


@dataclass(frozen=True, order=True, slots=True)
class Option:
    """One product on one segment, and what it costs there [cents]."""

    segment: str
    product: str
    cents: int


@dataclass(frozen=True, slots=True)
class Chosen:
    """The choice, or None where none holds, and how it was come by.

    `cents` is the total, fixed costs included; `cut` counts choices that did not hold as a
    whole; `failed` names the segments of the last of them that did not.
    """

    picks: tuple[tuple[str, str], ...] | None
    cents: int | None
    products: tuple[str, ...]
    proof: str
    cut: int = 0
    failed: tuple[str, ...] = ()

    @property
    def by_segment(self) -> dict[str, str]:
        return dict(self.picks or ())


def choose(
    options: Iterable[Option],
    *,
    objective: str = COST,
    fixed: Mapping[str, int] | None = None,
    holds: Holds | None = None,
) -> Chosen:
    """Choose one product for each segment that has an option.

    Parameters
    ----------
    options : iterable of Option
        Costs in whole cents, none negative.
    objective : str
        `COST` for the least total; `REELS` for the fewest products, and of those the least total.
    fixed : mapping of str to int
        What a product costs once, however many segments take it [cents].
    holds : callable
        Given a product for each segment, the segments on which the whole does not hold.

    Returns
    -------
    Chosen
        Among equals the one whose products come first by name, segment by segment.

    Raises
    ------
    ValueError
        A cost is negative, an option stands twice, or the objective is not known.
    RuntimeError
        The solver gave up for a reason of its own.

    Valid for
    ---------
    Totals below 10^9 cents. After `MOST_CUTS` choices that do not hold the search stops and says
    so.

    Source
    ------
    HiGHS by scipy.optimize.milp; no-good cuts: E. Balas and R. Jeroslow, "Canonical cuts on the
    unit hypercube", SIAM J. Appl. Math. 23 (1972) 61-69.

    Examples
    --------
    >>> offers = [Option("S1", "A", 500), Option("S1", "B", 400), Option("S2", "A", 600)]
    >>> choose(offers).by_segment, choose(offers).cents
    ({'S1': 'B', 'S2': 'A'}, 1000)
    >>> choose(offers, objective=REELS).by_segment
    {'S1': 'A', 'S2': 'A'}
    """
    program = _Program.of(options, fixed or {})
    if objective not in (COST, REELS):
        raise ValueError(f"The objective {objective!r} is not known. Use {COST!r} or {REELS!r}.")
    failed: tuple[str, ...] = ()
    for cut in range(MOST_CUTS + 1):
        found = program.best(objective)
        if found.picked is None:
            proof = NONE_HOLDS if found.proven else NOT_PROVEN
            return Chosen(None, None, (), proof, cut, failed)
        picks = program.picks(found.picked)
        failed = tuple(holds(picks)) if holds is not None else ()
        if not failed:
            products = tuple(sorted(set(picks.values())))
            proof = OPTIMAL if found.proven else NOT_PROVEN
            return Chosen(tuple(picks.items()), program.total(picks), products, proof, cut)
        program.cuts.append(found.picked)
    return Chosen(None, None, (), NOT_PROVEN, MOST_CUTS + 1, failed)


@dataclass(frozen=True, slots=True)
class _Found:
    picked: tuple[int, ...] | None  # which options
    proven: bool


@dataclass(slots=True)
class _Program:
    """One column an option, in the order of segment and product, and one a product."""

    options: tuple[Option, ...]
    segments: tuple[str, ...]
    products: tuple[str, ...]
    fixed: Mapping[str, int]
    cuts: list[tuple[int, ...]] = field(default_factory=list)

    @classmethod
    def of(cls, options: Iterable[Option], fixed: Mapping[str, int]) -> _Program:
        ordered = tuple(sorted(options))
        if len({(each.segment, each.product) for each in ordered}) < len(ordered):
            raise ValueError("A product stands twice for one segment. Give each once.")
        if any(cents < 0 for cents in (*(each.cents for each in ordered), *fixed.values())):
            raise ValueError("A cost is negative. Give what each product costs, in cents.")
        segments = tuple(dict.fromkeys(each.segment for each in ordered))
        products = tuple(sorted({each.product for each in ordered}))
        return cls(ordered, segments, products, fixed)

    def picks(self, picked: Iterable[int]) -> dict[str, str]:
        return {self.options[at].segment: self.options[at].product for at in sorted(picked)}

    def total(self, picks: Picks) -> int:
        own = sum(each.cents for each in self.options if picks[each.segment] == each.product)
        return own + sum(self.fixed.get(product, 0) for product in set(picks.values()))

    def best(self, objective: str) -> _Found:
        """The first by name of the best choices that no cut excludes."""
        if not self.options:
            return _Found((), True)
        bounds: list[tuple[list[float], float]] = []
        proven = True
        goals = [self._reels(), self._costs()] if objective == REELS else [self._costs()]
        taken: list[bool] = []
        for goal in goals:
            found, certain = self._solved(goal, bounds)
            if found is None:
                return _Found(None, certain)
            proven, taken = proven and certain, found
            reached = sum(weight for weight, is_in in zip(goal, taken, strict=True) if is_in)
            bounds.append((goal, reached + HALF_CENT))
        return _Found(self._first(taken, bounds), proven)

    def _first(
        self, found: Sequence[bool], bounds: Sequence[tuple[list[float], float]]
    ) -> tuple[int, ...]:
        """Of the choices within the bounds, the one that comes first by name.

        A stretch of segments at a time, each segment weighing more than all behind it.
        """
        held: set[int] = set()
        for stretch in self._stretches():
            goal = [0.0] * self._wide
            weight = 1
            for columns in reversed(stretch):
                goal[columns[0] : columns[-1] + 1] = [
                    float(weight * n) for n in range(len(columns))
                ]
                weight *= len(columns)
            other, _certain = self._solved(goal, bounds, held)
            found = found if other is None else other
            held |= {at for columns in stretch for at in columns if found[at]}
        return tuple(sorted(held))

    def _stretches(self) -> list[list[range]]:
        """The columns of each segment, as many segments together as whole weights can tell."""
        stretches: list[list[range]] = [[]]
        weight = 1
        for _segment, group in groupby(enumerate(self.options), lambda each: each[1].segment):
            places = [at for at, _ in group]
            columns = range(places[0], places[-1] + 1)
            if stretches[-1] and weight * len(columns) > MOST_WEIGHT:
                stretches.append([])
                weight = 1
            weight *= len(columns)
            stretches[-1].append(columns)
        return stretches

    @property
    def _wide(self) -> int:
        return len(self.options) + len(self.products)

    def _costs(self) -> list[float]:
        fixed = [float(self.fixed.get(product, 0)) for product in self.products]
        return [float(each.cents) for each in self.options] + fixed

    def _reels(self) -> list[float]:
        return [0.0] * len(self.options) + [1.0] * len(self.products)

    def _solved(
        self,
        goal: list[float],
        bounds: Sequence[tuple[list[float], float]],
        held: Iterable[int] = (),
    ) -> tuple[list[bool] | None, bool]:
        """The least of a goal, and whether that is proven; with some options held."""
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        rows, low, high = self._rows(bounds)
        least = np.zeros(self._wide)
        least[list(held)] = 1.0
        found = milp(
            goal,
            constraints=LinearConstraint(rows, low, high),
            integrality=np.ones(self._wide),
            bounds=Bounds(least, np.ones(self._wide)),
            options={"node_limit": NODES, "mip_rel_gap": 0.0},
        )
        if found.status == 2:
            return None, True
        if found.x is None:
            if found.status != 1:
                raise RuntimeError(f"The choice of products did not solve: {found.message}")
            return None, False
        taken = [value > HALF_CENT for value in found.x]
        return taken, found.status == 0

    def _rows(self, bounds: Sequence[tuple[list[float], float]]) -> tuple[Any, Any, Any]:
        """One product a segment, a product paid where it is taken, the cuts, the bounds."""
        import numpy as np

        wide = self._wide
        place = {product: len(self.options) + i for i, product in enumerate(self.products)}
        rows: list[Any] = []
        low: list[float] = []
        high: list[float] = []

        def add(entries: Mapping[int, float], least: float, most: float) -> None:
            row = np.zeros(wide)
            for column, value in entries.items():
                row[column] = value
            rows.append(row)
            low.append(least)
            high.append(most)

        for segment in self.segments:
            own = [at for at, each in enumerate(self.options) if each.segment == segment]
            add(dict.fromkeys(own, 1.0), 1.0, 1.0)
        for at, each in enumerate(self.options):
            add({at: 1.0, place[each.product]: -1.0}, -np.inf, 0.0)
        for cut in self.cuts:
            add(dict.fromkeys(cut, 1.0), -np.inf, float(len(cut) - 1))
        for weights, most in bounds:
            add(dict(enumerate(weights)), -np.inf, most)
        return np.array(rows), np.array(low), np.array(high)
