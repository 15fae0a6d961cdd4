"""New patterns for the master: by price, and every one that a cheaper plan could use."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from fuelsys.cutting.bound import SCALE, lower_bound, shrunk, whole_bound
from fuelsys.cutting.deadline import Deadline
from fuelsys.cutting.knapsack import Knapsack, knapsack, tails
from fuelsys.cutting.master import prices
from fuelsys.cutting.problem import Pattern, Problem

WORTHWHILE = SCALE >> 16  # a gain below this is the rounding of the linear program
MOST_PATTERNS = 30_000
MOST_STEPS = 200_000
STEPS_PER_LOOK = 256  # at the clock
MOST_CELLS = 150_000_000  # of all knapsack tables


@dataclass(frozen=True)
class Root:
    """The patterns that the linear program asked for, the bound, and the prices that prove it."""

    patterns: tuple[Pattern, ...]
    bound: Fraction
    prices: tuple[int, ...]


def generate(problem: Problem, start: Sequence[Pattern], enough: int, until: Deadline) -> Root:
    """Add the patterns worth most at the linear program's prices until none is worth adding.

    Stops early when the bound reaches `enough`, the cost of a plan already known, and at the
    deadline with the bound reached by then.
    """
    known = dict.fromkeys(start)
    bound, proof = Fraction(0), tuple(0 for _ in problem.sizes)
    cells, table = 0, len(problem.sizes) * max(kind.capacity for kind in problem.kinds)
    while cells < MOST_CELLS:
        found = prices(problem, tuple(known), until)
        if found is None:
            break
        unit = problem.grid * SCALE
        by_size = tuple(int(price * unit) for price in found.sizes)
        filled = _filled(problem, by_size)
        reached = lower_bound(problem, by_size, _best(problem, filled))
        if reached > bound:
            bound, proof = reached, by_size
        saved = [int(value * unit) for value in found.kinds]
        added = [p for p in _worthwhile(problem, by_size, saved, filled) if p not in known]
        known.update(dict.fromkeys(added))
        cells += table * (1 + len(added))
        if not added or bound > enough - problem.grid:
            break
    return _proven(problem, tuple(known), proof)


def _proven(problem: Problem, patterns: tuple[Pattern, ...], by_size: Sequence[int]) -> Root:
    """The root with prices shrunk so that no pattern is worth more than it costs."""
    by_size = shrunk(problem, by_size, _best(problem, _filled(problem, by_size)))
    best = _best(problem, _filled(problem, by_size))
    return Root(patterns, lower_bound(problem, by_size, best), tuple(by_size))


def length_bound(problem: Problem, most: int) -> int:
    """The least cost of stock that is long enough, each piece of it filled as full as can be."""
    best = _best(problem, _filled(problem, problem.sizes))
    return whole_bound(problem, problem.sizes, best, most)


def root_bound(problem: Problem, root: Root, most: int) -> int:
    """The bound of the linear program, raised to what whole stock can cost."""
    best = _best(problem, _filled(problem, root.prices))
    steps = ceil(root.bound / problem.grid) * problem.grid
    return max(steps, whole_bound(problem, root.prices, best, most))


def _filled(problem: Problem, by_size: Sequence[int]) -> Knapsack:
    largest = max(kind.capacity for kind in problem.kinds)
    return knapsack(problem.sizes, by_size, problem.demands, largest)


def _best(problem: Problem, filled: Knapsack) -> list[int]:
    return [filled.value(kind.capacity) for kind in problem.kinds]


def _worthwhile(
    problem: Problem, by_size: Sequence[int], saved: Sequence[int], filled: Knapsack
) -> Iterator[Pattern]:
    """The best pattern of every kind, then of the best kind on the pieces not yet used."""
    gains = []
    for k, kind in enumerate(problem.kinds):
        gain = filled.value(kind.capacity) - kind.cost * SCALE - saved[k]
        if gain > WORTHWHILE:
            gains.append((-gain, k))
            yield Pattern(k, filled.counts(kind.capacity))
    if not gains:
        return
    k = min(gains)[1]
    kind, left = problem.kinds[k], list(problem.demands)
    while True:
        counts = filled.counts(kind.capacity)
        left = [n - taken for n, taken in zip(left, counts, strict=True)]
        filled = knapsack(problem.sizes, by_size, left, kind.capacity)
        if filled.value(kind.capacity) - kind.cost * SCALE - saved[k] <= WORTHWHILE:
            return
        yield Pattern(k, filled.counts(kind.capacity))


def every_useful(
    problem: Problem, root: Root, below: int, until: Deadline
) -> tuple[Pattern, ...] | None:
    """Every pattern that a plan cheaper than `below` could use; None when they are too many.

    By weak duality such a plan has no pattern whose cost exceeds its price by more than what lies
    between the bound and the dearest such plan. Patterns with room for one more piece are left
    out: a fuller one covers them. Also None when the deadline passes before all are found.
    """
    slack = (below - problem.grid - root.bound) * SCALE
    found: list[Pattern] = []
    largest = max(kind.capacity for kind in problem.kinds)
    ends = tails(problem.sizes, root.prices, problem.demands, largest)
    steps = 0
    for k in range(len(problem.kinds)):
        for counts in _worth_least(problem, root.prices, ends, k, slack):
            steps += 1
            if counts is not None:
                found.append(Pattern(k, counts))
            if steps > MOST_STEPS or len(found) > MOST_PATTERNS:
                return None
            if steps % STEPS_PER_LOOK == 0 and until.passed:
                return None
    return tuple(found)


def _worth_least(
    problem: Problem, by_size: Sequence[int], ends: Sequence[memoryview], k: int, slack: Fraction
) -> Iterator[tuple[int, ...] | None]:
    """The fillings of a kind that cost no more than their price and the slack; None per step."""
    kind, sizes, limits = problem.kinds[k], problem.sizes, problem.demands
    cost = kind.cost * SCALE
    if kind.count is not None:
        cost = max(cost, ends[0][kind.capacity])
    least = ceil(cost - slack)
    stack: list[tuple[int, int, int, tuple[int, ...]]] = [(0, kind.capacity, 0, ())]
    while stack:
        i, room, value, counts = stack.pop()
        if i == len(sizes):
            yield None if _fits_more(sizes, limits, counts, room) else counts
            continue
        yield None
        for n in range(min(limits[i], room // sizes[i]) + 1):
            left, worth = room - n * sizes[i], value + n * by_size[i]
            if worth + ends[i + 1][left] >= least:
                stack.append((i + 1, left, worth, (*counts, n)))


def _fits_more(
    sizes: Sequence[int], limits: Sequence[int], counts: Sequence[int], room: int
) -> bool:
    return any(
        n < limit and size <= room for size, limit, n in zip(sizes, limits, counts, strict=True)
    )
