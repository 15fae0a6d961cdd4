"""Several corrections in one act: all or none, and taken back whole."""

from __future__ import annotations

from typing import Any

import pytest

from shop.exceptions import Conflict, FactError, Refused
from shop.models import AuditEntry, FactChange, StateKind, SystemState
from shop.selectors.exports import document_text
from shop.selectors.systems import system_document
from shop.services.corrections import Correction, batch_of, fact_undo, facts_change
from tests.shop.quoting import Shop

pytestmark = pytest.mark.django_db


def s3(key: str, value: Any, **more: Any) -> Correction:
    return Correction("segment", "S3", key, value, **more)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def facts_of(state: SystemState, ident: str = "S3") -> dict[str, Any]:
    return next(run for run in system_document(state)["segments"] if run["id"] == ident)


def test_one_act_is_one_batch_with_a_revision_for_every_fact(found: SystemState) -> None:
    before = found.revision
    changes = facts_change(
        state=found, corrections=[s3("length_in", 70), s3("hose.made", 2020), s3("clips", 5)]
    )
    assert [change.key for change in changes] == ["length_in", "hose.made", "clips"]
    assert len({change.batch for change in changes}) == 1
    found.refresh_from_db()
    assert found.revision == before + 3
    assert facts_of(found)["length_in"] == 70
    assert found.segments.get(ident="S3").clips == 5


def test_what_does_not_change_is_not_recorded(found: SystemState) -> None:
    assert facts_change(state=found, corrections=[s3("length_in", 64)]) == []
    assert not FactChange.objects.exists()


def test_one_fact_that_does_not_read_stops_the_whole_act(found: SystemState) -> None:
    with pytest.raises(FactError) as caught:
        facts_change(state=found, corrections=[s3("clips", 9), s3("hose.class", "Z9")])
    assert [problem.path for problem in caught.value.problems] == ["segments[S3].hose.class"]
    assert found.segments.get(ident="S3").clips == 3
    assert not FactChange.objects.exists()


def test_a_column_that_does_not_fit_names_its_field(found: SystemState) -> None:
    with pytest.raises(FactError) as caught:
        facts_change(state=found, corrections=[s3("access", "nowhere")])
    assert caught.value.problems[0].path == "segments[S3].access"


def test_hose_and_metal_line_change_places_in_one_act(found: SystemState) -> None:
    metal = {"material": "copper", "inside_diameter_in": "3/8"}
    facts_change(state=found, corrections=[s3("metal_line", metal), s3("hose", None)])
    assert "hose" not in facts_of(found)


@pytest.mark.parametrize(
    "corrections",
    [
        [s3("length_mm", 1700)],
        [s3("route", [[0, 7], [64, 10]]), s3("length_in", 66)],
        [s3("from_end.clamps", []), s3("to_end.securing", "none")],
        [s3("hose", None), s3("metal_line", {"material": "copper"})],
        [s3("kept", False), s3("product_sku", "H-A1-038"), s3("note", None)],
        [s3("compartments", None), s3("hose.observations", ["cracked"])],
        [Correction("tank", "T1", "top_in", 7), Correction("component", "FLT", "height_in", 9)],
        [Correction("boat", "", "open_boat", True), Correction("fuel", "", "rvp_psi", 9)],
        [Correction("engine", "E1", "minimum_bore_in", "3/8")],
        [Correction("compartment", "ENGINE", "net_volume_ft3", 120)],
    ],
)
def test_undo_gives_back_the_same_bytes(found: SystemState, corrections: list[Correction]) -> None:
    before = document_text(found)
    row: dict[str, Any] = dict(found.segments.filter(ident="S3").values().get())
    changes = facts_change(state=found, corrections=corrections)
    found.refresh_from_db()
    columns = {"kept", "product_sku", "note"}
    if not {change.key for change in changes} <= columns:
        assert document_text(found) != before
    fact_undo(change=changes[0])
    fresh = SystemState.objects.get(pk=found.pk)
    assert document_text(fresh) == before
    after: dict[str, Any] = dict(fresh.segments.filter(ident="S3").values().get())
    assert {name: after[name] for name in columns} == {name: row[name] for name in columns}


def test_an_act_is_taken_back_once(found: SystemState) -> None:
    changes = facts_change(state=found, corrections=[s3("length_in", 70), s3("clips", 5)])
    undone = fact_undo(change=changes[1])
    assert [change.undoes_id for change in undone] == [changes[1].pk, changes[0].pk]
    assert len({change.batch for change in undone}) == 1
    with pytest.raises(Conflict, match="taken back already"):
        fact_undo(change=changes[0])


def test_an_act_is_not_taken_back_over_a_later_correction(found: SystemState) -> None:
    changes = facts_change(state=found, corrections=[s3("length_in", 70), s3("clips", 5)])
    facts_change(state=found, corrections=[s3("length_in", 72)])
    with pytest.raises(Conflict, match="changed again since"):
        fact_undo(change=changes[0])
    assert found.segments.get(ident="S3").clips == 5


def test_what_another_person_changed_meanwhile_is_not_overwritten(found: SystemState) -> None:
    with pytest.raises(Conflict, match="changed meanwhile"):
        facts_change(state=found, corrections=[s3("length_in", 70, seen=60)])


def test_names_and_joins_are_no_facts(found: SystemState) -> None:
    for key in ("id", "from", "service"):
        with pytest.raises(Refused, match="joins the parts"):
            facts_change(state=found, corrections=[s3(key, "X")])


def test_every_change_is_in_the_audit_log_without_its_value(found: SystemState) -> None:
    facts_change(state=found, corrections=[s3("note", "seen by Ada"), s3("clips", 5)])
    entries = AuditEntry.objects.filter(action="fact.change")
    assert [entry.fields["changed"] for entry in entries.order_by("seq")] == [
        ["S3.note"],
        ["S3.clips"],
    ]
    assert "Ada" not in str([entry.fields for entry in entries])


def test_a_change_made_alone_is_its_own_act(found: SystemState) -> None:
    (change,) = facts_change(state=found, corrections=[s3("clips", 5)])
    FactChange.objects.filter(pk=change.pk).update(batch=None)
    change.refresh_from_db()
    assert batch_of(change) == [change]
    fact_undo(change=change)
    assert found.segments.get(ident="S3").clips == 3
