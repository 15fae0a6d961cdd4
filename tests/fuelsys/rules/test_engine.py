"""The engine: which parts a rule sees, how findings are gathered, ordered and summed up."""

from __future__ import annotations

import copy
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.document.model import Component, Segment
from fuelsys.graph import Line, build
from fuelsys.rules.base import (
    PRACTICE,
    SUBPART_J,
    ClampPart,
    EndPart,
    Finding,
    Result,
    Rule,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    worst,
)
from fuelsys.rules.context import Context, DischargeResults
from fuelsys.rules.engine import Run, all_rules, practice_id, practice_ids, reading_of
from fuelsys.rules.parts import parts_of
from fuelsys.rules.scope import scopes
from fuelsys.text import Text
from tests.fuelsys.rules.tables import base_boat, set_fact

ON = date(2026, 11, 25)
SAID = Text("Said.")


def planted(check: Any, **fields: Any) -> Rule:
    """A rule of the test's own, on segments unless told otherwise."""
    declared = Rule(
        id="cfr-33-183-999",
        title="Planted",
        regime=SUBPART_J,
        applies_to=("segment",),
        citation="33 CFR 183.999",
        force="boat builder",
        evidence="V",
        check=check,
        setting="count",
    )
    return replace(declared, **fields)


def run(*rules: Rule, **facts: Any) -> Run:
    document = copy.deepcopy(base_boat("inboard"))
    for path, value in facts.items():
        set_fact(document, path, value)
    graph = build(read_object(document))
    rows = {row.regime: row for row in scopes(graph.document)}
    return Run(graph, ON, rows, DischargeResults(graph), rules)


def test_a_rule_sees_every_part_it_applies_to() -> None:
    seen: list[object] = []

    def look(part: object, _context: Context) -> Result:
        seen.append(part)
        return passed(SAID)

    kinds = ("segment", "segment_end", "clamp", "line", "component", "tank", "engine")
    rule = planted(look, applies_to=(*kinds, "compartment", "boat"))
    run(rule).findings()
    assert sum(isinstance(part, Segment) for part in seen) == 6
    assert sum(isinstance(part, EndPart) for part in seen) == 12
    assert sum(isinstance(part, ClampPart) for part in seen) == 14
    assert sum(isinstance(part, Line) for part in seen) == 1
    assert sum(isinstance(part, Component) for part in seen) == 11
    assert len(seen) == 6 + 12 + 14 + 1 + 11 + 2 + 1 + 1 + 1


def test_services_and_kinds_narrow_the_parts() -> None:
    graph = run().graph
    by_service = planted(None, applies_to=("segment",), services=("fill", "vent"))
    by_kind = planted(None, applies_to=("component",), kinds=("fuel_pump",))
    assert [subjects for _, subjects in parts_of(by_service, graph)] == [("FILL",), ("VENT",)]
    assert [subjects for _, subjects in parts_of(by_kind, graph)] == [("PUMP",)]


def test_what_is_said_of_a_line_belongs_to_its_segments_of_the_service() -> None:
    rule = planted(lambda part, context: failed(SAID), applies_to=("line",), services=("feed",))
    assert [f.subject for f in run(rule).findings()] == ["FEED"]


def test_an_end_that_was_not_recorded_is_seen_with_no_fact() -> None:
    def look(part: EndPart, _context: Context) -> Result:
        return passed(SAID) if part.end.securing else cannot_tell(SAID, f"{part.side}.securing")

    rule = planted(look, applies_to=("segment_end",), services=("feed",))
    found = run(rule, **{"segments[FEED].to_end": None}).findings()
    assert [(f.end, f.outcome) for f in found] == [("from", "pass"), ("to", "cannot_tell")]


def test_findings_stand_by_subject_then_rule_then_end_then_clamp() -> None:
    clamps = planted(lambda part, context: passed(SAID), applies_to=("clamp",), services=("fill",))
    whole = planted(
        lambda part, context: passed(SAID),
        id="cfr-33-183-111",
        applies_to=("boat", "tank", "segment"),
    )
    found = run(clamps, whole).findings()
    assert [(f.subject, f.rule[-3:], f.end, f.clamp) for f in found] == [
        ("FILL", "111", None, None),
        ("FILL", "999", "from", 0),
        ("FILL", "999", "from", 1),
        ("FILL", "999", "to", 0),
        ("FILL", "999", "to", 1),
        ("VENT", "111", None, None),
        ("FEED", "111", None, None),
        ("CARB", "111", None, None),
        ("RETURN", "111", None, None),
        ("TRANSFER", "111", None, None),
        ("boat", "111", None, None),
        ("T", "111", None, None),
        ("T2", "111", None, None),
    ]


def test_what_is_said_of_a_whole_run_stands_before_what_is_said_of_its_ends() -> None:
    def look(_part: object, _context: Context) -> Result:
        return [passed(SAID, end=end) for end in ("to", "from", None)]

    found = run(planted(look, services=("feed",))).findings()
    assert [f.end for f in found] == [None, "from", "to"]


@pytest.mark.parametrize(
    ("outcomes", "expected"),
    [
        ([], "not_applicable"),
        (["not_applicable", "pass"], "pass"),
        (["pass", "cannot_tell"], "cannot_tell"),
        (["cannot_tell", "review", "pass"], "review"),
        (["review", "fail", "cannot_tell"], "fail"),
    ],
)
def test_the_worst_outcome_wins(outcomes: list[str], expected: str) -> None:
    assert worst(outcomes) == expected


def outcome_of(*checks: Any, **facts: Any) -> tuple[str, tuple[Finding, ...]]:
    rules = [planted(check, id=f"cfr-33-183-{index}") for index, check in enumerate(checks)]
    done = run(*rules, **facts)
    found = done.findings()
    return done.outcome(SUBPART_J, "FEED", [f for f in found if f.subject == "FEED"]), found


def test_a_segment_is_as_bad_as_its_worst_finding() -> None:
    said = outcome_of(lambda p, c: passed(SAID), lambda p, c: review(SAID), lambda p, c: None)
    assert said[0] == "review"


def test_nothing_said_is_not_applicable() -> None:
    assert outcome_of(lambda p, c: None)[0] == "not_applicable"


def test_scope_in_doubt_is_the_outcome_and_what_stands_beneath_is_provisional() -> None:
    outcome, found = outcome_of(lambda p, c: failed(SAID), **{"engines[E].mount": None})
    assert outcome == "cannot_tell"
    assert all(f.provisional and f.outcome == "fail" for f in found)


def gate(check: Any) -> Rule:
    return planted(check, id="cfr-33-183-507", gate=True)


def test_a_gate_that_leaves_a_part_out_silences_the_regime() -> None:
    judge = planted(lambda p, c: failed(SAID))
    done = run(judge, gate(lambda p, c: not_applicable(SAID) if p.id == "FEED" else None))
    found = done.findings()
    assert [f.outcome for f in found if f.subject == "FEED"] == ["not_applicable"]
    assert [f.outcome for f in found if f.subject == "VENT"] == ["fail"]
    assert done.outcome(SUBPART_J, "FEED", ()) == "not_applicable"


def test_a_gate_of_review_is_the_outcome_and_the_rest_is_provisional() -> None:
    done = run(planted(lambda p, c: failed(SAID)), gate(lambda p, c: review(SAID)))
    own = [f for f in done.findings() if f.subject == "FEED"]
    assert {(f.outcome, f.provisional) for f in own} == {("review", False), ("fail", True)}
    assert done.outcome(SUBPART_J, "FEED", own) == "review"


def test_leaving_out_comes_before_review() -> None:
    first = gate(lambda p, c: review(SAID))
    second = replace(first, id="cfr-33-183-508", check=lambda p, c: not_applicable(SAID))
    held = run(first, second).gate(SUBPART_J, "FEED")
    assert held is not None
    assert held[1].outcome == "not_applicable"


def test_a_rule_out_of_force_says_so() -> None:
    outcome, found = outcome_of(lambda p, c: failed(SAID))
    assert outcome == "fail"
    late = planted(lambda p, c: failed(SAID), in_force_from=date(2026, 11, 26))
    ended = planted(lambda p, c: failed(SAID), in_force_to=date(2026, 11, 25))
    over = planted(lambda p, c: failed(SAID), in_force_to=date(2026, 11, 24))
    for rule in (late, ended, over):
        found = run(rule).findings()
        assert {f.outcome for f in found} == {"not_applicable"}
        assert any(w in str(found[0].message) for w in ("not in force", "holds from"))
    started = planted(lambda p, c: failed(SAID), in_force_from=ON, in_force_to=date(2026, 11, 26))
    assert {f.outcome for f in run(started).findings()} == {"fail"}


def test_a_section_that_names_the_carburetor_passes_a_diesel_by() -> None:
    rule = planted(lambda p, c: failed(SAID), services=("feed",), names_carburetor=True)
    diesel = {"engines[E].fuel": "diesel", "tanks[T].fuel": "diesel", "tanks[T2].fuel": "diesel"}
    assert [f.outcome for f in run(rule).findings()] == ["fail"]
    assert run(rule, **diesel).findings() == ()


def test_a_rule_of_law_that_does_not_bind_is_read_as_practice() -> None:
    rule = planted(None, practice_id="practice-planted", force="boat builder")
    law = reading_of(rule, "yes", {})
    assert law is not None
    assert (law.id, law.regime, law.force) == ("cfr-33-183-999", SUBPART_J, "boat builder")
    practice = reading_of(rule, "no", {})
    assert practice is not None
    assert (practice.id, practice.regime, practice.force) == (
        "practice-planted",
        PRACTICE,
        "voluntary",
    )
    assert reading_of(rule, "no", {"practice-planted": "off"}) is None
    advised = reading_of(rule, "no", {"practice-planted": "advice"})
    assert advised is not None
    assert advised.setting == "advice"


def test_the_shop_cannot_set_law() -> None:
    rule = planted(None, practice_id="practice-planted")
    assert reading_of(rule, "yes", {"practice-planted": "off"}) is not None


def test_law_of_the_other_bodies_is_not_read_as_practice() -> None:
    assert reading_of(planted(None, regime="40-cfr-1060"), "no", {}) is None


def test_advice_is_shown_and_not_counted() -> None:
    rule = planted(lambda p, c: failed(SAID), setting="advice", services=("feed",))
    done = run(rule, **{"engines[E].mount": "outboard"})
    found = done.findings()
    assert [(f.regime, f.outcome, f.advice) for f in found] == [(PRACTICE, "fail", True)]
    assert [f.counts for f in found] == [False]
    counted = run(replace(rule, setting="count"), **{"engines[E].mount": "outboard"}).findings()
    assert [(f.advice, f.counts) for f in counted] == [(False, True)]
    assert done.outcome(PRACTICE, "FEED", found) == "not_applicable"


def test_the_same_said_twice_of_one_segment_stands_once() -> None:
    rule = planted(lambda p, c: failed(SAID), applies_to=("segment", "segment"), services=("feed",))
    assert len(run(rule).findings()) == 1


def test_nobody_asks_for_the_points_of_a_curve_unless_told_to() -> None:
    graph = run().graph
    (silent, told) = (DischargeResults(graph), DischargeResults(graph, curves=True))
    assert [bool(r and r.curve) for r in (silent.of("FEED"), told.of("FEED"))] == [False, True]


def test_a_context_reads_law_as_law_unless_told_otherwise() -> None:
    graph = run().graph
    assert not Context(graph, ON, DischargeResults(graph)).as_practice


def test_a_check_may_only_use_numbers_it_declares() -> None:
    rule = planted(lambda p, c: passed(SAID) if c.value("wall_min") else None, services=("feed",))
    with pytest.raises(KeyError, match="cfr-33-183-999 does not declare"):
        run(rule).findings()
    declared = replace(rule, parameters=("33-cfr/183-538/wall_min",))
    assert [f.outcome for f in run(declared).findings()] == ["pass"]


def test_cannot_tell_names_a_fact() -> None:
    with pytest.raises(ValueError, match="names the fact"):
        cannot_tell(SAID)


def test_a_rule_of_another_day_says_from_when_it_holds() -> None:
    rule = planted(lambda p, c: failed(SAID), services=("feed",))
    later = replace(rule, in_force_from=date(2027, 1, 1))
    (found,) = run(later).findings()
    assert found.outcome == "not_applicable"
    assert str(found.message) == "This rule holds from 2027-01-01. It was asked for on 2026-11-25."
    ended = replace(rule, in_force_from=date(2000, 1, 1), in_force_to=ON)
    (found,) = run(ended).findings()
    assert str(found.message) == "This rule is not in force on the date asked for."
    (found,) = run(replace(ended, in_force_to=date(2026, 11, 26))).findings()
    assert found.outcome == "fail"


def test_a_rule_that_ends_on_its_first_day_does_not_say_that_it_holds_from_then() -> None:
    rule = planted(lambda part, context: passed(SAID), in_force_from=ON, in_force_to=ON)
    (found, *_rest) = run(rule).findings()
    assert str(found.message) == "This rule is not in force on the date asked for."


def test_a_scope_in_doubt_says_nothing_of_kinds_that_its_rules_do_not_see() -> None:
    rule = planted(lambda part, context: passed(SAID), applies_to=("segment_end",))
    asked = run(rule, **{"boat.kind": "personal_watercraft"})
    assert asked.outcome(SUBPART_J, "FEED", ()) == "review"
    assert asked.outcome(SUBPART_J, "T", ()) == "not_applicable"


def test_what_is_said_of_an_end_stands_before_what_is_said_of_its_first_clamp() -> None:
    def check(_part: object, _context: Context) -> Result:
        return (
            failed(SAID, end="from", clamp=0),
            passed(SAID, end="from"),
            failed(SAID, end="to"),
            passed(SAID),
        )

    found = run(planted(check)).findings_by_subject()["FEED"]
    assert [(f.end, f.clamp) for f in found] == [
        (None, None),
        ("from", None),
        ("from", 0),
        ("to", None),
    ]


def test_practice_is_never_provisional() -> None:
    own = planted(lambda part, context: passed(SAID), id="practice-planted", regime=PRACTICE)
    law = planted(lambda part, context: passed(SAID))
    found = run(own, law, **{"engines[E].mount": "outboard"}).findings()
    assert {f.regime for f in found} == {PRACTICE}
    assert not any(f.provisional for f in found)


def test_the_shop_sets_practice_and_what_is_read_as_practice_alone() -> None:
    rules = [rule for rule in all_rules() if rule.regime in (PRACTICE, SUBPART_J) and not rule.gate]
    assert practice_ids() == tuple(sorted(practice_id(rule) for rule in rules))
    assert len(rules) < len(all_rules())
