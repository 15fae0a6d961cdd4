"""Facts by path, without a database."""

from __future__ import annotations

import copy
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from shop.services.facts import PathError, fact_edit, fact_get, fact_undo_edit, plain, steps

FACTS: dict[str, Any] = {
    "length_in": 78,
    "hose": {"class": "A2", "inside_diameter_in": "3/8"},
    "to_end": {"clamps": [{"kind": "ear"}, {"kind": "tie", "band_width_in": 0.3}]},
    "permeation_g_day": 3,
}


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("length_in", 78),
        ("hose.inside_diameter_in", "3/8"),
        ("to_end.clamps[1].band_width_in", 0.3),
        ("to_end.clamps[2].kind", None),
        ("from_end.shape", None),
        ("length_in.deeper", None),
    ],
)
def test_get(key: str, value: object) -> None:
    assert fact_get(FACTS, key) == value


EDITS = [
    # Same unit, other unit, new fact, new object around it, fact removed, item, whole list.
    ("length_in", 80, "length_in", 78),
    ("length_mm", 2000, "length_in", 78),
    ("hose.inside_diameter_mm", 9.5, "hose.inside_diameter_in", "3/8"),
    ("permeation_g_day", 4, "permeation_g_day", 3),
    ("wet_after_fill", False, "wet_after_fill", None),
    ("metal_line.wall_in", 0.03, "metal_line.wall_in", None),
    ("hose.class", None, "hose.class", "A2"),
    ("to_end.clamps[0].kind", "spring", "to_end.clamps[0].kind", "ear"),
    ("to_end.clamps[2]", {"kind": "ear"}, "to_end.clamps[2]", None),
    ("to_end.clamps", [], "to_end.clamps", FACTS["to_end"]["clamps"]),
    ("from_end.clamps", [{"kind": "ear"}], "from_end.clamps", None),
]


@pytest.mark.parametrize(("key", "value", "old_key", "old"), EDITS)
def test_an_edit_and_its_undo(key: str, value: object, old_key: str, old: object) -> None:
    facts = copy.deepcopy(FACTS)
    done = fact_edit(facts, key, value)
    assert (done.previous_key, done.previous) == (old_key, old)
    assert fact_get(facts, key) == value
    if old_key != key:
        assert fact_get(facts, old_key) is None
    fact_undo_edit(facts, done.key, done.previous_key, done.previous)
    assert facts == FACTS


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("to_end.clamps[5]", {}),
        ("from_end.clamps[0].kind", "ear"),
        ("length_in.deeper", 1),
        ("to_end.clamps.kind", "ear"),
        ("hose[0]", 1),
        ("to_end.clamps[0]", None),
        ("", 1),
        ("Hose", 1),
        ("hose..class", 1),
        ("__class__", 1),
    ],
)
def test_a_path_that_leads_nowhere_changes_nothing(key: str, value: object) -> None:
    facts = copy.deepcopy(FACTS)
    with pytest.raises(PathError, match="“"):
        fact_edit(facts, key, value)
    facts.pop("from_end", None)  # an object on the way may have been made
    assert facts == FACTS


def test_steps() -> None:
    assert steps("route[2][1]") == ["route", 2, 1]


def test_exact_numbers_become_the_numbers_of_json() -> None:
    typed = {"a": Decimal("23.50"), "b": [Fraction(3, 1)], "c": "1-1/2", "d": True}
    assert plain(typed) == {"a": 23.5, "b": [3], "c": "1-1/2", "d": True}
    assert type(plain(Decimal("2.0"))) is int
