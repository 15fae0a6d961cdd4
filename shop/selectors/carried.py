"""Grades of hose that a survey took over from an earlier state: a grade on file is not a look.

A survey may begin from what was installed or found before. Each grade keeps the day on which
somebody entered or confirmed it, however many surveys copied it since.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from shop.factwords import choice_words
from shop.models import Segment, StateKind, SubjectKind, Survey, SystemState
from shop.numbering import local_day

GRADE_KEYS = ("hose", "hose.condition")


@dataclass(frozen=True)
class Grade:
    """The grade of one hose as it stands on file, in words, and where it was given."""

    ident: str
    value: str
    on: date
    installed: bool  # it came with hose that was fitted, not with a look at it

    @property
    def words(self) -> str:
        return choice_words(self.value).lower()


@dataclass(frozen=True)
class CarriedDay:
    """Hoses whose grades are all of one day."""

    on: date
    installed: bool
    idents: tuple[str, ...]


@dataclass(frozen=True)
class Carried:
    """Hoses whose grade is that of an earlier state, in the order of the boat's lines."""

    grades: tuple[Grade, ...]
    graded: int  # hoses that have a grade at all

    @property
    def idents(self) -> tuple[str, ...]:
        return tuple(each.ident for each in self.grades)

    @property
    def days(self) -> tuple[CarriedDay, ...]:
        """The same by day, the oldest first."""
        held: dict[tuple[date, bool], list[str]] = {}
        for grade in self.grades:
            held.setdefault((grade.on, grade.installed), []).append(grade.ident)
        return tuple(CarriedDay(*day, tuple(held[day])) for day in sorted(held))

    def of(self, ident: str) -> Grade | None:
        return next((each for each in self.grades if each.ident == ident), None)


def carried_over(state: SystemState) -> Carried | None:
    """Grades that a survey took over from what it started from, and that nobody entered since."""
    if state.kind != StateKind.FOUND or state.parent is None:
        return None
    graded = {row.ident: grade_of(row) for row in state.segments.all() if grade_of(row)}
    left = set(graded) - _entered(state)
    if not left:
        return None
    given = _given(state, left)
    grades = (Grade(ident, graded[ident], *given[ident]) for ident in graded if ident in given)
    return Carried(tuple(grades), graded=len(graded))


def carried_shown(state: SystemState) -> Carried | None:
    """The same of a state of any kind: of its hose that is still that of the survey behind it."""
    found = found_behind(state)
    carried = carried_over(found)
    if carried is None or found == state:
        return carried
    same = {row.ident: grade_of(row) for row in state.segments.all() if _is_old(row, state)}
    grades = tuple(each for each in carried.grades if same.get(each.ident) == each.value)
    return replace(carried, grades=grades) if grades else None


def found_behind(state: SystemState) -> SystemState:
    """The survey's state behind a state: through what was installed, and what was proposed."""
    while state.kind != StateKind.FOUND and state.parent is not None:
        state = state.parent
    return state


def grade_of(row: Segment) -> str:
    """The grade on file; empty where there is none, or where it says that nobody saw the hose."""
    hose: Mapping[str, Any] = row.facts.get("hose") or {}
    grade = hose.get("condition")
    return "" if grade in (None, "not_seen") else str(grade)


def _is_old(row: Segment, state: SystemState) -> bool:
    return row.kept or (state.kind == StateKind.PROPOSED and not row.product_sku)


def _given(state: SystemState, idents: set[str]) -> dict[str, tuple[date, bool]]:
    """The day on which each grade was given, and whether it came with hose that was fitted."""
    given: dict[str, tuple[date, bool]] = {}
    left = set(idents)
    while left:
        earlier = _before(state)
        if earlier is None:  # nobody copied it from anywhere: it was given here
            return given | dict.fromkeys(left, _day_of(state))
        here = left & _given_in(earlier, until=state.created_at)
        if here:
            given |= dict.fromkeys(here, _day_of(earlier))
        left, state = left - here, earlier
    return given


def _before(state: SystemState) -> SystemState | None:
    """What a state took its kept hose from; a proposal changes none of it."""
    earlier = state.parent
    if earlier is not None and earlier.kind == StateKind.PROPOSED:
        return earlier.parent or earlier
    return earlier


def _given_in(state: SystemState, *, until: datetime) -> set[str]:
    if state.kind == StateKind.INSTALLED:
        return set(state.segments.filter(kept=False).values_list("ident", flat=True))
    return _entered(state, until=until)


def _day_of(state: SystemState) -> tuple[date, bool]:
    survey = Survey.objects.filter(state=state).first()
    day = local_day(state.created_at, state.hull.yard.time_zone)
    return (survey.surveyed_on if survey else day), state.kind == StateKind.INSTALLED


def _entered(state: SystemState, *, until: datetime | None = None) -> set[str]:
    """Segments whose grade was entered or confirmed in this state, and that was not taken back.

    What takes back may be taken back in turn. `until` is when another state was copied from it.
    """
    rows = state.changes.filter(subject_kind=SubjectKind.SEGMENT, key__in=GRADE_KEYS)
    if until is not None:
        rows = rows.filter(at__lte=until)
    made = list(rows.order_by("-revision").values_list("pk", "ident", "undoes_id"))
    undone: set[int] = set()
    for pk, _ident, undoes in made:  # the newest first, so what takes back is judged before
        if undoes is not None and pk not in undone:
            undone.add(undoes)
    return {ident for pk, ident, undoes in made if undoes is None and pk not in undone}
