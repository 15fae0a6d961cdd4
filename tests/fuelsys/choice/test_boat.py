"""The whole boat against every combination of every candidate, each evaluated as a document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import Any

import pytest

from fuelsys.choice import Candidate, Judge, boat_choice
from fuelsys.choice import boat as of_boat
from fuelsys.choice.judge import is_lawful
from fuelsys.choice.parts import new_hose
from fuelsys.choice.whole import OPTIMAL, Chosen, Option, choose
from fuelsys.evaluation import evaluate
from tests.fuelsys.choice.boats import ON, by_shutoffs, judge_of, part_of, run_of, second_helping

Data = dict[str, Any]
# Invented, in cents a foot run: B1 is the cheaper hose, A1 the one that serves everywhere.
CENTS = {"A1": 660, "A2": 500, "B1": 395, "NONE": 100}


def candidates(judge: Judge, idents: Iterable[str], marks: Iterable[str]) -> list[Candidate]:
    return [
        Candidate(
            new_hose(judge.segment(ident), mark, label=True, helix=True, year=2026, bends=True),
            f"H-{mark}",
            CENTS[mark] + 7 * place,
        )
        for place, ident in enumerate(idents)
        for mark in marks
    ]


def every_choice(judge: Judge, held: list[Candidate]) -> Iterator[tuple[int, int, dict[str, str]]]:
    """Reels, cents and picks of each combination that holds, by evaluation alone."""
    own: dict[str, list[Candidate]] = {}
    for each in held:
        own.setdefault(each.segment.id, []).append(each)
    base = judge.document
    for combination in product(*own.values()):
        put = {each.segment.id: each.segment for each in combination}
        segments = tuple(put.get(each.id, each) for each in base.segments)
        told = evaluate(replace(base, segments=segments), on=ON)
        if all(is_lawful(told, ident) for ident in put):
            picks = {each.segment.id: each.product for each in combination}
            cents = sum(each.cents or 0 for each in combination)
            yield len(set(picks.values())), cents, picks


def by_hand(data: Data, idents: tuple[str, ...], marks: tuple[str, ...]) -> tuple[Any, Any]:
    judge = judge_of(data)
    found = list(every_choice(judge, candidates(judge, idents, marks)))
    least = min(found, key=lambda each: (each[1], sorted(each[2].items())))
    fewest = min(found, key=lambda each: (each[0], each[1], sorted(each[2].items())))
    return least, fewest


def with_valve() -> Data:
    data = by_shutoffs("spring_valve")
    part_of(data, "P")["opening_head_in"] = 20
    part_of(data, "FLT")["contents_ml"] = 0
    run_of(data, "S2").update(length_in=20, route=[[0, 4], [20, 14]])
    run_of(data, "S1").update(length_in=40, route=[[0, 9], [40, 4]])
    return data


BOATS = [
    (second_helping("proposed"), ("S3", "S4", "S7"), ("A1", "B1", "NONE")),
    (by_shutoffs(), ("S1", "S2"), ("A1", "A2", "B1")),
    (with_valve(), ("S1", "S2"), ("A1", "A2", "B1")),
]


@pytest.mark.parametrize(("data", "idents", "marks"), BOATS)
def test_no_combination_that_holds_is_better(
    data: Data, idents: tuple[str, ...], marks: tuple[str, ...]
) -> None:
    judge = judge_of(data)
    told = boat_choice(judge, candidates(judge, idents, marks))
    least, fewest = by_hand(data, idents, marks)
    assert (told.least_cost.cents, told.least_cost.by_segment) == (least[1], least[2])
    assert told.fewest.proof == told.least_cost.proof == OPTIMAL
    assert (len(told.fewest.products), told.fewest.cents) == fewest[:2]
    assert told.fewest.by_segment == fewest[2]


def test_type_b_is_taken_where_the_rule_lets_it() -> None:
    """By the figure of the cut: under five ounces B1 may serve, 33 CFR 183.558(b)(2)(ii)."""
    judge = judge_of(second_helping("proposed"))
    told = boat_choice(judge, candidates(judge, ("S3", "S7"), ("A1", "B1")))
    assert told.least_cost.by_segment == {"S3": "H-A1", "S7": "H-B1"}
    assert told.fewest.by_segment == {"S3": "H-A1", "S7": "H-A1"}


def test_with_shutoffs_alone_the_cheap_hose_is_never_taken_by_both() -> None:
    """33 CFR 183.568(c), whatever stands on the other run: found so by the document alone."""
    data = by_shutoffs()
    for ident in ("S1", "S2"):
        run_of(data, ident)["hose"]["class"] = "B1"
    judge = judge_of(data)
    told = boat_choice(judge, candidates(judge, ("S1", "S2"), ("A1", "B1")))
    assert told.least_cost.by_segment == {"S1": "H-A1", "S2": "H-A1"}
    assert [len(each.lawful) for each in told.segments] == [1, 1]


def bent(candidate: Candidate, measured_in: int | None = None) -> Candidate:
    hose = candidate.segment.hose
    assert hose is not None
    radius = None if measured_in is None else Fraction(measured_in * 254, 10_000)
    hose = replace(hose, minimum_bend_radius_m=Fraction(762, 10_000), smallest_bend_radius_m=radius)
    return replace(candidate, segment=replace(candidate.segment, hose=hose))


def test_a_bend_is_asked_of_the_work_and_held_against_hose_that_is_laid() -> None:
    """A least radius of 3 in: nothing to measure before it is laid, too tight where it is."""
    judge = judge_of(second_helping("proposed"))
    (plain,) = candidates(judge, ("S3",), ("A1",))
    lawful = [
        boat_choice(judge, [bent(plain, measured_in)]).segments[0].is_chosen
        for measured_in in (None, 3, 2)
    ]
    assert lawful == [True, True, False]


def test_a_segment_without_a_lawful_product_says_why_and_the_rest_is_chosen() -> None:
    judge = judge_of(second_helping())
    told = boat_choice(judge, candidates(judge, ("S3", "S6"), ("A1", "B1")))
    by_id = {each.segment: each for each in told.segments}
    assert told.least_cost.by_segment == {"S3": "H-A1"}
    assert by_id["S3"].remedies is None
    remedies = by_id["S6"].remedies
    assert remedies is not None
    assert "anti-siphon valve at T1-G" in str(remedies.text)
    assert all(each.findings for each in by_id["S6"].tried)


def test_a_product_without_a_price_is_not_chosen() -> None:
    judge = judge_of(second_helping("proposed"))
    held = [replace(each, cents=None) for each in candidates(judge, ("S7",), ("B1",))]
    told = boat_choice(judge, [*held, *candidates(judge, ("S7",), ("A1",))])
    assert told.least_cost.by_segment == {"S7": "H-A1"}
    assert not boat_choice(judge, held).segments[0].is_chosen


def test_neither_order_nor_repetition_changes_a_byte() -> None:
    data = second_helping("proposed")
    held = candidates(judge_of(data), ("S3", "S4", "S7"), ("A1", "B1"))
    told = [boat_choice(judge_of(data), order) for order in (held, held[::-1], held)]
    assert len({repr((each.least_cost, each.fewest, each.segments)) for each in told}) == 1


def test_a_choice_that_does_not_hold_as_a_whole_is_solved_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A rule that lets B1 stand on one run only, put into the check of the whole."""
    failing = of_boat.failing

    def once_only(judge: Judge, segments: Any) -> tuple[str, ...]:
        marks = [each.hose.mark for each in segments if each.hose]
        return failing(judge, segments) or (("S7",) if marks.count("B1") > 1 else ())

    monkeypatch.setattr(of_boat, "failing", once_only)
    judge = judge_of(with_valve())
    told = boat_choice(judge, candidates(judge, ("S1", "S2"), ("A1", "B1")))
    plain = [mark for mark in told.least_cost.by_segment.values() if mark == "H-B1"]
    assert len(plain) == 1
    assert told.least_cost.cut == 1


def test_twin_without_the_check_of_the_whole_that_choice_would_stand() -> None:
    judge = judge_of(with_valve())
    held = candidates(judge, ("S1", "S2"), ("A1", "B1"))
    options = [Option(each.segment.id, each.product, each.cents or 0) for each in held]
    found: Chosen = choose(options)
    assert found.by_segment == {"S1": "H-B1", "S2": "H-B1"}
