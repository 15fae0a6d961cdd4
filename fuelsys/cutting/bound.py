"""What no plan can cost less than, from any prices of the pieces: exact in integers.

Prices of the sizes (the duals of the linear program, floored to integers) value every pattern. If
no pattern of bought stock is worth more than its cost, the prices of all pieces together bound
every plan; where one is worth more, all prices are shrunk until none is (Farley, 1990). A piece
of limited stock that holds more than its cost lowers the bound by the difference, once for each
there is.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from fuelsys.cutting.problem import Problem

SCALE = 1 << 24  # integer steps to one unit of cost


def lower_bound(problem: Problem, prices: Sequence[int], best: Sequence[int]) -> Fraction:
    """The bound that prices give, in the unit of cost.

    Parameters
    ----------
    problem : Problem
    prices : sequence of int
        Of one piece of each size, 0 or more, in `SCALE` steps to the unit of cost.
    best : sequence of int
        The largest price that any filling of each kind reaches.

    Returns
    -------
    Fraction
        No plan costs less.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Any prices: bad ones give a low bound, never a wrong one.

    Source
    ------
    A. A. Farley, "A note on bounding a class of linear programming problems, including cutting
    stock problems", Operations Research 38 (1990) 922-923; weak duality for limited stock.

    Examples
    --------
    Three pieces of 6 from stock of 10 at 1: one to a piece of stock.

    >>> from fuelsys.cutting.problem import Kind
    >>> lower_bound(Problem((6,), (3,), (Kind(10, 1),)), [SCALE], [SCALE])
    Fraction(3, 1)
    """
    shrink = _shrink(problem, prices, best)
    total = shrink * sum(n * price for n, price in zip(problem.demands, prices, strict=True))
    for kind, value, most in zip(problem.kinds, best, problem.most, strict=True):
        if kind.count is not None:
            total += most * min(Fraction(0), kind.cost * SCALE - shrink * value)
    return total / SCALE


def shrunk(problem: Problem, prices: Sequence[int], best: Sequence[int]) -> tuple[int, ...]:
    """The prices at which no pattern of bought stock is worth more than it costs, floored."""
    factor = _shrink(problem, prices, best)
    return tuple(floor(price * factor) for price in prices)


def _shrink(problem: Problem, prices: Sequence[int], best: Sequence[int]) -> Fraction:
    pairs = [
        (kind.cost, value)
        for kind, value in zip(problem.kinds, best, strict=True)
        if kind.count is None
    ]
    pairs += list(zip(problem.lack_costs or (), prices, strict=False))
    return min(
        (Fraction(cost * SCALE, value) for cost, value in pairs if value > cost * SCALE),
        default=Fraction(1),
    )


def whole_bound(problem: Problem, prices: Sequence[int], best: Sequence[int], most: int) -> int:
    """The least cost of whole stock worth the price of all pieces, whatever the prices are.

    Parameters
    ----------
    problem : Problem
    prices : sequence of int
        Of one piece of each size, 0 or more, on any scale: lengths serve as well as duals.
    best : sequence of int
        The largest price that any filling of each kind reaches.
    most : int
        A cost at which the search may stop, such as that of a known plan.

    Returns
    -------
    int
        No plan costs less; `most` at the highest, 0 where the search would be too long.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Any prices; limited stock must cost nothing, as what is on hand does.

    Source
    ------
    A surrogate of all covering rows: a covering knapsack over the kinds, by dynamic programming.

    Examples
    --------
    40 ft from coils of 25 ft at 95 and 100 ft at 340. The share of a long coil would be 136:

    >>> from fuelsys.cutting.problem import Kind
    >>> coils = Problem((5,), (8,), (Kind(25, 95), Kind(100, 340)))
    >>> whole_bound(coils, [5], [25, 40], 1000)
    190
    """
    asked = sum(n * price for n, price in zip(problem.demands, prices, strict=True))
    worth: dict[int, int] = {}
    for kind, value, count in zip(problem.kinds, best, problem.most, strict=True):
        if kind.count is not None:
            asked -= count * value
        else:
            _raise(worth, kind.cost // problem.grid, value)
    for cost, price in zip(problem.lack_costs or (), prices, strict=False):
        _raise(worth, cost // problem.grid, price)
    if asked <= 0 or 0 in worth or most // problem.grid * len(worth) > MOST_SUMS:
        return 0
    return _covering(worth, asked, most // problem.grid) * problem.grid


MOST_SUMS = 1_000_000


def _raise(worth: dict[int, int], cost: int, value: int) -> None:
    worth[cost] = max(value, worth.get(cost, 0))


def _covering(worth: dict[int, int], asked: int, most: int) -> int:
    """The least cost up to `most` whose stock is worth what is asked."""
    reached = [0]
    while reached[-1] < asked and len(reached) <= most:
        spent = len(reached)
        held = [reached[spent - cost] + value for cost, value in worth.items() if cost <= spent]
        reached.append(max(reached[-1], *held) if held else reached[-1])
    return len(reached) - 1
