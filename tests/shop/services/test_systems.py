"""Fuel systems: stored whole, corrected fact by fact, undone, proposed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fuelsys.document import read_object
from shop import demo
from shop.exceptions import Conflict, FactError, Refused
from shop.models import AuditEntry, FactChange, Hull, Segment, StateKind, SystemState
from shop.selectors.systems import change_newest, state_newest, system_document
from shop.services.systems import fact_change, fact_undo, proposal_start, system_store
from tests import factories as make
from tests.shop.services.racing import race

pytestmark = pytest.mark.django_db

DEMO_DATA = Path(demo.__path__[0]) / "data"
DEMO = sorted(DEMO_DATA.glob("*-found.json")) + sorted(DEMO_DATA.glob("*-proposed.json"))


@pytest.fixture
def hull() -> Hull:
    return make.make_hull(make.make_yard())


@pytest.fixture
def found(hull: Hull) -> SystemState:
    return make.make_found(hull)


def read(state: SystemState) -> dict[str, Any]:
    """The document from the database, not from what the test holds in memory."""
    return system_document(SystemState.objects.select_related("hull").get(pk=state.pk))


def change(state: SystemState, key: str, value: Any, **where: Any) -> FactChange | None:
    return fact_change(
        state=state, key=key, value=value, **{"subject_kind": "segment", "ident": "S1", **where}
    )


def made(state: SystemState, key: str, value: Any, **where: Any) -> FactChange:
    done = change(state, key, value, **where)
    assert done is not None
    return done


def test_there_are_six_demo_documents() -> None:
    assert len(DEMO) == 6


def test_a_document_comes_back_as_it_went_in(found: SystemState) -> None:
    assert read(found) == make.TINY


@pytest.mark.parametrize("name", [path.name for path in DEMO])
def test_the_demo_boats_come_back_with_the_same_hash(hull: Hull, name: str) -> None:
    """Whole documents, through the database's JSON: numbers, order of lists and all."""
    document = json.loads((DEMO_DATA / name).read_text())
    state = system_store(hull=hull, kind=StateKind.FOUND, document=document)
    assert read_object(read(state)).sha256 == read_object(document).sha256


def test_storing_fills_the_boat_and_its_columns(hull: Hull, found: SystemState) -> None:
    hull.refresh_from_db()
    assert (hull.hin, hull.hin_as_read) == ("QZX04217D819", "QZX04217D819")
    assert "hin" not in hull.facts
    segment = Segment.objects.get()
    assert (segment.service, segment.from_ident, segment.to_ident) == ("feed", "T1-P", "ENG")
    assert "service" not in segment.facts
    assert [component.kind for component in found.components.all()] == [
        "withdrawal",
        "engine_inlet",
    ]


def test_states_of_a_kind_are_numbered(hull: Hull) -> None:
    numbers = [make.make_found(hull).number for _survey in range(3)]
    assert numbers == [1, 2, 3]
    newest = state_newest(hull, StateKind.FOUND)
    assert newest is not None
    assert newest.number == 3
    assert state_newest(hull, StateKind.INSTALLED) is None


def test_storing_again_does_not_double_the_engines(hull: Hull) -> None:
    make.make_found(hull)
    document = make.tiny_document()
    document["engines"].append({"id": "GEN", "use": "generator"})
    make.make_found(hull, document)
    assert [engine.ident for engine in hull.engines.all()] == ["OBM", "GEN"]


def test_a_document_that_does_not_read_is_refused_with_every_problem(hull: Hull) -> None:
    document = make.tiny_document()
    document["tanks"][0]["capacity_gal"] = "much"
    document["segments"][0]["to"] = "NOWHERE"
    with pytest.raises(FactError) as error:
        system_store(hull=hull, kind=StateKind.FOUND, document=document)
    assert [problem.path for problem in error.value.problems] == [
        "tanks[T1].capacity_gal",
        "segments[S1].to",
    ]
    assert not SystemState.objects.exists()
    assert not hull.engines.exists()


@pytest.mark.parametrize(
    ("where", "key", "value"),
    [
        ({}, "length_in", 97),
        ({}, "length_in", "97-1/2"),
        ({}, "hose.condition", "good"),
        ({}, "hose.marking", "USCG TYPE B1-15 2019"),
        ({}, "to_end.clamps[1].kind", "worm_drive"),
        ({}, "route", [[0, 9], [96.5, 20]]),
        ({}, "hose.inside_diameter_in", None),
        ({}, "access", "buried"),
        ({}, "clips", 3),
        ({"subject_kind": "tank", "ident": "T1"}, "surface_in", 7.5),
        ({"subject_kind": "component", "ident": "T1-P"}, "height_in", 9.5),
        ({"subject_kind": "compartment", "ident": "CHASE"}, "sun", True),
        ({"subject_kind": "engine", "ident": "OBM"}, "model_year", 2019),
        ({"subject_kind": "boat", "ident": ""}, "length_ft", 23.33),
        ({"subject_kind": "boat", "ident": ""}, "hin", "QZX04217D818"),
        ({"subject_kind": "fuel", "ident": ""}, "ethanol_pct", 0),
    ],
)
def test_a_fact_is_kept_as_typed_and_taken_back(
    found: SystemState, where: dict[str, str], key: str, value: Any
) -> None:
    before = read(found)
    columns = Segment.objects.values("access", "clips").get()
    done = made(found, key, value, **where)
    found.refresh_from_db()
    assert (done.value, done.revision, found.revision) == (value, 2, 2)
    if key not in columns:
        assert read(found) != before
    fact_undo(change=done)
    assert read(found) == before
    assert Segment.objects.values("access", "clips").get() == columns
    found.refresh_from_db()
    assert found.revision == 3


def test_another_unit_replaces_the_first_and_undo_brings_it_back(found: SystemState) -> None:
    done = made(found, "length_mm", 2450)
    segment = read(found)["segments"][0]
    assert segment["length_mm"] == 2450
    assert "length_in" not in segment
    assert (done.previous_key, done.previous) == ("length_in", 96.5)
    fact_undo(change=done)
    assert read(found)["segments"][0]["length_in"] == 96.5


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("length_in", "long", 'This says "long". It should be a number'),
        ("length_in", -3, "a number above 0"),
        ("hose.condition", "splendid", "do_not_run"),
        ("hose.clas", "A1", "class"),
        ("length_in", float("nan"), "size that a boat can have"),
        ("access", "underwater", "underwater"),
        ("clips", -1, "0"),
        ("note", "x" * 301, "300"),
    ],
)
def test_a_bad_value_is_refused_in_words_and_nothing_changes(
    found: SystemState, key: str, value: Any, words: str
) -> None:
    before = read(found)
    with pytest.raises(FactError, match=words):
        change(found, key, value)
    found.refresh_from_db()
    assert (read(found), found.revision) == (before, 1)
    assert not FactChange.objects.exists()


@pytest.mark.parametrize("key", ["id", "from", "to", "service"])
def test_what_joins_the_system_is_no_fact(found: SystemState, key: str) -> None:
    with pytest.raises(Refused, match="joins the parts"):
        change(found, key, "ENG")


def test_an_unknown_subject_or_path_is_refused_by_name(found: SystemState) -> None:
    with pytest.raises(Refused, match="S9"):
        change(found, "length_in", 1, ident="S9")
    with pytest.raises(Refused, match="whole list"):
        change(found, "to_end.clamps[7].kind", "ear")


def test_the_same_value_again_is_no_change(found: SystemState) -> None:
    assert change(found, "length_in", 96.5) is None
    found.refresh_from_db()
    assert found.revision == 1


def test_a_value_that_another_person_changed_meanwhile_is_not_overwritten(
    found: SystemState,
) -> None:
    made(found, "length_in", 97, seen=96.5)
    with pytest.raises(Conflict, match="reads 97"):
        change(found, "length_in", 98, seen=96.5)
    assert read(found)["segments"][0]["length_in"] == 97


def test_undo_is_for_the_value_that_stands(found: SystemState) -> None:
    first = made(found, "length_in", 97)
    second = made(found, "length_in", 98)
    with pytest.raises(Conflict, match="changed again"):
        fact_undo(change=first)
    fact_undo(change=second)
    with pytest.raises(Conflict, match="taken back already"):
        fact_undo(change=second)
    assert change_newest(found) == first
    fact_undo(change=first)
    assert read(found)["segments"][0]["length_in"] == 96.5
    assert change_newest(found) is None


def test_an_undo_can_be_undone(found: SystemState) -> None:
    (undone,) = fact_undo(change=made(found, "length_mm", 2450))
    fact_undo(change=undone)
    assert read(found)["segments"][0]["length_mm"] == 2450


def test_installed_facts_are_a_record(hull: Hull) -> None:
    state = system_store(hull=hull, kind=StateKind.INSTALLED, document=make.tiny_document())
    with pytest.raises(Refused, match="is a record"):
        change(state, "length_in", 1)


def test_a_proposal_is_a_copy_with_bad_segments_marked(found: SystemState) -> None:
    document = make.tiny_document()
    grades = ["good", "watch", "not_seen", None, "replace_soon", "replace_now", "do_not_run"]
    segments = []
    for number, grade in enumerate(grades):
        segment = json.loads(json.dumps(document["segments"][0]))
        segment["id"] = f"S{number}"
        segment["hose"]["condition"] = grade
        segments.append(segment)
    state = make.make_found(found.hull, {**document, "segments": segments})
    state.segments.filter(ident="S4").update(access="blind", clips=2, note="behind the panel")
    proposal = proposal_start(found=state)
    assert (proposal.kind, proposal.number, proposal.parent) == ("proposed", 1, state)
    assert read(proposal) == read(state)
    marked = proposal.segments.filter(kept=False)
    assert [segment.ident for segment in marked] == ["S4", "S5", "S6"]
    copied = proposal.segments.get(ident="S4")
    assert (copied.access, copied.clips, copied.note) == ("blind", 2, "behind the panel")
    made(proposal, "length_in", 50, ident="S4")
    assert read(state)["segments"][4]["length_in"] == 96.5


def test_a_proposal_starts_from_a_survey_only(found: SystemState) -> None:
    with pytest.raises(Refused, match="Choose a survey"):
        proposal_start(found=proposal_start(found=found))


def test_changes_are_in_the_log_without_their_values(found: SystemState) -> None:
    made(found, "note", "Call Ada Test")
    entry = AuditEntry.objects.get(action="fact.change")
    assert entry.fields["changed"] == ["S1.note"]
    assert "Ada" not in json.dumps(entry.fields)


@pytest.mark.django_db(transaction=True)
def test_corrections_at_once_are_all_kept() -> None:
    """Eight people correct eight facts of one hose: every one is there in the end."""
    found = make.make_found(make.make_hull(make.make_yard()))
    facts = {
        "length_in": 90, "hose.made": 2019, "hose.cover": "black", "hose.lined": True,
        "hose.condition": "watch", "hose.wire_helix": False, "to_end.shape": "smooth", "clips": 4,
    }  # fmt: skip
    results = race(
        [lambda key=key, value=value: change(found, key, value) for key, value in facts.items()]  # type: ignore[misc]
    )
    assert all(isinstance(result, FactChange) for result in results), results
    segment = Segment.objects.get()
    assert segment.facts["length_in"] == 90
    assert segment.facts["hose"] == {
        "class": "B1", "inside_diameter_in": "3/8", "condition": "watch", "made": 2019,
        "cover": "black", "lined": True, "wire_helix": False,
    }  # fmt: skip
    assert (segment.facts["to_end"]["shape"], segment.clips) == ("smooth", 4)
    found.refresh_from_db()
    assert found.revision == 9
