"""Starting a survey from its page."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from shop.models import Hull, Member, StateKind, Survey, SystemState
from shop.selectors.systems import system_document
from shop.services.corrections import fact_change, fact_undo
from tests.factories import make_hull, tiny_document
from tests.shop.quoting import Shop
from tests.shop.views.pages import errors_of, send, signed_in, text_of

pytestmark = pytest.mark.django_db

DAY = {"surveyed_on": "2026-09-11", "fuel_seen": "no"}


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def bare(shop: Shop) -> Hull:
    return make_hull(shop.hull.yard, "Bare Boat")


def path_of(hull: Hull) -> str:
    return reverse("survey_new", args=[hull.pk])


def start(client: Client, hull: Hull, key: str | None = None, **typed: Any) -> Any:
    return send(client, path_of(hull), {**DAY, **typed}, key=key)


@pytest.mark.parametrize("who", ["ingrid", "marisol", "dov"])
def test_a_survey_starts_from_a_layout(shop: Shop, bare: Hull, who: str) -> None:
    client = signed_in(shop.members[who])
    answer = start(
        client, bare, source="layout", layout="sterndrive", generator="on", complaint="Smell"
    )
    assert answer.status_code == 302
    survey = Survey.objects.get(hull=bare)
    assert (survey.surveyor, survey.complaint) == (shop.members[who], "Smell")
    html = text_of(client.get(answer.headers["Location"]))
    assert "The survey is begun" in html
    assert "not measured" in html
    assert "Cannot tell" in html


@pytest.mark.parametrize("answer", ["yes", "no", "unasked"])
def test_a_smell_stands_in_the_finding_on_leaks_and_no_smell_is_no_pass(
    shop: Shop, at_desk: Client, bare: Hull, answer: str
) -> None:
    made = start(
        at_desk, bare, source="layout", layout="sterndrive", generator="on", fuel_seen=answer
    )
    html = text_of(at_desk.get(made.headers["Location"]))
    smelled = "Fuel was smelled or seen at the survey. Cannot tell whether it leaks"
    who = "whoever surveys her looks along every run and into the bilge"
    assert (smelled in html, who in html) == (answer == "yes", answer == "yes")
    assert ("Cannot tell whether fuel leaks or lies in the bilge." in html) == (answer != "yes")
    assert "No fuel leaks, and none lies in the bilge." not in html


def test_grades_that_were_carried_over_are_told_until_they_are_entered(
    shop: Shop, at_desk: Client
) -> None:
    assert start(at_desk, shop.hull, source="copy").status_code == 302
    survey = Survey.objects.order_by("pk").last()
    assert survey is not None
    page = reverse("boat_state", args=[shop.hull.pk, "found"])
    state, told = survey.state, "No hose grade was entered at this survey for"
    graded = [row.ident for row in state.segments.all() if "condition" in row.facts["hose"]]
    html = text_of(at_desk.get(page))
    assert f"{told} {', '.join(graded)}. Theirs are carried over from the survey of" in html
    change = fact_change(
        state=state, subject_kind="segment", ident=graded[0], key="hose.condition", value="watch"
    )
    assert f"{told} {', '.join(graded[1:])}." in text_of(at_desk.get(page))
    assert change is not None
    fact_undo(change=change)
    assert f"{told} {', '.join(graded)}." in text_of(at_desk.get(page))
    assert told not in text_of(at_desk.get(reverse("boat_state", args=[shop.hull.pk, "proposed"])))


def test_a_survey_continues_from_the_one_before(shop: Shop, at_desk: Client) -> None:
    html = text_of(at_desk.get(path_of(shop.hull)))
    assert "What the survey before found" in html
    assert start(at_desk, shop.hull, source="copy").status_code == 302
    states = SystemState.objects.filter(hull=shop.hull, kind=StateKind.FOUND).order_by("number")
    first, second = (system_document(state) for state in states)
    assert first == second


def test_a_bare_boat_has_nothing_to_continue_from(bare: Hull, at_desk: Client) -> None:
    assert 'value="copy"' not in text_of(at_desk.get(path_of(bare)))
    assert start(at_desk, bare, source="copy").status_code == 422


@pytest.mark.parametrize("by", ["text", "file"])
def test_a_document_is_taken_from_text_or_file(bare: Hull, at_desk: Client, by: str) -> None:
    text = json.dumps(tiny_document())
    given: Any = text if by == "text" else SimpleUploadedFile("boat.json", text.encode())
    answer = start(at_desk, bare, source="document", **{by: given})
    assert answer.status_code == 302, errors_of(answer)
    assert system_document(Survey.objects.get(hull=bare).state) == tiny_document()


@pytest.mark.parametrize("by", ["text", "file"])
def test_every_problem_of_a_document_is_listed_and_the_text_stays(
    bare: Hull, at_desk: Client, by: str
) -> None:
    document = tiny_document()
    document["segments"][0]["hose"]["class"] = "Z9"
    document["tanks"][0]["capcity_gal"] = 3
    text = json.dumps(document)
    given: Any = text if by == "text" else SimpleUploadedFile("boat.json", text.encode())
    answer = start(at_desk, bare, source="document", **{by: given})
    html = text_of(answer)
    assert answer.status_code == 422
    for expected in (
        "<code>tanks[T1].capcity_gal</code>",
        "capacity_gal",
        "<code>segments[S1].hose.class</code>",
        "Z9",
        "2 to correct",
        "capcity_gal&quot;: 3",
    ):
        assert expected in html
    assert not Survey.objects.filter(hull=bare).exists()


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"source": "layout", "layout": ""}, "layout", "No layout is chosen"),
        ({"source": "layout", "layout": "submarine"}, "layout", "not one of the choices"),
        ({"source": "dream"}, "source", "not one of the choices"),
        ({"source": ""}, "source", "is needed"),
        ({"source": "document"}, "text", "No document is here"),
        ({"source": "document", "text": "{"}, "text", "does not read"),
        ({"source": "layout", "layout": "pwc", "surveyed_on": ""}, "surveyed_on", "needed"),
        ({"source": "layout", "layout": "pwc", "surveyed_on": "soon"}, "surveyed_on", "not a day"),
        ({"source": "layout", "layout": "pwc", "surveyed_on": "2199-01-01"}, "surveyed_on",
         "still to come"),
        ({"source": "layout", "layout": "pwc", "complaint": "x" * 2001}, "complaint", "Shorten"),
    ],
)  # fmt: skip
def test_bad_input_is_said_beside_its_field(
    bare: Hull, at_desk: Client, typed: dict[str, str], field: str, message: str
) -> None:
    answer = start(at_desk, bare, notes="kept while wrong", **typed)
    assert answer.status_code == 422
    assert message in " ".join(errors_of(answer)[field])
    assert "kept while wrong" in text_of(answer)
    assert not Survey.objects.filter(hull=bare).exists()


@pytest.mark.parametrize(
    ("content", "message"), [(b"\xff\xfe\x00", "not text in UTF-8"), (b"x" * 1_000_001, "larger")]
)
def test_a_file_that_is_no_text_or_too_large(
    bare: Hull, at_desk: Client, content: bytes, message: str
) -> None:
    upload = SimpleUploadedFile("boat.json", content)
    answer = start(at_desk, bare, source="document", file=upload)
    assert answer.status_code == 422
    assert message in " ".join(errors_of(answer)["file"])


def test_a_name_that_the_layout_uses_is_said_above_the_form(bare: Hull, at_desk: Client) -> None:
    bare.engines.create(ident="FLT", facts={})
    answer = start(at_desk, bare, source="layout", layout="sterndrive")
    assert answer.status_code == 422
    assert "already the id of one of engines" in text_of(answer)


def test_a_survey_is_begun_once(bare: Hull, at_desk: Client) -> None:
    for _time in range(2):
        answer = start(at_desk, bare, source="layout", layout="pwc", key="same")
        assert answer.status_code == 302
    assert Survey.objects.filter(hull=bare).count() == 1


def test_the_doors(shop: Shop, bare: Hull, stranger: Member) -> None:
    path = path_of(bare)
    assert Client().get(path).status_code == 302
    assert signed_in(stranger).get(path).status_code == 404
    pia = signed_in(shop.members["pia"])
    assert (pia.get(path).status_code, start(pia, bare).status_code) == (403, 403)
    writer = signed_in(shop.writer)
    assert writer.put(path).status_code == 405
    assert writer.post(path, DAY).status_code == 400


LAYOUT = {"source": "layout", "layout": "sterndrive"}


def test_whether_fuel_is_smelled_is_asked_first_and_must_be_answered(
    bare: Hull, at_desk: Client
) -> None:
    html = text_of(at_desk.get(path_of(bare)))
    assert html.index("Is fuel smelled now") < html.index("Surveyed on")
    answer = start(at_desk, bare, **LAYOUT, fuel_seen="")
    assert answer.status_code == 422
    assert "needed" in str(errors_of(answer)["fuel_seen"])


def test_fuel_that_is_smelled_marks_the_boat(shop: Shop, bare: Hull) -> None:
    """Common practice, no source: nobody starts or switches anything while fuel is about."""
    client = signed_in(shop.members["dov"])
    answer = start(client, bare, **LAYOUT, fuel_seen="yes")
    stop = bare.do_not_run.get()
    assert stop.set_by == shop.members["dov"]
    assert stop.reason == (
        "Fuel was smelled or seen at the survey of 11 September 2026. Do not start, do not switch "
        "anything aboard; people off."
    )
    html = text_of(client.get(answer.headers["Location"]))
    assert stop.reason in html
    assert start(client, bare, source="copy", fuel_seen="yes").status_code == 302
    assert bare.do_not_run.count() == 1


@pytest.mark.parametrize(
    ("said", "words"),
    [("no", ""), ("unasked", "Nobody has said whether fuel is smelled or seen.")],
)
def test_no_smell_marks_nothing_and_no_answer_is_said(
    bare: Hull, at_desk: Client, said: str, words: str
) -> None:
    answer = start(at_desk, bare, **LAYOUT, fuel_seen=said)
    assert not bare.do_not_run.exists()
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert words in html
    assert ("Nobody has said" in html) is bool(words)


@pytest.mark.parametrize(("said", "stops"), [("yes", 1), ("no", 0)])
def test_what_was_not_asked_is_answered_on_the_boats_page(
    shop: Shop, bare: Hull, said: str, stops: int
) -> None:
    client = signed_in(shop.members["dov"])
    found = start(client, bare, **LAYOUT, fuel_seen="unasked").headers["Location"]
    survey = Survey.objects.get(hull=bare)
    path = reverse("survey_fuel_seen", args=[survey.pk])
    assert path in text_of(client.get(found))
    assert path not in text_of(signed_in(shop.members["pia"]).get(f"/boats/{bare.pk}/"))
    for typed in ({}, {"fuel_seen": "unasked"}, {"fuel_seen": "x"}):
        assert send(client, path, typed).status_code == 409
    for _time in range(2):
        answer = send(client, path, {"fuel_seen": said}, key="same")
        assert (answer.status_code, answer.headers["Location"]) == (302, found)
    survey.refresh_from_db()
    assert survey.fuel_seen == said
    assert bare.do_not_run.count() == stops
    html = text_of(client.get(found))
    assert path not in html
    assert "Nobody has said" not in html
    late = send(client, path, {"fuel_seen": "no"})
    assert late.status_code == 302
    assert "answered already" in text_of(client.get(found))
    survey.refresh_from_db()
    assert survey.fuel_seen == said
