"""Surveys: a look at a boat on a day, with what was found as a state."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint
from shop.models import (
    FactChange,
    FuelSeen,
    Hull,
    Member,
    StateKind,
    SubjectKind,
    Survey,
    SystemState,
)
from shop.selectors.carried import carried_over, grade_of
from shop.selectors.systems import state_newest
from shop.services.audit import audit_append
from shop.services.corrections import Correction, facts_change
from shop.services.locks import hull_lock, state_lock, survey_lock
from shop.services.stops import stop_for_fuel
from shop.services.systems import system_store

FIELDS = ("surveyed_on", "complaint", "notes")
NOT_SEEN = "not_seen"


@transaction.atomic
def survey_create(
    *,
    hull: Hull,
    document: Mapping[str, Any],
    surveyed_on: date,
    surveyor: Member | None = None,
    fuel_seen: str = FuelSeen.UNASKED,
    complaint: str = "",
    notes: str = "",
    member: Member | None = None,
) -> Survey:
    """Record a survey and store its document as a new found state."""
    state = system_store(hull=hull, kind=StateKind.FOUND, document=document, member=member)
    return survey_record(
        state=state,
        surveyed_on=surveyed_on,
        surveyor=surveyor,
        fuel_seen=fuel_seen,
        complaint=complaint,
        notes=notes,
        member=member,
    )


@transaction.atomic
def survey_record(
    *,
    state: SystemState,
    surveyed_on: date,
    surveyor: Member | None = None,
    fuel_seen: str = FuelSeen.UNASKED,
    complaint: str = "",
    notes: str = "",
    member: Member | None = None,
) -> Survey:
    """Record the survey that found a state which is stored already.

    Fuel that was smelled or seen marks the boat as not to be run, in the same transaction.
    """
    survey = Survey(
        yard=state.hull.yard,
        hull=state.hull,
        state=state,
        surveyed_on=surveyed_on,
        surveyor=surveyor,
        fuel_seen=fuel_seen,
        complaint=complaint,
        notes=notes,
    )
    survey.full_clean()
    survey.save()
    failpoint("survey.stored")
    audit_append(
        yard=survey.yard,
        member=member,
        action="survey.create",
        subject=survey,
        changed=["complaint", "notes"],
        values={
            "hull": survey.hull_id,
            "surveyed_on": surveyed_on.isoformat(),
            "fuel_seen": survey.fuel_seen,
        },
    )
    if fuel_seen == FuelSeen.YES and member is not None:
        _stop_for_fuel(survey, member)
    return survey


def _stop_for_fuel(survey: Survey, member: Member) -> None:
    words = _(
        "Fuel was smelled or seen at the survey of %(day)s. Do not start, do not switch anything "
        "aboard; people off."
    )
    day = date_format(survey.surveyed_on, "j F Y")
    stop_for_fuel(hull=survey.hull, reason=words % {"day": day}, member=member)


@transaction.atomic
def survey_fuel_answer(*, survey: Survey, fuel_seen: str, member: Member) -> Survey:
    """Answer what was left open when the survey began; an answer that stands is not changed."""
    hull_lock(survey.hull)
    survey = survey_lock(survey)
    if survey.fuel_seen != FuelSeen.UNASKED:
        raise Refused(_("This was answered already. To answer otherwise, start a new survey."))
    if fuel_seen == FuelSeen.UNASKED:
        raise Refused(_("No answer was given. Say yes or no."))
    survey.fuel_seen = fuel_seen
    survey.full_clean()
    survey.save()
    failpoint("survey.fuel stored")
    audit_append(
        yard=survey.yard,
        member=member,
        action="survey.fuel",
        subject=survey,
        changed=["fuel_seen"],
        values={"hull": survey.hull_id, "fuel_seen": survey.fuel_seen},
    )
    if survey.fuel_seen == FuelSeen.YES:
        _stop_for_fuel(survey, member)
    return survey


@transaction.atomic
def grade_confirm(
    *, state: SystemState, ident: str, grade: str, member: Member | None
) -> list[FactChange]:
    """Note that a hose was looked at and still deserves the grade that stands on file.

    `grade` is the one that was on the page; one that was changed meanwhile is not confirmed, nor
    is one that was entered or confirmed at this survey already, or that a newer survey holds.
    """
    if state.kind != StateKind.FOUND or not grade or grade == NOT_SEEN:
        raise Refused(_("There is no grade here that could be confirmed. Enter one."))
    state = state_lock(state)
    if state_newest(state.hull, StateKind.FOUND) != state:
        raise Refused(_("A newer survey was begun. Confirm the grade there."))
    if _stands(state, ident, grade):
        words = _("The grade of %(hose)s is of this survey already. There is nothing to confirm.")
        raise Refused(words % {"hose": ident})
    seen = Correction(
        SubjectKind.SEGMENT, ident, "hose.condition", grade, seen=grade, confirms=True
    )
    return facts_change(state=state, corrections=[seen], member=member)


def _stands(state: SystemState, ident: str, grade: str) -> bool:
    """Whether a grade is on file and was not carried over; of another, the change itself tells."""
    carried = carried_over(state)
    if carried is not None and ident in carried.idents:
        return False
    row = state.segments.filter(ident=ident).first()
    return row is not None and grade_of(row) == grade


@transaction.atomic
def survey_update(*, survey: Survey, fields: Mapping[str, Any], member: Member | None) -> Survey:
    """Change day, complaint or notes; what was found is corrected fact by fact."""
    wanted = {name: fields[name] for name in FIELDS if name in fields}
    changed = [name for name, value in wanted.items() if getattr(survey, name) != value]
    for name in changed:
        setattr(survey, name, wanted[name])
    survey.full_clean()
    survey.save()
    if changed:
        audit_append(
            yard=survey.yard,
            member=member,
            action="survey.update",
            subject=survey,
            changed=changed,
        )
    return survey
