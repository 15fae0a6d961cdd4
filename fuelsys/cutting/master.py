"""The choice among known patterns by HiGHS: the linear program for prices, and whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite
from typing import Any

from fuelsys.cutting.deadline import Deadline
from fuelsys.cutting.problem import Pattern, Problem

NODES = 20_000  # a stop that does not depend on the machine; the seconds are for slow ones
OUT_OF_TIME = 1  # scipy's status
ROUNDING = 1e-6  # HiGHS returns 49.00000000000009 for 49


@dataclass(frozen=True)
class Prices:
    """Of one piece of each size, and what one more of each kind of limited stock would save."""

    sizes: tuple[float, ...]
    kinds: tuple[float, ...]


@dataclass(frozen=True)
class Chosen:
    """The best whole numbers found, if any, and the least cost HiGHS leaves open."""

    patterns: tuple[Pattern, ...] | None
    bound: int


def prices(problem: Problem, patterns: Sequence[Pattern], until: Deadline) -> Prices | None:
    """Solve the linear program over the patterns and return its prices; None out of time.

    Raises RuntimeError when the patterns cover nothing, which a first plan prevents.
    """
    from scipy.optimize import linprog

    costs, covering, stock, rooms = _program(problem, patterns)
    limited = [k for k, kind in enumerate(problem.kinds) if kind.count is not None]
    rows, right = _stacked(covering, stock), [-float(n) for n in problem.demands] + rooms
    seconds = until.left
    if not seconds:
        return None
    options = {"time_limit": seconds}
    found = linprog(costs, A_ub=rows, b_ub=right, method="highs-ds", options=options)
    if found.status == OUT_OF_TIME:
        return None
    if found.status != 0:
        raise RuntimeError(f"The linear program of the cut list did not solve: {found.message}")
    dual = [-float(value) for value in found.ineqlin.marginals]
    saved = [0.0] * len(problem.kinds)
    for k, value in zip(limited, dual[len(problem.demands) :], strict=True):
        saved[k] = max(0.0, value)
    return Prices(tuple(max(0.0, p) for p in dual[: len(problem.demands)]), tuple(saved))


def choose(
    problem: Problem, patterns: Sequence[Pattern], *, below: int | None, until: Deadline
) -> Chosen:
    """Solve for whole numbers; with `below`, only plans that cost less count.

    Out of time there is no plan and no bound.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    costs, covering, stock, rooms = _program(problem, patterns)
    limits = [LinearConstraint(covering, ub=-np.array(problem.demands, dtype=float))]
    if rooms:
        limits.append(LinearConstraint(stock, ub=np.array(rooms)))
    if below is not None:
        top = below // problem.grid - 1
        limits.append(LinearConstraint(np.array([costs]), ub=float(top)))
    seconds = until.left
    if not seconds:
        return Chosen(None, 0)
    found = milp(
        costs,
        constraints=limits,
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, float(max(problem.demands))),
        options={"time_limit": seconds, "node_limit": NODES, "mip_rel_gap": 0.0},
    )
    if found.status == 2:  # no plan below
        return Chosen(None, below or 0)
    left_open = found.mip_dual_bound
    known = left_open is not None and isfinite(left_open)
    bound = max(0, ceil(left_open - ROUNDING)) * problem.grid if known else 0
    if found.x is None:
        return Chosen(None, bound)
    times = [round(value) for value in found.x]
    chosen = [p for p, n in zip(patterns, times, strict=False) for _ in range(n)]
    return Chosen(tuple(chosen), bound)


def _program(
    problem: Problem, patterns: Sequence[Pattern]
) -> tuple[list[float], Any, Any, list[float]]:
    """Costs in steps of the grid, covering and stock rows, and how many of each limited kind."""
    from scipy.sparse import csc_array

    limited = [k for k, kind in enumerate(problem.kinds) if kind.count is not None]
    row_of = {k: row for row, k in enumerate(limited)}
    costs = [float(problem.kinds[p.kind].cost // problem.grid) for p in patterns]
    lack = problem.lack_costs or ()
    costs += [float(cost // problem.grid) for cost in lack]
    wide = len(costs)
    entries = [
        (-float(n), i, j) for j, p in enumerate(patterns) for i, n in enumerate(p.counts) if n
    ]
    entries += [(-1.0, i, len(patterns) + i) for i in range(len(lack))]
    covering = csc_array(
        ([e[0] for e in entries], ([e[1] for e in entries], [e[2] for e in entries])),
        shape=(len(problem.sizes), wide),
    )
    held = [(row_of[p.kind], j) for j, p in enumerate(patterns) if p.kind in row_of]
    stock = csc_array(
        ([1.0] * len(held), ([row for row, _ in held], [j for _, j in held])),
        shape=(len(limited), wide),
    )
    rooms = [float(problem.most[k]) for k in limited]
    return costs, covering, stock, rooms


def _stacked(covering: Any, stock: Any) -> Any:
    from scipy.sparse import vstack

    return vstack([covering, stock]) if stock.shape[0] else covering
