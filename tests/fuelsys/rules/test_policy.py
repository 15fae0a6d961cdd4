"""The shop's settings: any rule of practice can be off, advice or counted; law cannot be set."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

import pytest

from fuelsys.document import InputProblems, read_object
from fuelsys.evaluation import Evaluation, evaluate
from fuelsys.rules.base import PRACTICE
from fuelsys.rules.engine import all_rules, practice_ids
from tests.fuelsys.documents import NAMES, example

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
