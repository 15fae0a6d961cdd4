"""From the first plan to the proven one: bound, choice among patterns, then among all useful."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.cutting.deadline import Deadline
from fuelsys.cutting.fill import best_fit, plan_cost
from fuelsys.cutting.fullest import fullest
from fuelsys.cutting.master import Chosen, choose
from fuelsys.cutting.patterns import Root, every_useful, generate, length_bound, root_bound
from fuelsys.cutting.problem import Pattern, Problem, Solved

FIRST_CHOICE_SHARE = 1 / 3  # of what is left, for the choice among the patterns at hand


def solve(problem: Problem, *, until: Deadline, started: Sequence[Pattern] = ()) -> Solved:
    """The least cost of covering every size, proven or with a bound.

    Parameters
    ----------
    problem : Problem
        At least one size and one kind of stock.
    until : Deadline
        When the search has to end: pricing, enumeration and HiGHS stop there, each at most one
        knapsack table or one look of HiGHS at its own clock late.
    started : sequence of Pattern
        Fillings from limited stock that make a first plan possible.

    Returns
    -------
    Solved
        The same patterns on every run that ends before the time does.

    Raises
    ------
    ValueError
        When the stock cannot cover the sizes and none may lack.

    Valid for
    ---------
    Whole numbers. The bound of the linear program is exact; that no better whole-number plan
    exists rests on HiGHS, whose feasibility tolerance is 1e-6.

    Source
    ------
    P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem",
    Operations Research 9 (1961) 849-859; enumeration of the columns that a better plan can use.

    Examples
    --------
    >>> from fuelsys.cutting.problem import Kind
    >>> asked = Problem((7, 6, 3), (1, 2, 2), (Kind(13, 1),))
    >>> found = solve(asked, until=Deadline.after(1.0))
    >>> found.cost, found.bound
    (2, 2)
    """
    patterns, lacking = best_fit(problem, started)
    if any(lacking) and problem.lack_costs is None:
        raise ValueError("The stock cannot hold every piece. Allow pieces to lack, or buy.")
    best = _solved(problem, patterns, lacking, 0)
    best = _raised(best, length_bound(problem, best.cost))
    if best.cost == best.bound:
        return best
    if until.passed:
        return best
    root = generate(problem, patterns, best.cost, until)
    best = _raised(best, root_bound(problem, root, best.cost))
    if best.cost > best.bound and not until.passed:
        plan = fullest(problem, best.bound, until)
        best = _better(best, _solved(problem, *plan, best.bound))
    if best.cost > best.bound and not until.passed:
        first = until.part(FIRST_CHOICE_SHARE)
        found = choose(problem, root.patterns, below=best.cost, until=first)
        best = _chosen(problem, best, found, exact=False)
    if best.cost > best.bound and not until.passed:
        best = _searched(problem, root, best, until)
    return best


def _searched(problem: Problem, root: Root, best: Solved, until: Deadline) -> Solved:
    """Among every pattern that could help; among those at hand where that is too many."""
    useful = every_useful(problem, root, best.cost, until)
    at_hand = tuple(dict.fromkeys((*root.patterns, *best.patterns)))
    found = choose(problem, useful or at_hand, below=best.cost, until=until)
    return _chosen(problem, best, found, exact=useful is not None)


def _solved(
    problem: Problem, patterns: Sequence[Pattern], lacking: Sequence[int], bound: int
) -> Solved:
    cost = plan_cost(problem, patterns, lacking)
    return Solved(tuple(patterns), tuple(lacking), cost, min(bound, cost))


def _raised(best: Solved, bound: int) -> Solved:
    bound = min(best.cost, max(best.bound, bound))
    return Solved(best.patterns, best.lacking, best.cost, bound)


def _better(best: Solved, other: Solved) -> Solved:
    """The cheaper plan with the higher bound."""
    cheap = other if other.cost < best.cost else best
    bound = min(cheap.cost, max(best.bound, other.bound))
    return Solved(cheap.patterns, cheap.lacking, cheap.cost, bound)


def _chosen(problem: Problem, best: Solved, found: Chosen, *, exact: bool) -> Solved:
    """What HiGHS chose, when it fits and is cheaper; its bound only if `exact`."""
    bound = found.bound if exact else 0
    raised = _raised(best, bound)
    if found.patterns is None or not fits(problem, found.patterns):
        return raised
    lacking = uncovered(problem, found.patterns)
    if any(lacking) and problem.lack_costs is None:
        return raised
    return _better(best, _solved(problem, found.patterns, lacking, bound))


def uncovered(problem: Problem, patterns: Sequence[Pattern]) -> tuple[int, ...]:
    """How many of each size the patterns leave uncut."""
    return tuple(
        max(0, demand - sum(pattern.counts[i] for pattern in patterns))
        for i, demand in enumerate(problem.demands)
    )


def fits(problem: Problem, patterns: Sequence[Pattern]) -> bool:
    """Whether the patterns fit their stock and use no more of it than there is."""
    for k, kind in enumerate(problem.kinds):
        own = [pattern for pattern in patterns if pattern.kind == k]
        if kind.count is not None and len(own) > kind.count:
            return False
        if any(problem.used(pattern) > kind.capacity for pattern in own):
            return False
    return True
