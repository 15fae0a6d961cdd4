"""A first plan by best fit: longest piece first, into the opened stock where least is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fuelsys.cutting.problem import Kind, Pattern, Problem

MOST_PREFERRED = 12  # of hose by length, the longest


@dataclass(slots=True)
class _Open:
    kind: int
    room: int
    counts: list[int]


def best_fit(problem: Problem, started: Sequence[Pattern] = ()) -> tuple[list[Pattern], list[int]]:
    """The cheapest plan over each choice of the kind that is opened when nothing fits.

    Returns the patterns and how many of each size they leave uncut.
    """
    unlimited = [k for k, kind in enumerate(problem.kinds) if kind.count is None]
    preferred: list[int | None] = [None, *unlimited[-MOST_PREFERRED:]]
    plans = [_filled(problem, started, prefer) for prefer in preferred]
    return min(plans, key=lambda plan: plan_cost(problem, *plan))


def plan_cost(problem: Problem, patterns: Sequence[Pattern], lacking: Sequence[int]) -> int:
    lack_costs = problem.lack_costs or tuple(0 for _ in lacking)
    stock = sum(problem.kinds[pattern.kind].cost for pattern in patterns)
    return stock + sum(n * cost for n, cost in zip(lacking, lack_costs, strict=True))


def _filled(
    problem: Problem, started: Sequence[Pattern], prefer: int | None
) -> tuple[list[Pattern], list[int]]:
    opened = [
        _Open(p.kind, problem.kinds[p.kind].capacity - problem.used(p), list(p.counts))
        for p in started
    ]
    left = [kind.count for kind in problem.kinds]
    for bin_ in opened:
        _take(left, bin_.kind)
    lacking = [0] * len(problem.sizes)
    for i, (size, demand) in enumerate(zip(problem.sizes, problem.demands, strict=True)):
        placed = sum(pattern.counts[i] for pattern in started)
        for _ in range(demand - placed):
            found = _tightest(opened, size) or _opened(problem, opened, left, size, prefer)
            if found is None:
                lacking[i] += 1
                continue
            found.room -= size
            found.counts[i] += 1
    return [_cheapened(problem, bin_) for bin_ in opened], lacking


def _take(left: list[int | None], kind: int) -> None:
    count = left[kind]
    left[kind] = None if count is None else count - 1


def _tightest(opened: list[_Open], size: int) -> _Open | None:
    fitting = [bin_ for bin_ in opened if bin_.room >= size]
    return min(fitting, key=lambda bin_: bin_.room) if fitting else None


def _opened(
    problem: Problem, opened: list[_Open], left: list[int | None], size: int, prefer: int | None
) -> _Open | None:
    """Open the shortest limited stock that holds the piece, else the preferred kind or a longer."""

    def rank(k: int) -> tuple[bool, bool, int, int]:
        kind = problem.kinds[k]
        return (kind.count is None, k != prefer, kind.cost, kind.capacity)

    able = [k for k, kind in enumerate(problem.kinds) if kind.capacity >= size and left[k] != 0]
    if not able:
        return None
    k = min(able, key=rank)
    _take(left, k)
    opened.append(_Open(k, problem.kinds[k].capacity, [0] * len(problem.sizes)))
    return opened[-1]


def _cheapened(problem: Problem, bin_: _Open) -> Pattern:
    """The same contents from the cheapest unlimited kind that holds them, if that is cheaper."""
    used = problem.kinds[bin_.kind].capacity - bin_.room
    return Pattern(cheapest(problem.kinds, used, bin_.kind), tuple(bin_.counts))


def cheapest(kinds: Sequence[Kind], used: int, own: int) -> int:
    """The kind itself, or an unlimited one that is cheaper and long enough."""
    able = [k for k, kind in enumerate(kinds) if kind.count is None and kind.capacity >= used]
    return min([own, *able], key=lambda k: kinds[k].cost)
