"""What a finding says where facts lack or contradict each other."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate
from fuelsys.rules.base import Finding
from tests.fuelsys.rules.tables import base_boat, set_fact

ON = date(2026, 11, 25)
FUELS = ("engines[E].fuel", "tanks[T].fuel")
GENERATOR = {"mount": "inboard", "fuel": "gasoline", "use": "generator", "compartment": "ER"}


def finding(rule: str, subject: str, facts: dict[str, Any]) -> Finding:
    document = copy.deepcopy(base_boat("inboard"))
    for path, value in facts.items():
        set_fact(document, path, value)
    found = evaluate(read_object(document), on=ON).findings_of(subject)
    return next(each for each in found if each.rule == rule)


DISPUTED = {"engines[E].fuel": "diesel", "engines[G]": GENERATOR}


@pytest.mark.parametrize(
    "rule", ["cfr-33-183-501-diesel", "cfr-33-183-568", "cfr-40-1045-112-a-1", "cfr-33-183-558-a"]
)
def test_a_gasoline_tank_that_feeds_a_diesel_is_a_contradiction(rule: str) -> None:
    subject = "CARB" if rule == "cfr-33-183-558-a" else "FEED"
    found = finding(rule, subject, DISPUTED)
    assert found.outcome == "cannot_tell"
    assert str(found.message) == (
        "The facts contradict each other: engines[E].fuel says diesel, tanks[T].fuel says gasoline."
        " One is wrong."
    )
    assert found.missing == FUELS


def test_twin_a_fuel_that_is_not_on_file_is_no_contradiction() -> None:
    facts = dict.fromkeys(FUELS) | {"tanks[T2].fuel": None, "engines[G]": GENERATOR}
    found = finding("cfr-33-183-501-diesel", "FEED", facts)
    assert str(found.message) == "Cannot tell whether this part holds gasoline or diesel."
    assert found.missing == ("tanks[T].fuel",)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"segments[FEED].route": None}, "the run with its heights of FEED is not on file."),
        ({"tanks[T].surface_in": None, "tanks[T].top_in": None}, "of T is not on file"),
        ({"segments[FEED].hose.inside_diameter_in": None}, "the bore of FEED is not on file."),
        ({"components[T-W].opening_head_in": None}, "the valve's opening head is not on file."),
    ],
)
def test_a_cut_that_cannot_be_told_names_the_fact(facts: dict[str, Any], said: str) -> None:
    given = {"segments[FEED].hose.class": "B1", **facts}
    found = finding("cfr-33-183-558-b", "FEED", given)
    assert found.outcome == "cannot_tell"
    assert said in str(found.message)


def test_several_facts_are_counted() -> None:
    facts = {"segments[FEED].hose.class": "B1", "segments[FEED].length_in": 200}
    facts |= {"segments[FEED].hose.inside_diameter_in": None, "segments[FEED].route": None}
    found = finding("cfr-33-183-558-b", "FEED", facts)
    assert len(found.missing) == 2
    assert str(found.message).endswith("is not on file, and 1 more.")


@pytest.mark.parametrize(
    ("condition", "seen", "outcome", "said"),
    [
        ("not_seen", ["hardened"], "review", "It is hard"),
        ("good", ["chalked", "cracked"], "fail", "It is cracked."),
        ("watch", ["chalked"], "pass", "In order today."),
        ("replace_now", ["cracked"], "fail", "It is cracked. Graded: replace it before use."),
    ],
)
def test_a_condition_is_told_by_what_is_worst(
    condition: str, seen: list[str], outcome: str, said: str
) -> None:
    facts = {"segments[FEED].hose.condition": condition, "segments[FEED].hose.observations": seen}
    found = finding("practice-hose-condition", "FEED", facts)
    assert found.outcome == outcome
    assert str(found.message).startswith(said)


def test_the_first_low_place_of_a_vent_is_told() -> None:
    # Two dips, at 20 in under rims of 30 in, and at 32 in under rims of 36 in.
    route = [[0, 7], [10, 30], [20, 20], [30, 38], [34, 32], [48, 36]]
    found = finding("practice-vent-drains", "VENT", {"segments[VENT].route": route})
    assert str(found.message) == "This vent has a low place that holds fuel up to 30 in."


@pytest.mark.parametrize(("opening_in", "said"), [(8.0, True), (8.8, False)])
def test_a_valve_that_holds_narrowly_is_told_with_what_passes(
    opening_in: float, said: bool
) -> None:
    """7 in of head on it: 87.5 % of 8 in, 79.5 % of 8.8. The outcome stays."""
    found = finding(
        "cfr-33-183-558-b",
        "FEED",
        {"segments[FEED].hose.class": "B1", "components[T-W].opening_head_in": opening_in},
    )
    assert found.outcome == "pass"
    assert str(found.message).startswith("Cut at its worst place, this hose lets ")
    told = "the head uses 87.5% of what opens it: one that closes again" in str(found.message)
    assert told == said
