"""The evaluation of a document: keys and order, policy, permitted hose, figures, sameness."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from fuelsys.document import InputProblems, read_object
from fuelsys.evaluation import Evaluation, evaluate
from fuelsys.rules.base import OUTCOMES, REGIMES
from fuelsys.rules.version import RULESET_VERSION
from tests.fuelsys.rules.tables import base_boat, set_fact

ON = date(2026, 11, 25)
DIESEL = {"engines[E].fuel": "diesel", "tanks[T].fuel": "diesel", "tanks[T2].fuel": "diesel"}


def boat(facts: Mapping[str, Any] | None = None) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(json.dumps(base_boat("inboard")))
    for path, value in (facts or {}).items():
        set_fact(document, path, value)
    return document


def judged(facts: Mapping[str, Any] | None = None, *, curves: bool = False) -> Evaluation:
    return evaluate(read_object(boat(facts)), on=ON, curves=curves)


def test_keys_stand_in_the_order_of_the_format() -> None:
    found = judged({"segments[FEED].hose.class": "B2"}, curves=True).to_json()
    assert list(found) == [
        "format",
        "ruleset",
        "scope",
        "segments",
        "others",
        "findings",
        "figures",
    ]
    assert list(found["ruleset"]) == ["version", "on", "document_sha256"]
    assert list(found["scope"][0]) == ["regime", "applies", "reason", "citation", "missing"]
    assert list(found["segments"][0]) == ["id", "outcomes", "permitted", "discharge", "marginal"]
    assert list(found["segments"][0]["outcomes"]) == list(REGIMES)
    assert list(found["segments"][0]["permitted"][0]) == [
        "regime",
        "class",
        "condition",
        "citation",
    ]
    assert list(found["segments"][0]["discharge"]) == [
        "volume_floz",
        "volume_ml",
        "worst_cut_in",
        "tank_side_ml",
        "far_side_ml",
        "state",
        "upper_bound_ml",
        "limit_floz",
        "marginal",
        "assumptions",
    ]
    assert list(found["others"][0]) == ["id", "outcomes"]
    assert list(found["findings"][0]) == [
        "rule",
        "regime",
        "subject",
        "advice",
        "end",
        "clamp",
        "outcome",
        "provisional",
        "citation",
        "force",
        "evidence",
        "message",
        "remedy",
        "measured",
        "limit",
        "missing",
    ]
    assert next(iter(found["figures"])) == "test_pressure"


def test_segments_others_and_findings_stand_in_document_order() -> None:
    found = judged().to_json()
    segments = [segment["id"] for segment in boat()["segments"]]
    assert [segment["id"] for segment in found["segments"]] == segments
    others = ["boat"]
    for key in ("engines", "compartments", "tanks", "components"):
        others += [part["id"] for part in boat()[key]]
    named = [other["id"] for other in found["others"]]
    assert named == [other for other in others if other in named]
    places = {subject: place for place, subject in enumerate([*segments, *others])}
    order = [
        (places[f["subject"]], f["rule"], f["regime"], f["end"] == "to", f["clamp"] or 0)
        for f in found["findings"]
    ]
    assert order == sorted(order)


def test_only_the_five_outcomes_and_a_lacking_fact_is_named() -> None:
    found = judged({"segments[FEED].hose.class": None, "tanks[T].top_in": None})
    for finding in found.findings:
        assert finding.outcome in OUTCOMES
        assert bool(finding.missing) == (finding.outcome == "cannot_tell")


def test_a_boat_in_order_passes_the_law() -> None:
    found = judged()
    assert {s.outcomes["33-cfr-183"] for s in found.segments} == {"pass"}


@pytest.mark.parametrize("fact", ["hose.class", "hose.made", "from_end", "hose.inside_diameter_in"])
def test_no_fact_taken_away_turns_into_a_pass(fact: str) -> None:
    found = judged({f"segments[FEED].{fact}": None})
    assert found.segment("FEED").outcomes["33-cfr-183"] == "cannot_tell"


def test_the_ruleset_names_version_day_and_document() -> None:
    document = read_object(boat())
    found = evaluate(document, on=ON).to_json()["ruleset"]
    assert found == {
        "version": RULESET_VERSION,
        "on": "2026-11-25",
        "document_sha256": document.sha256,
    }


def test_the_same_document_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import json,sys\nfrom datetime import date\nfrom fuelsys.document import read\n"
        "from fuelsys.evaluation import evaluate\n"
        "print(json.dumps(evaluate(read(sys.stdin.read()), on=date(2026, 11, 25),"
        " curves=True).to_json()))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            input=json.dumps(boat()),
            env={"PYTHONHASHSEED": seed},
            cwd=Path(__file__).resolve().parents[2],
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    here = json.dumps(judged(curves=True).to_json())
    assert outputs == {here + "\n"}


def test_figures_have_six_significant_digits() -> None:
    def numbers(value: Any) -> list[float]:
        if isinstance(value, dict):
            return [number for item in value.values() for number in numbers(item)]
        if isinstance(value, list):
            return [number for item in value for number in numbers(item)]
        return [value] if isinstance(value, float) else []

    found = numbers(judged(curves=True).to_json())
    assert found
    assert [number for number in found if float(f"{number:.6g}") != number] == []


def test_an_unknown_rule_in_the_policy_is_bad_input_and_names_the_nearest() -> None:
    with pytest.raises(InputProblems) as refused:
        judged({"policy.practice-five-ounces": "off"})
    (problem,) = refused.value.problems
    assert problem.path == "policy.practice-five-ounces"
    assert "practice-five-ounce" in problem.expected


def test_law_cannot_be_set() -> None:
    with pytest.raises(InputProblems) as refused:
        judged({"policy.cfr-33-183-558-b": "off"})
    assert [problem.path for problem in refused.value.problems] == ["policy.cfr-33-183-558-b"]


def test_policy_that_reads_law_as_practice_does_not_touch_law() -> None:
    facts = {"segments[FEED].hose.class": "B2", "policy.practice-five-ounce": "off"}
    assert judged(facts).segment("FEED").outcomes["33-cfr-183"] == "fail"


def permits(found: Evaluation, segment: str, regime: str) -> list[tuple[str, str | None]]:
    return [
        (item.permit.hose_class, item.permit.condition)
        for item in found.segment(segment).permitted
        if item.regime == regime
    ]


@pytest.mark.parametrize(("wet", "offered"), [(True, 5), (None, 5), (False, 0)])
def test_labeled_hose_is_offered_where_a_vent_may_stay_wet(wet: bool | None, offered: int) -> None:
    # 40 CFR 1045.801: a vent that drains dry is no fuel line. Built 2015, after 1045.112 began.
    found = judged({"segments[VENT].wet_after_fill": wet, "boat.built": "2015"})
    assert len(permits(found, "VENT", "40-cfr-1060")) == offered
    assert len(permits(found, "FEED", "40-cfr-1060")) == 5


def test_what_may_be_fitted_as_law() -> None:
    found = judged()
    vent = [("A1", None), ("A2", None), ("B1", "discharge"), ("B2", "discharge"), ("metal", None)]
    assert permits(found, "VENT", "33-cfr-183") == vent
    assert permits(found, "FILL", "33-cfr-183") == vent
    assert permits(found, "CARB", "33-cfr-183") == [("A1", None), ("metal", None)]
    assert permits(found, "RETURN", "33-cfr-183") == [("A1", None), ("metal", None)]
    feed = permits(found, "FEED", "33-cfr-183")
    assert feed[:2] == [("A1", None), ("B1", "discharge")]
    assert feed[2][0] == "metal"
    assert "0.029 in" in str(feed[2][1])


def test_type_b1_may_not_be_fitted_where_only_shutoffs_guard_the_line() -> None:
    # 33 CFR 183.568(c): metal or type A1 only
    facts = {
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
    assert "B1" not in [mark for mark, _ in permits(judged(facts), "FEED", "33-cfr-183")]


def test_what_may_be_fitted_as_practice() -> None:
    found = judged({"engines[E].mount": "outboard"})
    assert permits(found, "VENT", "33-cfr-183") == []
    assert ("A2", None) in permits(found, "VENT", "practice")


def test_nothing_is_permitted_by_a_rule_that_does_not_reach_the_part() -> None:
    found = judged({"segments[FEED].part_of_outboard": True})
    assert permits(found, "FEED", "33-cfr-183") == []


def test_a_segment_no_one_cuts_has_no_discharge() -> None:
    assert judged().segment("RETURN").discharge is None
    assert judged().segment("FEED").discharge is not None


def test_curves_are_given_when_asked_for() -> None:
    assert "discharge_curve" not in judged().to_json()["figures"]
    curve = judged(curves=True).to_json()["figures"]["discharge_curve"]["FEED"]
    cuts = [point[0] for point in curve]
    assert cuts == sorted(cuts)
    assert (cuts[0], cuts[-1]) == (0, 40)
    assert max(b - a for a, b in pairwise(cuts)) <= 25 / 25.4 + 1e-6
    best = judged().to_json()["segments"][2]["discharge"]["volume_ml"]
    assert max(tank + far for _, tank, far in curve) == pytest.approx(best, rel=1e-4)


# 33 CFR 183.542(a): the greater of 3 psi and 1.5 times the head; 1 psi is 6894.757 Pa, and
# 1.5 x 750 kg/m3 x 9.80665 m/s2 x 100 in x 0.0254 = 28 022.5 Pa = 4.06432 psi
HIGH = {"components[DECK].height_in": 90, "components[OUT].height_in": 90}


def test_the_test_pressure_is_the_floor_where_the_head_is_small() -> None:
    found = judged().to_json()["figures"]["test_pressure"]["T"]
    assert found["value"] == 3
    assert found["wait_min"] == 9
    assert found["inputs"]["overflow_height"] == {"value": 36, "unit": "in"}
    assert found["inputs"]["lowest_height"] == {"value": -10, "unit": "in"}


def test_the_test_pressure_is_the_head_where_that_is_more() -> None:
    facts = {**HIGH, "tanks[T].label_pressure_psi": 5}
    found = judged(facts).to_json()["figures"]["test_pressure"]["T"]
    assert found["value"] == pytest.approx(4.06432, rel=1e-5)


def test_the_test_pressure_never_goes_above_the_label() -> None:
    found = judged(HIGH).to_json()["figures"]["test_pressure"]["T"]
    assert found["value"] is None
    assert "Isolate the tank" in found["assumptions"][0]


@pytest.mark.parametrize(
    ("fact", "path"),
    [
        ("tanks[T].label_pressure_psi", "tanks[T].label_pressure_psi"),
        ("tanks[T].bottom_in", "tanks[T].bottom_in"),
        ("tanks[T].fuel", "tanks[T].fuel"),
        ("components[OUT].height_in", "components[OUT].height_in"),
        ("segments[FEED].route", "segments[FEED].route"),
    ],
)
def test_a_lacking_height_is_named_and_no_pressure_shown(fact: str, path: str) -> None:
    found = judged({fact: None}).to_json()["figures"]["test_pressure"]["T"]
    assert found["value"] is None
    assert found["missing"] == [path]


def test_a_label_that_cannot_be_read_is_no_label() -> None:
    found = judged({"tanks[T].label_legible": False}).to_json()["figures"]["test_pressure"]["T"]
    assert (found["value"], found["source"]) == (None, "33 CFR 183.514(b)(5)")


def test_parts_that_do_not_join_are_bad_input() -> None:
    with pytest.raises(InputProblems):
        judged({"segments[FEED].to": "NOWHERE"})


def test_a_day_before_the_rules_judges_nothing_by_them() -> None:
    found = evaluate(read_object(boat()), on=date(1970, 1, 1))
    assert {s.outcomes["33-cfr-183"] for s in found.segments} == {"not_applicable"}
    assert found.to_json()["figures"]["test_pressure"] == {}


WORDS = ("certified", "approved", "safe ", "compliant", "please", "!", "oops")


def test_sentences_keep_to_the_trade_s_words() -> None:
    facts: list[dict[str, Any]] = [
        {},
        DIESEL,
        {"engines[E].mount": "outboard"},
        {"segments[FEED].hose": None},
    ]
    for given in facts:
        for finding in judged(given).findings:
            said = f"{finding.message} {finding.remedy or ''}".lower()
            assert [word for word in WORDS if word in said] == [], said
            assert str(finding.message)[0].isupper()
            assert str(finding.message).endswith(".")


def test_an_evaluation_finds_its_parts_by_id() -> None:
    found = judged()
    assert found.segment("FEED").id == "FEED"
    assert {f.subject for f in found.findings_of("FEED")} == {"FEED"}
    with pytest.raises(KeyError, match="NOWHERE"):
        found.segment("NOWHERE")


def facts_of(value: Any, path: str = "") -> list[str]:
    """The path of every fact of a document but its names and joints."""
    if isinstance(value, list):
        named = [item for item in value if isinstance(item, dict) and "id" in item]
        return [fact for item in named for fact in facts_of(item, f"{path}[{item['id']}]")]
    if not isinstance(value, dict):
        return []
    fixed = ("id", "format", "from", "to", "service") + (() if path == "boat" else ("kind",))
    keys = [key for key in value if key not in fixed]
    deeper = [f for key in keys for f in facts_of(value[key], f"{path}.{key}" if path else key)]
    return [f"{path}.{key}" for key in keys if path] + deeper


def test_taking_a_fact_away_never_clears_a_segment() -> None:
    """A fail, review or cannot_tell that a lacking fact turned into pass would be a guess."""
    flawed: dict[str, Any] = {
        "segments[FEED].hose.class": "B2",
        "segments[VENT].hose.maker_marked": False,
        "segments[FILL].hose.class": "none",
        "segments[RETURN].hose.class": "A2",
        "components[T-W].anti_siphon": "none",
        "components[T-W].opening_head_in": None,
    }
    before = judged(flawed)
    paths = facts_of(boat(flawed))
    assert len(paths) > 150
    for path in paths:
        after = judged({**flawed, path: None})
        for segment in before.segments:
            for regime, outcome in segment.outcomes.items():
                now = after.segment(segment.id).outcomes[regime]
                cleared = outcome in ("fail", "review", "cannot_tell") and now == "pass"
                assert not cleared, (path, segment.id, regime)
