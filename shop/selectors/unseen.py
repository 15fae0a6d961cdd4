"""A judged state as it is shown: what only a look can tell passes nothing that nobody looked at.

The evaluation itself stays as the rules give it: to them a grade on file is a grade.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from django.utils.translation import gettext_noop

from fuelsys.rules.base import CANNOT_TELL, PASS, PRACTICE, Finding, worst
from fuelsys.rules.context import segment_path
from fuelsys.text import Text
from shop.selectors.carried import Carried, Grade
from shop.selectors.evaluations import Judged

BY_EYE = frozenset({"practice-hose-condition", "practice-hose-heat"})
GRADED = gettext_noop("Graded on {day}, not seen since. Cannot tell how it is today.")
FITTED = gettext_noop("Fitted on {day}, not seen since. Cannot tell how it is today.")
LOOK = Text(gettext_noop("Look at it; confirm its grade, or enter another."))


def as_seen(judged: Judged, carried: Carried | None) -> Judged:
    """The same, with what passes by a grade that was carried over shown as not to be told."""
    if carried is None:
        return judged
    grades = {grade.ident: grade for grade in carried.grades}
    evaluation = judged.evaluation
    findings = tuple(_shown(each, grades) for each in evaluation.findings)
    by_subject: dict[str, list[Finding]] = {ident: [] for ident in grades}
    for finding in findings:
        if finding.subject in by_subject and finding.regime == PRACTICE and finding.counts:
            by_subject[finding.subject].append(finding)
    segments = tuple(
        replace(each, outcomes={**each.outcomes, PRACTICE: _worst(by_subject[each.id])})
        if each.id in by_subject
        else each
        for each in evaluation.segments
    )
    return replace(judged, evaluation=replace(evaluation, findings=findings, segments=segments))


def _worst(findings: list[Finding]) -> str:
    return worst(each.outcome for each in findings)


def _shown(finding: Finding, grades: Mapping[str, Grade]) -> Finding:
    grade = grades.get(finding.subject)
    if grade is None or finding.outcome != PASS or finding.rule not in BY_EYE:
        return finding
    return finding._replace(
        outcome=CANNOT_TELL,
        message=Text(FITTED if grade.installed else GRADED, {"day": grade.on.isoformat()}),
        remedy=LOOK,
        missing=(segment_path(finding.subject, "hose", "condition"),),
    )
