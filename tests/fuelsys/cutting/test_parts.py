"""The parts of the solver: knapsack, bounds from any prices, lengths in whole units."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelsys.cutting import Coil, piece_units, stock_units
from fuelsys.cutting.bound import SCALE, lower_bound, shrunk, whole_bound
from fuelsys.cutting.deadline import Deadline
from fuelsys.cutting.knapsack import knapsack, tails
from fuelsys.cutting.patterns import every_useful, generate
from fuelsys.cutting.problem import Kind, Pattern, Problem
from tests.fuelsys.cutting.brute import least_cost
from tests.fuelsys.cutting.needs import need

ENDLESS = Deadline(1.0, lambda: 0.0)
ITEMS = st.lists(
    st.tuples(st.integers(1, 12), st.integers(0, 20), st.integers(0, 3)), min_size=1, max_size=4
)


def best_by_trying(items: list[tuple[int, int, int]], capacity: int) -> int:
    fitting = [
        sum(n * value for n, (_, value, _) in zip(counts, items, strict=True))
        for counts in product(*(range(limit + 1) for _, _, limit in items))
        if sum(n * size for n, (size, _, _) in zip(counts, items, strict=True)) <= capacity
    ]
    return max(fitting)


@given(ITEMS, st.integers(0, 30))
@settings(max_examples=200, deadline=None)
def test_knapsack_against_every_choice(items: list[tuple[int, int, int]], capacity: int) -> None:
    sizes, values, limits = (tuple(column) for column in zip(*items, strict=True))
    filled = knapsack(sizes, values, limits, 30)
    assert filled.value(capacity) == best_by_trying(items, capacity)
    counts = filled.counts(capacity)
    assert all(n <= limit for n, limit in zip(counts, limits, strict=True))
    assert sum(n * size for n, size in zip(counts, sizes, strict=True)) <= capacity
    assert sum(n * value for n, value in zip(counts, values, strict=True)) == filled.value(capacity)
    assert tails(sizes, values, limits, 30)[0][capacity] == filled.value(capacity)


def test_knapsack_refuses_a_size_of_nothing() -> None:
    with pytest.raises(ValueError, match="size 0"):
        knapsack([0], [1], [1], 10)


@st.composite
def problems(draw: st.DrawFn) -> tuple[Problem, tuple[int, ...], int]:
    """A small problem, any prices for its sizes, and its least cost by trying."""
    sizes = draw(st.lists(st.integers(3, 40), min_size=1, max_size=4, unique=True))
    sizes.sort(reverse=True)
    demands = [draw(st.integers(1, 2)) for _ in sizes]
    coils = [(40, draw(st.integers(1, 9))), (25, draw(st.integers(1, 9)))]
    hand = draw(st.lists(st.integers(5, 30), max_size=2, unique=True))
    kinds = [Kind(n, 0, 1) for n in sorted(hand)] + [Kind(*coil) for coil in coils]
    lengths = [size for size, n in zip(sizes, demands, strict=True) for _ in range(n)]
    offers = [Coil(str(length), length, Decimal(price)) for length, price in coils]
    least = least_cost(need(lengths, hand, offers))
    assert least is not None
    top = draw(st.sampled_from([SCALE // 3, SCALE, 5 * SCALE]))
    prices = tuple(draw(st.integers(0, top)) for _ in sizes)
    return Problem(tuple(sizes), tuple(demands), tuple(kinds)), prices, int(least)


def best_of(problem: Problem, prices: tuple[int, ...]) -> list[int]:
    filled = knapsack(problem.sizes, prices, problem.demands, 40)
    return [filled.value(kind.capacity) for kind in problem.kinds]


@given(problems())
@settings(max_examples=200, deadline=None)
def test_no_prices_bound_above_the_optimum(case: tuple[Problem, tuple[int, ...], int]) -> None:
    problem, prices, least = case
    best = best_of(problem, prices)
    assert lower_bound(problem, prices, best) <= least
    assert whole_bound(problem, prices, best, 1000) <= least
    assert whole_bound(problem, problem.sizes, best_of(problem, problem.sizes), 1000) <= least
    worth = best_of(problem, shrunk(problem, prices, best))
    bought = [(k, v) for k, v in zip(problem.kinds, worth, strict=True) if k.count is None]
    assert all(value <= kind.cost * SCALE for kind, value in bought)


@given(problems())
@settings(max_examples=60, deadline=None)
def test_the_linear_program_s_bound_holds(case: tuple[Problem, tuple[int, ...], int]) -> None:
    problem, _, least = case
    start = [
        Pattern(len(problem.kinds) - 2, tuple(int(i == j) for j in range(len(problem.sizes))))
        for i in range(len(problem.sizes))
    ]
    assert generate(problem, start, 1000, ENDLESS).bound <= least


def test_every_useful_pattern_is_listed_once_and_full() -> None:
    """Sizes 6 and 4 in stock of 10, two of each: only 6+4 fills it, and 4+4 has no more room."""
    problem = Problem((6, 4), (2, 2), (Kind(10, 1),))
    start = [Pattern(0, (1, 0)), Pattern(0, (0, 1))]
    root = generate(problem, start, 4, ENDLESS)
    assert root.bound == 2
    useful = every_useful(problem, root, below=4, until=ENDLESS)
    assert useful is not None
    assert set(useful) == {Pattern(0, (1, 1)), Pattern(0, (0, 2))}


def test_lengths_round_so_that_no_piece_comes_short() -> None:
    inch = Fraction("0.0254")
    assert piece_units(65 * inch, "in16") == stock_units(65 * inch, "in16") == 1040
    assert piece_units(inch / 10, "in16") == 2  # 1.6 sixteenths
    assert stock_units(inch / 10, "in16") == 1
    assert (piece_units(inch, "mm"), stock_units(inch, "mm")) == (26, 25)


@pytest.mark.parametrize("turn", [piece_units, stock_units])
def test_lengths_that_cannot_be_are_refused(turn: object) -> None:
    assert callable(turn)
    with pytest.raises(ValueError, match="more than 0"):
        turn(Fraction(0), "mm")
    with pytest.raises(ValueError, match="furlong"):
        turn(Fraction(1), "furlong")
