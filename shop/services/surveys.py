"""Surveys: a look at a boat on a day, with what was found as a state."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from shop.models import Hull, Member, StateKind, Survey, SystemState
from shop.services.audit import audit_append
from shop.services.systems import system_store

FIELDS = ("surveyed_on", "complaint", "notes")


@transaction.atomic
def survey_create(
    *,
    hull: Hull,
    document: Mapping[str, Any],
    surveyed_on: date,
    surveyor: Member | None = None,
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
    complaint: str = "",
    notes: str = "",
    member: Member | None = None,
) -> Survey:
    """Record the survey that found a state which is stored already."""
    survey = Survey(
        yard=state.hull.yard,
        hull=state.hull,
        state=state,
        surveyed_on=surveyed_on,
        surveyor=surveyor,
        complaint=complaint,
        notes=notes,
    )
    survey.full_clean()
    survey.save()
    audit_append(
        yard=survey.yard,
        member=member,
        action="survey.create",
        subject=survey,
        changed=["complaint", "notes"],
        values={"hull": survey.hull_id, "surveyed_on": surveyed_on.isoformat()},
    )
    return survey


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
