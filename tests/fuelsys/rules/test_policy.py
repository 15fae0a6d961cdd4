"""The shop's settings: any rule of practice can be off, advice or counted; law cannot be set."""

from __future__ import annotations

import copy
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest

from fuelsys.document import InputProblems, read_object
from fuelsys.evaluation import Evaluation, evaluate
from fuelsys.rules.base import PRACTICE, Finding
from fuelsys.rules.engine import all_rules, practice_ids
from fuelsys.rules.own_numbers import own_parameter
from fuelsys.rules.parameters import all_parameters
from fuelsys.units import to_base
from tests.fuelsys.documents import NAMES, example
from tests.fuelsys.rules.tables import base_boat, set_fact

ON = date(2026, 11, 25)
LAW = [rule.id for rule in all_rules() if rule.regime != PRACTICE]


def judged(name: str, setting: str | None) -> Evaluation:
    document: dict[str, Any] = copy.deepcopy(example(name))
    if setting is not None:
        document["policy"] = dict.fromkeys(practice_ids(), setting)
    return evaluate(read_object(document), on=ON)


def practised(answer: Evaluation) -> list[tuple[str, bool]]:
    return [(f.outcome, f.advice) for f in answer.findings if f.regime == PRACTICE]


@pytest.mark.parametrize("name", NAMES)
def test_every_rule_of_practice_can_be_off(name: str) -> None:
    off, plain = judged(name, "off"), judged(name, None)
    assert practised(plain)
    assert practised(off) == []
    assert {s.outcomes[PRACTICE] for s in off.segments} == {"not_applicable"}
    law = [f for f in plain.findings if f.regime != PRACTICE]
    assert [f for f in off.findings if f.regime != PRACTICE] == law


@pytest.mark.parametrize("name", NAMES)
def test_every_rule_of_practice_can_be_advice_or_counted(name: str) -> None:
    clear = ("pass", "not_applicable")
    advised = practised(judged(name, "advice"))
    assert all(advice == (outcome not in clear) for outcome, advice in advised)
    counted = practised(judged(name, "count"))
    assert not any(advice for _, advice in counted)
    assert [outcome for outcome, _ in counted] == [outcome for outcome, _ in advised]


@pytest.mark.parametrize("rule_id", LAW)
def test_law_cannot_be_set(rule_id: str) -> None:
    document = {**example("second-helping-found"), "policy": {rule_id: "off"}}
    with pytest.raises(InputProblems) as refused:
        evaluate(read_object(document), on=ON)
    (problem,) = refused.value.problems
    assert problem.path == f"policy.{rule_id}"
    assert "law stands" in problem.expected


OLD_HOSE = "practice-hose-age"
WIDE = "practice-fill-bore"


def found(rule: str, subject: str, numbers: dict[str, str], **facts: Any) -> list[Finding]:
    """What a rule says of a run of a boat of 2008, by the shop's own numbers."""
    document = copy.deepcopy(base_boat("inboard"))
    policy = facts.pop("policy", {})
    for key, value in facts.items():
        set_fact(document, f"segments[{subject}].hose.{key}", value)
    document["policy"] = policy
    own = {name: Fraction(number) for name, number in numbers.items()}
    answer = evaluate(replace(read_object(document), numbers=own), on=ON)
    return [each for each in answer.findings_of(subject) if each.rule == rule]


def test_a_number_is_set_tightened_switched_off_and_taken_back() -> None:
    def said(years: str | None, setting: str | None = None) -> list[tuple[str, bool]]:
        policy = {} if setting is None else {OLD_HOSE: setting}
        numbers = {} if years is None else {OLD_HOSE: years}
        return [(f.outcome, f.advice) for f in found(OLD_HOSE, "FEED", numbers, policy=policy)]

    assert said(None) == [("not_applicable", False)]
    assert said("20") == [("pass", False)]
    assert said("10") == [("review", False)]
    assert said("10", "advice") == [("review", True)]
    assert said("10", "off") == []
    assert said(None, "count") == [("not_applicable", False)]


def test_a_number_of_the_shops_own_stands_under_the_shops_name() -> None:
    (plain,), (own,) = found(WIDE, "FILL", {}), found(WIDE, "FILL", {WIDE: "2"})
    assert (plain.outcome, plain.force, str(plain.limit)) == ("pass", "voluntary", "1.5 in")
    assert (own.outcome, own.force, str(own.limit)) == ("review", "shop", "2 in")
    assert (own.citation, own.evidence) == ("the shop's own number", "CP")


@pytest.mark.parametrize("rule_id", LAW)
def test_law_has_no_number_of_the_shops_own(rule_id: str) -> None:
    with pytest.raises(InputProblems) as refused:
        found("", "FILL", {rule_id: "3"})
    (problem,) = refused.value.problems
    assert problem.path == f"numbers.{rule_id}"
    assert "law stands" in problem.expected


@pytest.mark.parametrize(
    ("rule_id", "number", "said"),
    [
        (WIDE, "1.49", "The rule asks 1.5 in. A number of the shop's own asks more, not less."),
        ("practice-hose-in-sun", "3", "The rule asks 2. A number of the shop's own asks more"),
        (OLD_HOSE, "0", "above 0"),
        (WIDE, "-2", "above 0"),
        ("practice-tie", "2", "practice-tie has no number of the shop's own"),
        ("practice-none", "2", "practice-none has no number of the shop's own"),
    ],
)
def test_a_number_that_asks_less_or_has_no_rule_is_refused(
    rule_id: str, number: str, said: str
) -> None:
    with pytest.raises(InputProblems) as refused:
        found("", "FILL", {rule_id: number})
    assert said in refused.value.problems[0].expected


def test_a_rule_that_asks_more_later_is_not_held_back_by_the_shops_number(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The planted text asks 2 in from 2031; the shop had set 1.75 in, which was more."""
    first = date(2031, 1, 1)
    held = own_parameter(next(rule for rule in all_rules() if rule.id == WIDE))
    assert held is not None
    later = replace(held, values=(*held.values, (first, to_base(2, "in"))))
    monkeypatch.setitem(all_parameters(), held.name, later)

    def asked(number: str, on: date) -> tuple[str, str, str]:
        document = read_object(copy.deepcopy(base_boat("inboard")))
        answer = evaluate(replace(document, numbers={WIDE: Fraction(number)}), on=on)
        (said,) = (each for each in answer.findings_of("FILL") if each.rule == WIDE)
        return str(said.limit), said.force, said.outcome

    assert asked("1.75", first - timedelta(days=1)) == ("1.75 in", "shop", "review")
    assert asked("1.75", first) == ("2 in", "voluntary", "review")
    assert asked("2.5", first) == ("2.5 in", "shop", "review")
    with pytest.raises(InputProblems):  # it asked less on every day
        asked("1.49", first)


def test_the_number_of_the_rule_itself_may_be_set() -> None:
    (own,) = found(WIDE, "FILL", {WIDE: "1.5"})
    assert (own.outcome, own.force) == ("pass", "shop")


def test_every_rule_with_a_number_says_which_and_that_it_is_the_shops_to_tighten() -> None:
    settable = {rule.id: own_parameter(rule) for rule in all_rules() if rule.own_number}
    assert set(settable) == {OLD_HOSE, "practice-hose-in-sun", WIDE, "practice-vent-bore"}
    assert all(held is not None for held in settable.values())
    assert {rule.tighter for rule in all_rules()} == {"less", "more"}


def test_a_document_carries_no_number() -> None:
    with pytest.raises(InputProblems):
        read_object({**example("second-helping-found"), "numbers": {OLD_HOSE: 10}})
