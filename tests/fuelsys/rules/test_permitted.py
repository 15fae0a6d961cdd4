"""Which hose a rule says may be fitted: 40 CFR 1045.112 and 1045.801 where they reach a run."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.graph import build
from fuelsys.rules.base import Permit
from fuelsys.rules.context import DischargeResults
from fuelsys.rules.engine import Run, all_rules
from fuelsys.rules.scope import scopes
from tests.fuelsys.rules.tables import base_boat, set_fact

ON = date(2026, 11, 25)
LABELED = ("A1", "A2", "B1", "B2", "metal")
NEW = {"boat.built": "2015"}
DIESEL = {"engines[E].fuel": "diesel", "tanks[T].fuel": "diesel", "tanks[T2].fuel": "diesel"}
UNDER_COWL = {
    "engines[E].mount": "outboard",
    "compartments[K]": {"kind": "under_cowl"},
    "tanks[T].installed_on": "2015",
    "segments[CARB].compartments": ["K"],
}


def permits(rule_id: str, segment_id: str, facts: dict[str, Any]) -> tuple[Permit, ...]:
    """What one rule lets be fitted at a segment of the inboard."""
    boat = copy.deepcopy(base_boat("inboard"))
    for path, value in facts.items():
        set_fact(boat, path, value)
    graph = build(read_object(boat))
    rows = {row.regime: row for row in scopes(graph.document)}
    run = Run(graph, ON, rows, DischargeResults(graph), all_rules())
    rule = next(rule for rule in all_rules() if rule.id == rule_id)
    assert rule.permits is not None
    return rule.permits(graph.segment(segment_id), run.context(rule))


@pytest.mark.parametrize(
    ("segment", "facts", "offered"),
    [
        ("FEED", NEW, LABELED),
        ("FEED", {"boat.built": "2008-12"}, ()),  # 1060.601(a): made before January 1, 2009
        ("FEED", {"boat.built": None}, LABELED),  # it may reach the run
        ("FEED", {**NEW, **DIESEL}, ()),  # 1060.1(d)
        ("FEED", {**NEW, "segments[FEED].wet_after_fill": False}, LABELED),  # a feed never drains
        ("CARB", {**NEW, **UNDER_COWL}, ()),  # 1045.112(a)(3) has a rule of its own
        ("CARB", {**NEW, **UNDER_COWL, "segments[CARB].compartments": ["K", "ER"]}, LABELED),
    ],
)
def test_labeled_hose_is_offered_where_the_standard_reaches_the_run(
    segment: str, facts: dict[str, Any], offered: tuple[str, ...]
) -> None:
    found = permits("cfr-40-1045-112-a-1", segment, facts)
    assert tuple(permit.hose_class for permit in found) == offered


@pytest.mark.parametrize("segment", ["FILL", "VENT"])
@pytest.mark.parametrize(("wet", "offered"), [(True, LABELED), (None, LABELED), (False, ())])
def test_labeled_hose_is_offered_where_a_fill_or_vent_may_stay_wet(
    segment: str, wet: bool | None, offered: tuple[str, ...]
) -> None:
    facts = {**NEW, f"segments[{segment}].wet_after_fill": wet}
    found = permits("cfr-40-1045-801", segment, facts)
    assert tuple(permit.hose_class for permit in found) == offered


def test_metal_needs_no_label_and_every_hose_does() -> None:
    found = permits("cfr-40-1045-112-a-1", "FEED", NEW)
    assert {p.condition for p in found if p.hose_class != "metal"} == {"EPA label"}
    assert [p.condition for p in found if p.hose_class == "metal"] == [None]


# 33 CFR 183.568(c): hand valves alone guard the line, which bars B1; a diesel is not asked.
BY_HAND = {
    "components[T-W].anti_siphon": "none",
    "components[T-W].opening_head_in": None,
    "components[SO]": {
        "kind": "shutoff_valve",
        "height_in": 7,
        "at_tank_connection": True,
        "operable_from_outside": True,
    },
    "segments[FEED].from": "SO",
    "segments[STUB]": {
        "service": "feed",
        "from": "T-W",
        "to": "SO",
        "length_in": 1,
        "route": [[0, 7], [1, 7]],
        "hose": {"class": "A1", "inside_diameter_in": 0.375},
    },
}


@pytest.mark.parametrize(
    ("facts", "offered"),
    [({}, ["A1", "B1", "metal"]), (BY_HAND, ["A1", "metal"])],
)
def test_b1_is_not_offered_where_hand_valves_alone_guard_the_line(
    facts: dict[str, Any], offered: list[str]
) -> None:
    found = permits("cfr-33-183-558-b", "FEED", facts)
    assert [permit.hose_class for permit in found] == offered


def test_hand_valves_on_a_diesel_bar_no_hose() -> None:
    found = permits("cfr-33-183-558-b", "FEED", {**BY_HAND, **DIESEL})
    assert [permit.hose_class for permit in found] == ["A1", "B1", "metal"]


def test_a_fill_or_vent_is_offered_a1_a2_and_b_by_discharge() -> None:
    for segment in ("FILL", "VENT"):
        found = permits("cfr-33-183-558-b", segment, {})
        assert [(p.hose_class, p.condition) for p in found] == [
            ("A1", None),
            ("A2", None),
            ("B1", "discharge"),
            ("B2", "discharge"),
            ("metal", None),
        ]
