"""More plans, stock by stock: each is filled as full as whole pieces can fill it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import gcd

from fuelsys.cutting.deadline import Deadline
from fuelsys.cutting.fill import best_fit, cheapest, plan_cost
from fuelsys.cutting.knapsack import knapsack
from fuelsys.cutting.problem import Pattern, Problem

MOST_PREFERRED = 4  # kinds tried for what is bought, the cheapest for their length
MOST_STRIDES = 4
MOST_CELLS = 1_500_000_000  # of all knapsack tables, roughly a second

Plan = tuple[list[Pattern], list[int]]


def fullest(problem: Problem, enough: int, until: Deadline) -> Plan:
    """The cheapest plan over several orders of what is on hand and kinds of what is bought.

    What is bought is filled around the longest piece left. Stops at a plan that costs `enough`
    or less, and with the first plan that ends after the deadline.
    Returns the patterns and how many of each size they leave uncut.
    """
    unlimited = [k for k, kind in enumerate(problem.kinds) if kind.count is None]
    unlimited.sort(key=lambda k: problem.kinds[k].cost / problem.kinds[k].capacity)
    preferred: list[int | None] = [*unlimited[:MOST_PREFERRED]] or [None]
    best: Plan | None = None
    cells, table = 0, len(problem.sizes) * max(kind.capacity for kind in problem.kinds)
    for order in _orders(problem):
        left = list(problem.demands)
        started = [pattern for k in order if (pattern := _filled(problem, k, left))]
        for k in preferred:
            plan = _bought(problem, started, list(left), k)
            if best is None or plan_cost(problem, *plan) < plan_cost(problem, *best):
                best = plan
            cells += table * max(1, len(plan[0]))
            if plan_cost(problem, *best) <= enough or cells > MOST_CELLS or until.passed:
                return best
    assert best is not None  # there is at least one order and one kind
    return best


def _orders(problem: Problem) -> Iterator[tuple[int, ...]]:
    """What is on hand, shortest first and then from each place on by several strides."""
    limited = [k for k, kind in enumerate(problem.kinds) for _ in range(kind.count or 0)]
    many = len(limited)
    strides = [n for n in range(1, many) if gcd(n, many) == 1][:MOST_STRIDES] or [1]
    rounds = (
        tuple(limited[(start + stride * j) % many] for j in range(many))
        for stride in strides
        for start in range(many)
    )
    yield from dict.fromkeys(rounds) if limited else [()]


def _filled(problem: Problem, k: int, left: list[int], first: int | None = None) -> Pattern | None:
    """Fill one of a kind with what is `left`, which shrinks; `first` is the size that goes in."""
    sizes, room = problem.sizes, problem.kinds[k].capacity
    counts = [0] * len(sizes)
    if first is not None:
        counts[first], room = 1, room - sizes[first]
        left[first] -= 1
    best = knapsack(sizes, sizes, left, room).counts(room)
    for i, n in enumerate(best):
        counts[i] += n
        left[i] -= n
    return Pattern(k, tuple(counts)) if any(counts) else None


def _bought(problem: Problem, started: Sequence[Pattern], left: list[int], k: int | None) -> Plan:
    patterns = list(started)
    while k is not None and any(left):
        room = problem.kinds[k].capacity
        first = next((i for i, n in enumerate(left) if n and problem.sizes[i] <= room), None)
        if first is None:
            break
        filled = _filled(problem, k, left, first)
        if filled is not None:
            own = cheapest(problem.kinds, problem.used(filled), k)
            patterns.append(Pattern(own, filled.counts))
    return best_fit(problem, patterns)
