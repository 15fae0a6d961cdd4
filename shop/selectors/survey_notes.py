"""What a survey's own answers add to the findings: fuel that was smelled, grades carried over.

Neither changes a fact. A smell is no leak yet, and a grade on file is not a look.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext_noop

from fuelsys.rules.base import CANNOT_TELL, Finding
from fuelsys.text import Text
from shop.models import FuelSeen, StateKind, SubjectKind, Survey, SystemState
from shop.numbering import local_day

NO_LEAK = "cfr-33-177-07-c"
SMELLED = Text(
    gettext_noop(
        "Fuel was smelled or seen at the survey. Cannot tell whether it leaks or lies in the bilge."
    )
)
LOOK = Text(
    gettext_noop(
        "Before the boat is used, whoever surveys her looks along every run and into the bilge,"
        " and adds both; a lead lifts the mark."
    )
)
GRADE_KEYS = ("hose", "hose.condition")


@dataclass(frozen=True)
class Carried:
    """Hoses whose grade is that of an earlier state, and the day of that one."""

    idents: tuple[str, ...]
    on: date
    installed: bool


def with_smell(finding: Finding, survey: Survey | None) -> Finding:
    """A finding as it is shown: where nobody could tell of a leak, that fuel was smelled."""
    if finding.rule != NO_LEAK or finding.outcome != CANNOT_TELL:
        return finding
    if survey is None or survey.fuel_seen != FuelSeen.YES:
        return finding
    return finding._replace(message=SMELLED, remedy=LOOK)


def carried_over(state: SystemState) -> Carried | None:
    """Grades that a survey took over from what it started from, and that nobody entered since."""
    earlier = state.parent
    if state.kind != StateKind.FOUND or earlier is None:
        return None
    entered = _entered(state)
    graded = {row.ident: (row.facts.get("hose") or {}) for row in state.segments.all()}
    idents = [
        ident
        for ident, hose in graded.items()
        if hose.get("condition") not in (None, "not_seen") and ident not in entered
    ]
    if not idents:
        return None
    survey = Survey.objects.filter(state=earlier).first()
    day = local_day(earlier.created_at, state.hull.yard.time_zone)
    return Carried(
        idents=tuple(idents),
        on=survey.surveyed_on if survey else day,
        installed=earlier.kind == StateKind.INSTALLED,
    )


def _entered(state: SystemState) -> set[str]:
    """Segments whose grade was entered in this state; one taken back is as it came."""
    rows = state.changes.filter(subject_kind=SubjectKind.SEGMENT, key__in=GRADE_KEYS)
    newest = dict(rows.order_by("revision").values_list("ident", "undoes_id"))
    return {ident for ident, undoes in newest.items() if undoes is None}
