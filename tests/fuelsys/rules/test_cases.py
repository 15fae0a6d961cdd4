"""Every case of every table: the rule answers what the table says."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from fuelsys.evaluation import Evaluation
from fuelsys.rules.base import Finding
from fuelsys.text import Figure, Text
from tests.fuelsys.rules.tables import Case, all_tables, cases_of

CASES = [case for name in all_tables() for case in cases_of(name)]
NOT_OF_THE_FINDING = ("segment", "regime_outcome")


def own_findings(case: Case, findings: Iterable[Finding]) -> list[Finding]:
    """Those of the rule that the case asks about, for its subject."""
    return [f for f in findings if f.subject == case.subject and f.rule == case.rule]


def wrong(case: Case, own: list[Finding]) -> bool:
    """Whether the rule's findings are other than the table says."""
    expect = {k: v for k, v in case.expect.items() if k not in NOT_OF_THE_FINDING}
    if expect.get("outcome") == "nothing":
        return own != []
    return not any(_matches(finding, expect) for finding in own)


def _matches(finding: Finding, expect: dict[str, object]) -> bool:
    return all(_fact(finding, key) == wanted for key, wanted in expect.items())


def _fact(finding: Finding, key: str) -> object:
    value = getattr(finding, key)
    if isinstance(value, Text | Figure):
        return str(value)
    return list(value) if isinstance(value, tuple) else value


def check_answer(case: Case, answer: Evaluation) -> None:
    own = own_findings(case, answer.findings)
    assert not wrong(case, own), own
    for regime, outcome in case.expect.get("segment", {}).items():
        assert answer.segment(case.subject).outcomes[regime] == outcome


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.label)
def test_rule_answers_as_its_table_says(case: Case) -> None:
    check_answer(case, case.evaluation())
