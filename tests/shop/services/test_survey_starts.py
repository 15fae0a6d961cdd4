"""A survey starts from a layout, from what was there before, or from a document."""

from __future__ import annotations

import json
from datetime import date

import pytest

from fuelsys.document import InputProblems
from shop.exceptions import FactError
from shop.layouts import LAYOUTS
from shop.models import Engine, Hull, Member, StateKind, Survey, SystemState
from shop.selectors.exports import document_text
from shop.selectors.systems import system_document
from shop.services.layouts import (
    state_to_start_from,
    survey_from_layout,
    survey_from_state,
    survey_from_text,
)
from shop.services.systems import system_copy
from tests.factories import make_hull, make_member, tiny_document
from tests.shop.quoting import Shop, make_shop

pytestmark = pytest.mark.django_db

ON = date(2026, 11, 25)


@pytest.fixture
def shop(db: None) -> Shop:
    """Made by the test itself: tests here say that no survey was stored at all."""
    return make_shop()


@pytest.fixture
def member(db: None) -> Member:
    return make_member()


@pytest.fixture
def hull(member: Member) -> Hull:
    return make_hull(member.yard)


@pytest.mark.parametrize("layout", [each.key for each in LAYOUTS])
def test_every_layout_makes_a_survey(member: Member, hull: Hull, layout: str) -> None:
    survey = survey_from_layout(
        hull=hull, layout=layout, generator=True, surveyed_on=ON, member=member
    )
    rows = list(survey.state.segments.all())
    assert rows
    assert all(row.name and "common practice, no source" in row.note for row in rows)
    assert (survey.surveyor, survey.state.kind) == (member, StateKind.FOUND)


def test_engines_on_file_take_the_layout_s_places(member: Member, hull: Hull) -> None:
    facts = {"mount": "sterndrive", "fuel": "gasoline", "rated_power_hp": 300}
    Engine.objects.create(hull=hull, ident="V8", facts=facts)
    survey = survey_from_layout(
        hull=hull, layout="sterndrive", generator=True, surveyed_on=ON, member=member
    )
    document = system_document(survey.state)
    assert [engine["id"] for engine in document["engines"]] == ["V8", "GEN-M"]
    assert document["engines"][0]["rated_power_hp"] == 300
    feed = next(run for run in document["segments"] if run["id"] == "S3")
    assert feed["engine"] == "V8"


def test_a_name_that_the_layout_uses_is_said(member: Member, hull: Hull) -> None:
    Engine.objects.create(hull=hull, ident="FLT", facts={})
    with pytest.raises(FactError, match="already the id of one of engines"):
        survey_from_layout(
            hull=hull, layout="sterndrive", generator=False, surveyed_on=ON, member=member
        )
    assert not SystemState.objects.exists()


def test_the_boat_s_own_facts_stay(member: Member, hull: Hull) -> None:
    Hull.objects.filter(pk=hull.pk).update(facts={"open_boat": True}, hin="QZX04217D819")
    hull.refresh_from_db()
    survey_from_layout(hull=hull, layout="pwc", generator=False, surveyed_on=ON, member=member)
    hull.refresh_from_db()
    assert hull.facts == {"open_boat": True, "kind": "personal_watercraft"}
    assert hull.hin == "QZX04217D819"


def test_a_survey_continues_from_what_was_there(shop: Shop) -> None:
    earlier = state_to_start_from(shop.hull)
    assert earlier is not None
    assert earlier.kind == StateKind.FOUND
    survey = survey_from_state(state=earlier, surveyed_on=ON, member=shop.writer, notes="again")
    assert document_text(survey.state) == document_text(earlier)
    assert (survey.state.number, survey.state.parent, survey.notes) == (2, earlier, "again")


def test_what_was_installed_comes_before_what_was_found(shop: Shop) -> None:
    installed = system_copy(state=shop.proposed, kind=StateKind.INSTALLED)
    assert state_to_start_from(shop.hull) == installed
    survey = survey_from_state(state=installed, surveyed_on=ON, member=shop.writer)
    row = survey.state.segments.get(ident="S3")
    assert (row.product_sku, row.kept, row.name) == ("", True, "main pick-up to filter")


@pytest.mark.parametrize("form", ["json", "yaml"])
def test_a_document_is_taken_as_it_is(member: Member, hull: Hull, form: str) -> None:
    import yaml

    given = tiny_document()
    text = json.dumps(given) if form == "json" else yaml.safe_dump(given, sort_keys=False)
    survey = survey_from_text(hull=hull, text=text, surveyed_on=ON, member=member)
    assert system_document(survey.state) == given


def test_every_problem_of_a_document_is_named(member: Member, hull: Hull) -> None:
    given = tiny_document()
    given["segments"][0]["hose"]["class"] = "Z9"
    given["tanks"][0]["capacity_gal"] = -1
    with pytest.raises(InputProblems) as caught:
        survey_from_text(hull=hull, text=json.dumps(given), surveyed_on=ON, member=member)
    paths = [problem.path for problem in caught.value.problems]
    assert paths == ["tanks[T1].capacity_gal", "segments[S1].hose.class"]
    assert not Survey.objects.exists()


@pytest.mark.parametrize("text", ["", "{", "[1]", "a: b: c", "42", '{"format": "x"}'])
def test_text_that_is_no_document_is_refused(member: Member, hull: Hull, text: str) -> None:
    with pytest.raises(InputProblems):
        survey_from_text(hull=hull, text=text, surveyed_on=ON, member=member)


def test_a_length_on_file_in_another_unit_gives_way_to_the_document(
    hull: Hull, member: Member
) -> None:
    hull.facts = {**hull.facts, "length_in": 295}
    hull.save()
    text = json.dumps({**tiny_document(), "boat": {"kind": "motorboat", "length_ft": 27.75}})
    survey_from_text(hull=hull, text=text, surveyed_on=ON, member=member)
    hull.refresh_from_db()
    assert hull.facts["length_ft"] == 27.75
    assert "length_in" not in hull.facts
