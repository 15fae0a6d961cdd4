"""The work that an evaluation takes, counted: calls, not seconds.

What is asked of every run of a long line must not walk the whole line each time.
"""

from __future__ import annotations

import gc
from collections.abc import Callable
from datetime import date
from types import ModuleType
from typing import Any

import pytest

from fuelsys.document import Document, read_object
from fuelsys.evaluation import evaluate, figures_bend
from fuelsys.graph import build
from fuelsys.hydraulics import discharge, sides, worst
from fuelsys.hydraulics.cuts import Half, Section
from fuelsys.rules import engine, fuel, practice_hose, siphon
from fuelsys.rules.base import Finding
from fuelsys.rules.parts import subjects_in_order
from fuelsys.text import Text
from tests.fuelsys.big import feed_chain, forty_segments

ON = date(2026, 11, 25)

Counter = Callable[[ModuleType | type, str], list[tuple[Any, ...]]]


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Counter:
    """Puts a counting function in place of one; the list holds the arguments of each call."""

    def counted(owner: ModuleType | type, name: str) -> list[tuple[Any, ...]]:
        work, made = getattr(owner, name), []

        def counting(*args: Any, **kwargs: Any) -> Any:
            made.append(args)
            return work(*args, **kwargs)

        monkeypatch.setattr(owner, name, counting)
        return made

    return counted


@pytest.fixture(scope="module")
def forty() -> Document:
    return read_object(forty_segments())


def chain(runs: int) -> Document:
    return read_object(feed_chain(runs))


def test_the_large_document_has_forty_segments_and_every_line(forty: Document) -> None:
    assert len(forty.segments) == 40
    assert len(forty.tanks) == 2
    # Four feeds with two branches each, and one engine that either tank feeds.
    assert len(build(forty).lines) == 4 * 2 + 2


@pytest.mark.parametrize("runs", [5, 40])
def test_a_line_is_walked_once_to_tell_its_fuel(runs: int, calls: Counter) -> None:
    walks = calls(fuel, "_walk")
    evaluate(chain(runs), on=ON)
    assert len(walks) == 1


def test_each_run_of_segments_is_walked_once_to_tell_its_fuel(
    forty: Document, calls: Counter
) -> None:
    walks = calls(fuel, "_walk")
    evaluate(forty, on=ON)
    # Two fills, two vents, four feeds, and the feed with its pressure side and its returns.
    assert len(walks) == 9


def test_the_ways_to_keep_a_line_from_siphoning_are_worked_out_once(
    forty: Document, calls: Counter
) -> None:
    worked = calls(siphon, "_alternatives")
    evaluate(forty, on=ON)
    assert len(worked) == len(build(forty).lines)


def test_the_regimes_that_reach_a_boat_are_asked_once_for_all_its_hoses(
    forty: Document, calls: Counter
) -> None:
    asked = calls(practice_hose, "scopes")
    evaluate(forty, on=ON)
    assert len(asked) == 1


@pytest.mark.parametrize("runs", [5, 40])
def test_each_run_is_cut_once_and_both_its_sides_walked_once(runs: int, calls: Counter) -> None:
    walks = calls(sides, "outward")
    evaluate(chain(runs), on=ON)
    assert len(walks) == 2 * runs


@pytest.mark.parametrize("runs", [5, 40])
def test_what_a_run_holds_is_worked_out_once_from_either_end(runs: int, calls: Counter) -> None:
    worked = calls(sides, "stretches")
    evaluate(chain(runs), on=ON)
    # The first run is never beyond a cut on its engine's side, nor the last on its tank's.
    assert len(worked) == 2 * (runs - 1)


def test_a_place_is_computed_once_for_each_side_of_it(forty: Document, calls: Counter) -> None:
    stands = calls(Half, "_stand")
    flows = calls(Half, "_flow")
    evaluate(forty, on=ON)
    places = [(id(half), at, height) for half, at, height, _ in stands]
    assert len(places) == len(set(places)) > 0
    flowing = [(id(half), length, height) for half, _, height, length, *_ in flows]
    assert len(flowing) == len(set(flowing)) > 0


def test_no_reading_turns_a_fact_around_that_it_never_meets(calls: Counter) -> None:
    data = forty_segments()
    for part in data["components"]:
        for fact in ("opening_head_in", "check_valve", "contents_ml"):
            part.pop(fact, None)
    answers = calls(discharge, "_answer")
    evaluate(read_object(data), on=ON)
    turned = [reading for _, _, reading in answers if reading._flipped]
    assert len(turned) > 100
    assert all(reading._flipped <= reading.asked.keys() for reading in turned)


def test_the_turns_of_a_run_are_found_once_for_both_its_ends(
    forty: Document, calls: Counter
) -> None:
    found = calls(figures_bend, "_turns")
    evaluate(forty, on=ON)
    runs = {id(run) for (run,) in found}
    assert len(found) == len(runs) > 30  # all but a few that rise more than they are long


@pytest.mark.parametrize("runs", [10, 40, 80])
def test_a_longer_line_adds_few_places_to_each_of_its_cuts(runs: int, calls: Counter) -> None:
    stands = calls(Half, "_stand")
    evaluate(chain(runs), on=ON)
    # New heights bend a cut's curve only while they are the highest so far: about log n of them.
    assert len(stands) < 50 * runs


def test_gates_are_asked_once_of_each_part(forty: Document, calls: Counter) -> None:
    asked = calls(engine.Run, "_gate_of")
    evaluate(forty, on=ON)
    parts = [(regime, id(part)) for _, regime, part, _ in asked]
    assert len(parts) == len(set(parts)) > 0


def test_a_sentence_is_put_together_only_when_it_is_read(forty: Document, calls: Counter) -> None:
    put = calls(Text, "render")
    found = evaluate(forty, on=ON)
    # Only what two lines through one segment both say is compared.
    assert len(put) < len(found.findings) / 5
    found.to_json()
    assert len(put) > len(found.findings)


def test_findings_stand_in_order_and_none_twice(forty: Document) -> None:
    found = evaluate(forty, on=ON).findings
    subjects = list(subjects_in_order(forty))

    def place(f: Finding) -> tuple[int, str, str, int, int]:
        side = {None: 0, "from": 1, "to": 2}[f.end]
        clamp = -1 if f.clamp is None else f.clamp
        return (subjects.index(f.subject), f.rule, f.regime, side, clamp)

    assert list(found) == sorted(found, key=place)
    said = {(place(f), f.outcome, f.citation, f.missing, str(f.message)) for f in found}
    assert len(said) == len(found) > 1000


def test_a_section_without_flow_is_looked_at_only_near_its_worst(
    forty: Document, calls: Counter, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = calls(worst._Search, "take")
    evaluate(forty, on=ON)
    few = len(taken)
    monkeypatch.setattr(Section, "stays_still", False)
    evaluate(forty, on=ON)
    assert 0 < few < 0.9 * (len(taken) - few)


def test_an_evaluation_leaves_nothing_that_only_the_collector_can_free(forty: Document) -> None:
    evaluate(forty, on=ON)
    gc.collect()
    gc.disable()
    try:
        evaluate(forty, on=ON)
        assert gc.collect() == 0
    finally:
        gc.enable()
