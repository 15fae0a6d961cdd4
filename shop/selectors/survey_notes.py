"""What a survey's own answers add to the findings: fuel that was smelled, grades carried over.

Neither changes a fact. A smell is no leak yet, and a grade on file is not a look.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext_noop

from fuelsys.rules.base import CANNOT_TELL, Finding
from fuelsys.text import Text
from shop.factwords import choice_words
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
class Grade:
    """The grade of one hose, as it stands on file and in words."""

    ident: str
    value: str

    @property
    def words(self) -> str:
        return choice_words(self.value).lower()


@dataclass(frozen=True)
class Carried:
    """Hoses whose grade is that of an earlier state, and the day of that one."""

    grades: tuple[Grade, ...]
    on: date
    installed: bool
    graded: int  # hoses that have a grade at all

    @property
    def idents(self) -> tuple[str, ...]:
        return tuple(each.ident for each in self.grades)


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
    held = ((row.ident, row.facts.get("hose") or {}) for row in state.segments.all())
    graded = [Grade(ident, hose["condition"]) for ident, hose in held if _is_graded(hose)]
    grades = tuple(each for each in graded if each.ident not in entered)
    if not grades:
        return None
    survey = Survey.objects.filter(state=earlier).first()
    day = local_day(earlier.created_at, state.hull.yard.time_zone)
    return Carried(
        grades=grades,
        on=survey.surveyed_on if survey else day,
        installed=earlier.kind == StateKind.INSTALLED,
        graded=len(graded),
    )


def _is_graded(hose: Mapping[str, Any]) -> bool:
    return hose.get("condition") not in (None, "not_seen")


def _entered(state: SystemState) -> set[str]:
    """Segments whose grade was entered or confirmed in this state, and that was not taken back."""
    rows = state.changes.filter(subject_kind=SubjectKind.SEGMENT, key__in=GRADE_KEYS)
    made = list(rows.values_list("pk", "ident", "undoes_id"))
    undone = {undoes for _pk, _ident, undoes in made if undoes is not None}
    return {ident for pk, ident, undoes in made if undoes is None and pk not in undone}
