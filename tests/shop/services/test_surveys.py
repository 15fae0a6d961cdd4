"""Surveys and what they found."""

from __future__ import annotations

import json
from datetime import date

import pytest

from shop.exceptions import FactError
from shop.models import AuditEntry, Survey, SystemState
from shop.selectors.systems import system_document
from shop.services.surveys import survey_create, survey_update
from tests import factories as make

pytestmark = pytest.mark.django_db


def survey() -> Survey:
    lead = make.make_member()
    return survey_create(
        hull=make.make_hull(lead.yard),
        document=make.tiny_document(),
        surveyed_on=make.DAY,
        surveyor=lead,
        complaint="Test Owner smells fuel",
        member=lead,
    )


def test_a_survey_and_its_state_are_stored_together() -> None:
    made = survey()
    assert (made.state.kind, made.yard, made.hull) == ("found", made.hull.yard, made.state.hull)
    assert system_document(made.state) == make.TINY


def test_a_survey_whose_facts_do_not_read_leaves_nothing() -> None:
    document = {**make.tiny_document(), "format": "other"}
    hull = make.make_hull(make.make_yard())
    with pytest.raises(FactError):
        survey_create(hull=hull, document=document, surveyed_on=make.DAY)
    assert not Survey.objects.exists()
    assert not SystemState.objects.exists()


def test_an_update_changes_day_and_words_and_logs_names_only() -> None:
    made = survey()
    survey_update(
        survey=made,
        fields={"surveyed_on": date(2026, 9, 12), "notes": "Call Ada Test", "hull": None},
        member=made.surveyor,
    )
    made.refresh_from_db()
    assert (made.surveyed_on, made.notes) == (date(2026, 9, 12), "Call Ada Test")
    entry = AuditEntry.objects.get(action="survey.update")
    assert entry.fields == {"changed": ["notes", "surveyed_on"]}
    everything = json.dumps(list(AuditEntry.objects.values_list("fields", flat=True)))
    assert "smells" not in everything


def test_an_update_that_changes_nothing_is_not_logged() -> None:
    made = survey()
    survey_update(survey=made, fields={"surveyed_on": make.DAY}, member=None)
    assert not AuditEntry.objects.filter(action="survey.update").exists()
