"""A measurement corrected in the survey reaches the proposal where the proposal shares it."""

from __future__ import annotations

from typing import Any

import pytest

from shop.models import FactChange, StateKind, SystemState
from shop.selectors.exports import document_text
from shop.selectors.systems import system_document
from shop.services.corrections import Correction, fact_undo, facts_change
from shop.services.measurements import measurements_correct
from tests.shop.quoting import Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def s3(key: str, value: Any) -> Correction:
    return Correction("segment", "S3", key, value)


def run_of(state: SystemState, ident: str = "S3") -> dict[str, Any]:
    return next(run for run in system_document(state)["segments"] if run["id"] == ident)


def test_a_length_is_corrected_in_both_as_one_act(shop: Shop, found: SystemState) -> None:
    changes = measurements_correct(state=found, corrections=[s3("length_in", 70)])
    assert [change.state_id for change in changes] == [found.pk, shop.proposed.pk]
    assert run_of(shop.proposed)["length_in"] == 70
    assert len({change.batch for change in changes}) == 1


def test_both_are_taken_back_in_one(shop: Shop, found: SystemState) -> None:
    before = document_text(found), document_text(shop.proposed)
    changes = measurements_correct(state=found, corrections=[s3("length_in", 70), s3("clips", 9)])
    fact_undo(change=changes[0])
    states = [SystemState.objects.get(pk=state.pk) for state in (found, shop.proposed)]
    assert tuple(document_text(state) for state in states) == before


def test_the_new_hose_keeps_its_own_facts(shop: Shop, found: SystemState) -> None:
    wrong = [s3("hose.inside_diameter_in", 0.5), s3("to_end.clamps", [])]
    changes = measurements_correct(state=found, corrections=wrong)
    assert {change.state_id for change in changes} == {found.pk}
    assert run_of(shop.proposed)["hose"]["inside_diameter_in"] == 0.375


def test_what_was_planned_otherwise_stays_planned(shop: Shop, found: SystemState) -> None:
    facts_change(state=shop.proposed, corrections=[s3("length_in", 58)])
    changes = measurements_correct(state=found, corrections=[s3("length_in", 70)])
    assert {change.state_id for change in changes} == {found.pk}
    assert run_of(shop.proposed)["length_in"] == 58


def test_the_boat_herself_is_corrected_once(shop: Shop, found: SystemState) -> None:
    changes = measurements_correct(
        state=found, corrections=[Correction("boat", "boat", "open_boat", True)]
    )
    assert len(changes) == 1
    shop.hull.refresh_from_db()
    assert shop.hull.facts["open_boat"] is True


def test_a_correction_of_the_proposal_leaves_the_survey(shop: Shop, found: SystemState) -> None:
    changes = measurements_correct(state=shop.proposed, corrections=[s3("length_in", 70)])
    assert {change.state_id for change in changes} == {shop.proposed.pk}
    assert run_of(found)["length_in"] == 64
    assert FactChange.objects.count() == 1
