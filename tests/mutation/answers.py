"""What the rules answer to a prepared case: the rule it asks about alone, then everything.

A rule's findings do not depend on those of other rules, so its check and the gates suffice to see
that an answer is wrong. What is found wrong so is judged again whole, as the tests of the cases do
it, and only that counts. Read after the mutant stands in its module's place.
"""

from __future__ import annotations

from collections.abc import Iterable

from fuelsys.evaluation import evaluate, judge
from fuelsys.rules.base import Finding
from fuelsys.rules.context import DischargeResults
from fuelsys.rules.engine import Run, all_rules, practice_id
from fuelsys.rules.scope import scopes
from tests.fuelsys.rules.test_cases import check_answer, own_findings, wrong
from tests.mutation.prepared import Prepared


def first_wrong(cases: Iterable[Prepared]) -> Prepared | None:
    """The first case that the rules as they stand now answer otherwise than its table says."""
    return next((one for one in cases if _looks_wrong(one) and _is_wrong(one)), None)


def _looks_wrong(one: Prepared) -> bool:
    if one.case.expect.get("segment"):
        return True  # it asks for the outcome of all rules together
    try:
        return wrong(one.case, own_findings(one.case, _findings(one)))
    except Exception:
        return True


def _is_wrong(one: Prepared) -> bool:
    try:
        check_answer(one.case, evaluate(one.document, on=one.case.on))
    except Exception:
        return True
    return False


def _findings(one: Prepared) -> tuple[Finding, ...]:
    """The findings of the rule that the case asks about, under either of its names."""
    graph, name = one.graph, one.case.rule
    results = DischargeResults(graph, vents=lambda: judge._vent_readings(graph, one.case.on))
    rows = {row.regime: row for row in scopes(one.document)}
    run = Run(graph, one.case.on, rows, results, all_rules())
    run.rules = tuple(rule for rule in run.rules if name in (rule.id, practice_id(rule)))
    return run.findings()
