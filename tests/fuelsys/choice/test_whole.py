"""One product for each segment, against a second solver that tries every combination."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import pytest
from hypothesis import find, given, settings
from hypothesis import strategies as st

from fuelsys.choice.whole import (
    COST,
    MOST_CUTS,
    NONE_HOLDS,
    NOT_PROVEN,
    OPTIMAL,
    REELS,
    Chosen,
    Option,
    choose,
)
from tests.fuelsys.choice.brute import best

OBJECTIVES = (COST, REELS)
Pair = frozenset[tuple[str, str]]
Solver = Callable[["Case"], Chosen]


@dataclass(frozen=True)
class Case:
    """Offers, what a reel costs once, and pairs of picks that do not hold together."""

    options: tuple[Option, ...]
    objective: str
    fixed: Mapping[str, int]
    apart: tuple[Pair, ...]

    def failing(self, picks: Mapping[str, str]) -> list[str]:
        held = set(picks.items())
        return sorted({segment for pair in self.apart if pair <= held for segment, _ in pair})


@st.composite
def cases(draw: st.DrawFn) -> Case:
    options = []
    for number in range(draw(st.integers(1, 4))):
        products = draw(st.sets(st.sampled_from("ABCD"), min_size=1, max_size=3))
        # Few different costs, so that equals are common.
        options += [Option(f"S{number}", p, draw(st.integers(0, 6))) for p in sorted(products)]
    picks = st.sampled_from([(each.segment, each.product) for each in options])
    apart = draw(st.lists(st.frozensets(picks, min_size=1, max_size=2), max_size=3))
    fixed = draw(st.dictionaries(st.sampled_from("ABCD"), st.integers(0, 4)))
    shuffled = draw(st.permutations(options))
    return Case(tuple(shuffled), draw(st.sampled_from(OBJECTIVES)), fixed, tuple(apart))


def exact(case: Case) -> Chosen:
    return choose(case.options, objective=case.objective, fixed=case.fixed, holds=case.failing)


def agrees(solver: Solver, case: Case) -> bool:
    """Whether a solver's answer is the one that trying everything comes to."""
    found = solver(case)
    expected = best(case.options, case.objective, case.fixed, case.failing)
    if expected is None:
        return found.picks is None and found.proof == NONE_HOLDS
    return (found.picks, found.cents, found.proof) == (*expected, OPTIMAL)


@given(cases())
@settings(max_examples=150, deadline=None)
def test_no_combination_is_better(case: Case) -> None:
    assert agrees(exact, case)


def without_cuts(case: Case) -> Chosen:
    return exact(replace(case, apart=()))


def one_by_one(case: Case) -> Chosen:
    """The cheapest on each segment by itself: blind to what a reel costs and to fewer reels."""
    cheapest: dict[str, Option] = {}
    for each in sorted(case.options, key=lambda each: (each.cents, each.product)):
        cheapest.setdefault(each.segment, each)
    return choose(cheapest.values(), objective=case.objective, fixed=case.fixed, holds=case.failing)


def in_order_given(case: Case) -> Chosen:
    """Takes the last of equals instead of the first by name."""
    other = {"A": "D", "B": "C", "C": "B", "D": "A"}
    renamed = tuple(replace(each, product=other[each.product]) for each in case.options)
    fixed = {other[name]: cents for name, cents in case.fixed.items()}
    found = choose(renamed, objective=case.objective, fixed=fixed)
    picks = None if found.picks is None else tuple((s, other[p]) for s, p in found.picks)
    return replace(found, picks=picks)


@pytest.mark.parametrize("faulty", [without_cuts, one_by_one, in_order_given])
def test_twin_a_faulty_solver_is_found_by_the_same_check(faulty: Solver) -> None:
    found = find(
        cases(), lambda case: not agrees(faulty, case), settings=settings(max_examples=2000)
    )
    assert agrees(exact, found)


@given(cases(), st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_neither_order_nor_repetition_changes_the_answer(case: Case, chance: object) -> None:
    turned = replace(case, options=case.options[::-1])
    assert repr(exact(case)) == repr(exact(turned)) == repr(exact(case))


def test_a_reel_paid_once_is_shared() -> None:
    """By hand: A on both is 10 + 10 + 3 = 23; the cheaper B on S2 is 10 + 9 + 3 + 3 = 25."""
    offers = [Option("S1", "A", 10), Option("S2", "A", 10), Option("S2", "B", 9)]
    assert choose(offers).by_segment == {"S1": "A", "S2": "B"}
    assert choose(offers, fixed={"A": 3, "B": 3}).by_segment == {"S1": "A", "S2": "A"}
    assert choose(offers, fixed={"A": 3, "B": 3}).cents == 23


def test_many_segments_are_ranked_by_name_over_every_stretch() -> None:
    """Twenty-four equals to choose from for each of 24 segments: more than one stretch."""
    names = [f"P{number:02}" for number in range(24)]
    offers = [Option(f"S{number:02}", name, 5) for number in range(24) for name in names]
    assert set(choose(offers).by_segment.values()) == {"P00"}


def test_nothing_holds_is_proven_and_names_who_failed() -> None:
    offers = [Option("S1", "A", 1), Option("S2", "A", 1), Option("S2", "B", 1)]
    found = choose(offers, holds=lambda picks: ["S2"])
    assert (found.picks, found.proof, found.cut, found.failed) == (None, NONE_HOLDS, 2, ("S2",))


def test_a_search_that_is_stopped_says_so() -> None:
    offers = [Option(f"S{n}", p, 1) for n in range(8) for p in "AB"]
    found = choose(offers, holds=lambda picks: ["S0"])
    assert (found.picks, found.proof, found.cut) == (None, NOT_PROVEN, MOST_CUTS + 1)


def test_no_segment_at_all_costs_nothing() -> None:
    assert choose([]) == Chosen((), 0, (), OPTIMAL)


@pytest.mark.parametrize(
    ("offers", "said"),
    [
        ([Option("S", "A", -1)], "negative"),
        ([Option("S", "A", 1), Option("S", "A", 2)], "twice"),
    ],
)
def test_bad_input_is_refused(offers: list[Option], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        choose(offers)


def test_an_unknown_objective_is_refused() -> None:
    with pytest.raises(ValueError, match="not known"):
        choose([Option("S", "A", 1)], objective="margin")
