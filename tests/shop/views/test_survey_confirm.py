"""A document that names another boat, or says otherwise of this one, is looked at first."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from shop.models import Engine, Hull, Survey
from tests.factories import make_hull, tiny_document
from tests.shop.quoting import Shop
from tests.shop.views.pages import send, signed_in, text_of

pytestmark = pytest.mark.django_db

DAY = "2026-09-11"
# A form that is right under 33 CFR 181.25 with a made-up maker's code; not the document's.
OTHER_HIN = "QZX04218A819"


@pytest.fixture
def hull(shop: Shop) -> Hull:
    hull = make_hull(shop.hull.yard, "Named Boat")
    hull.hin = hull.hin_as_read = OTHER_HIN
    hull.facts = {"kind": "motorboat", "built": "2019", "length_in": 240}
    hull.save()
    return hull


@pytest.fixture
def client(shop: Shop) -> Client:
    return signed_in(shop.writer)


def document(**boat: Any) -> str:
    made = tiny_document()
    made["boat"] |= boat
    return json.dumps(made)


def start(client: Client, hull: Hull, text: str, **typed: Any) -> Any:
    fields = {
        "surveyed_on": DAY,
        "fuel_seen": "no",
        "source": "document",
        "complaint": "Smell",
        "text": text,
    }
    return send(client, reverse("survey_new", args=[hull.pk]), {**fields, **typed})


def test_another_boat_s_number_is_shown_beside_the_one_on_file(client: Client, hull: Hull) -> None:
    answer = start(client, hull, document())
    html = text_of(answer)
    assert answer.status_code == 409
    for words in ("names another boat", OTHER_HIN, "QZX04217D819", "Nothing is stored yet"):
        assert words in html
    rows = [(c.words, c.on_file, c.in_document) for c in answer.context["incoming"].changes]
    assert rows == [("Built", "2019", "2018-04")]
    assert not Survey.objects.filter(hull=hull).exists()
    assert Hull.objects.get(pk=hull.pk).hin == OTHER_HIN


def test_a_file_and_all_that_was_typed_come_along(client: Client, hull: Hull) -> None:
    upload = SimpleUploadedFile("boat.json", document().encode())
    asked = start(client, hull, "", file=upload, notes="Aft hatch stuck")
    carried = {field.name: field.value() or "" for field in
               asked.context["form"] if field.name != "file"}  # fmt: skip
    assert "Aft hatch stuck" in text_of(asked)
    back = start(client, hull, **{**carried, "boat_facts": "back"})
    assert back.status_code == 422
    assert back.context["form"]["text"].value() == document()
    assert back.context["form"]["notes"].value() == "Aft hatch stuck"
    assert not Survey.objects.filter(hull=hull).exists()


def test_what_is_on_file_is_kept(client: Client, hull: Hull) -> None:
    Engine.objects.create(hull=hull, ident="OBM", facts={"mount": "inboard"})
    assert start(client, hull, document(), boat_facts="keep").status_code == 302
    hull.refresh_from_db()
    assert (hull.hin, hull.facts["built"]) == (OTHER_HIN, "2019")
    assert hull.facts["model_year"] == 2019  # not on file before, so nothing is lost
    assert hull.engines.get().facts["mount"] == "inboard"


def test_what_the_document_says_is_taken(client: Client, hull: Hull) -> None:
    known = {"mount": "inboard", "rated_power_hp": 150}
    Engine.objects.create(hull=hull, ident="OBM", facts=known)
    assert start(client, hull, document(), boat_facts="take").status_code == 302
    hull.refresh_from_db()
    assert (hull.hin, hull.facts["built"]) == ("QZX04217D819", "2018-04")
    # What the document does not say of the engine stays.
    facts = hull.engines.get().facts
    assert (facts["mount"], facts["rated_power_hp"]) == ("outboard", 150)


def test_the_same_boat_says_which_facts_change(client: Client, hull: Hull) -> None:
    Engine.objects.create(hull=hull, ident="OBM", facts={"mount": "inboard", "fuel": "gasoline"})
    answer = start(client, hull, document(hin="qzx-04218-a819", built="2019", length_ft=21))
    assert answer.status_code == 409
    assert "says otherwise of this boat" in text_of(answer)
    rows = [(c.words, c.on_file, c.in_document) for c in answer.context["incoming"].changes]
    assert rows == [
        ("Length", "240 in", "21 ft"),
        ("Mount of engine OBM", "inboard", "outboard"),
    ]


@pytest.mark.parametrize("boat", [{"length_ft": 20}, {"length_in": 240}])
def test_what_agrees_is_not_asked_again(client: Client, hull: Hull, boat: dict[str, Any]) -> None:
    """20 ft are 240 in."""
    text = document(hin=OTHER_HIN, built="2019", **boat)
    assert start(client, hull, text).status_code == 302


def test_a_number_that_does_not_decode_stays_on_file(client: Client, hull: Hull) -> None:
    hull.hin, hull.hin_as_read = "", "WORN-AWAY-1"
    hull.save()
    assert start(client, hull, document()).status_code == 409
    assert start(client, hull, document(), boat_facts="keep").status_code == 302
    hull.refresh_from_db()
    assert (hull.hin, hull.hin_as_read) == ("", "WORN-AWAY-1")


def test_a_survey_starts_from_nothing_that_was_not_chosen(client: Client, hull: Hull) -> None:
    form = client.get(reverse("survey_new", args=[hull.pk])).context["form"]
    assert not form["source"].value()
    assert not form["layout"].value()
    answer = send(client, reverse("survey_new", args=[hull.pk]), {"surveyed_on": DAY})
    assert answer.status_code == 422
    assert not Survey.objects.filter(hull=hull).exists()
