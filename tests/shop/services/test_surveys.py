"""Surveys and what they found."""

from __future__ import annotations

import json
from datetime import date

import pytest
from django.utils import timezone

from shop.exceptions import FactError, Refused
from shop.models import AuditEntry, DoNotRun, Hull, Survey, SystemState
from shop.selectors.systems import system_document
from shop.services import stops, surveys
from shop.services.locks import hull_lock
from shop.services.surveys import (
    survey_create,
    survey_fuel_answer,
    survey_record,
    survey_update,
)
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


def test_who_marks_the_boat_at_the_same_moment_is_no_obstacle(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Another person's mark is there by the time that the boat is held."""
    lead = make.make_member()
    hull = make.make_hull(lead.yard)

    def held(wanted: Hull) -> Hull:
        if not wanted.do_not_run.exists():
            now = timezone.now()
            DoNotRun.objects.create(hull=wanted, reason="Theirs.", set_by=lead, set_at=now)
        return hull_lock(wanted)

    monkeypatch.setattr(stops, "hull_lock", held)
    monkeypatch.setattr(surveys, "hull_lock", held, raising=False)
    state = make.make_found(hull)
    survey_record(state=state, surveyed_on=make.DAY, fuel_seen="yes", member=lead)
    assert Survey.objects.get(hull=hull).fuel_seen == "yes"
    assert [stop.reason for stop in hull.do_not_run.all()] == ["Theirs."]


@pytest.mark.parametrize(("said", "marks"), [("yes", 1), ("no", 0)])
def test_the_question_that_was_left_open_is_answered_once(said: str, marks: int) -> None:
    lead = make.make_member()
    state = make.make_found(make.make_hull(lead.yard))
    left = survey_record(state=state, surveyed_on=make.DAY, member=lead)
    survey_fuel_answer(survey=left, fuel_seen=said, member=lead)
    entry = AuditEntry.objects.get(action="survey.fuel")
    assert entry.fields["values"] == {"hull": left.hull_id, "fuel_seen": said}
    assert left.hull.do_not_run.count() == marks
    for other in ("yes", "no", "unasked"):
        with pytest.raises(Refused, match="answered already"):
            survey_fuel_answer(survey=left, fuel_seen=other, member=lead)
    left.refresh_from_db()
    assert left.fuel_seen == said
    assert left.hull.do_not_run.count() == marks


def test_no_answer_is_none() -> None:
    lead = make.make_member()
    state = make.make_found(make.make_hull(lead.yard))
    left = survey_record(state=state, surveyed_on=make.DAY, member=lead)
    with pytest.raises(Refused, match="Say yes or no"):
        survey_fuel_answer(survey=left, fuel_seen="unasked", member=lead)


def test_an_update_that_changes_nothing_is_not_logged() -> None:
    made = survey()
    survey_update(survey=made, fields={"surveyed_on": make.DAY}, member=None)
    assert not AuditEntry.objects.filter(action="survey.update").exists()
