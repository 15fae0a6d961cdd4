"""The table of heights and lengths as it is sent: twice, late, by halves or by two people."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.test import Client

from shop.models import FactChange, StateKind, SubjectKind, SystemState
from shop.selectors.exports import document_text
from shop.services.corrections import Correction, facts_change
from shop.services.measurements import measurements_correct
from tests.shop.quoting import Shop
from tests.shop.views.measuring import correct, part_of, path_of, said, untouched
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.views.test_boat_facts import correct as correct_part
from tests.shop.views.test_boat_facts import path_of as part_path
from tests.shop.views.test_boat_facts import run_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def test_a_save_counts_once_however_often_it_is_sent(found: SystemState, at_desk: Client) -> None:
    path = path_of(found)
    post = {**untouched(at_desk, path), "segment-S3-length": "70"}
    answers = [send(at_desk, path, post, key="same") for _time in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert answers[0].headers["Location"] == answers[1].headers["Location"]
    assert FactChange.objects.filter(state=found).count() == 1


def test_two_people_do_not_overwrite_each_other(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    mine = untouched(at_desk, path_of(found))
    correct_part(signed_in(shop.members["dov"]), part_path(found), length="66")
    answer: Any = send(at_desk, path_of(found), {**mine, "segment-S3-length": "70"})
    assert answer.status_code == 422
    assert "Length was changed meanwhile and reads 66" in said(answer)
    other = send(at_desk, path_of(found), {**mine, "tank-T1-top": "7"})
    assert other.status_code == 302
    assert run_of(found)["length_in"] == 66
    seen = answer.context["form"].seen_json()  # looked at, and saved all the same
    again = {**mine, "seen": seen, "segment-S3-length": "70"}
    assert send(at_desk, path_of(found), again).status_code == 302
    assert run_of(found)["length_in"] == 70


DEEP = "[" * 100_000  # deeper than any reader of JSON follows


@pytest.mark.parametrize(
    "seen",
    ["", "x", "[]", "3", DEEP, '{"segment-S3": 3}', '{"segment-S3": []}',
     '{"segment-S3": {"length": {}, "hose.inside_diameter": [3]}}'],
)  # fmt: skip
def test_a_form_that_does_not_say_what_it_showed_is_held_against_the_file(
    found: SystemState, at_desk: Client, seen: str
) -> None:
    answer = correct(at_desk, found, seen=seen, **{"segment-S3-length": "70"})
    assert answer.status_code == 302
    assert FactChange.objects.filter(state=found).count() == 1


def test_a_form_that_says_nothing_changes_nothing(found: SystemState, at_desk: Client) -> None:
    before = document_text(found)
    assert send(at_desk, path_of(found), {}).status_code == 302
    assert not FactChange.objects.exists()
    assert document_text(SystemState.objects.get(pk=found.pk)) == before


def test_an_entry_that_is_not_sent_stays_as_it_is(found: SystemState, at_desk: Client) -> None:
    post = untouched(at_desk, path_of(found))
    for name in ("segment-S3-hose-inside_diameter", "tank-T1-top", "segment-S3-route_1_height"):
        post.pop(name, None)
    post |= {"segment-S3-length": "70"}
    assert send(at_desk, path_of(found), post).status_code == 302
    (change,) = FactChange.objects.filter(state=found)
    assert (change.ident, change.key, change.value) == ("S3", "length_in", 70)


def test_an_entry_that_is_emptied_is_no_longer_known(found: SystemState, at_desk: Client) -> None:
    assert correct(at_desk, found, **{"segment-S3-length": ""}).status_code == 302
    (change,) = FactChange.objects.filter(state=found)
    assert (change.key, change.value) == ("length_in", None)


def without_part(post: dict[str, Any], key: str) -> dict[str, Any]:
    """What a page drawn before the part was added sends."""
    seen = {name: was for name, was in json.loads(post["seen"]).items() if name != key}
    kept = {name: said for name, said in post.items() if not name.startswith(f"{key}-")}
    return {**kept, "seen": json.dumps(seen)}


def test_a_part_that_was_not_drawn_stays_as_it_is(found: SystemState, at_desk: Client) -> None:
    path = path_of(found)
    post = {**without_part(untouched(at_desk, path), "segment-S3"), "tank-T1-top": "7"}
    assert send(at_desk, path, post).status_code == 302
    assert {change.ident for change in FactChange.objects.all()} == {"T1"}
    stray = {**post, "tank-T1-top": "8", "segment-S3-length": "70"}
    answer = send(at_desk, path, stray)
    assert answer.status_code == 422
    assert "S3 was not on the page that was sent" in said(answer)
    assert run_of(found)["length_in"] == 64


def test_a_small_bore_is_drawn_as_it_is_read_and_holds_up_no_other(
    found: SystemState, at_desk: Client
) -> None:
    bore = "segment-S3-hose-inside_diameter"
    assert correct(at_desk, found, **{bore: "0.0000000001"}).status_code == 302
    post = untouched(at_desk, path_of(found))
    assert post[bore] == "0.0000000001"
    again = {**post, bore: "0.0000000001 in"}  # its own field reads it
    assert send(at_desk, path_of(found), again).status_code == 302


def test_what_stands_on_file_and_does_not_read_holds_up_no_other(
    found: SystemState, at_desk: Client
) -> None:
    """A document may hold more blanks than an entry takes."""
    number = "1" + " " * 40 + "1/2"
    bore = Correction(SubjectKind.SEGMENT, "S3", "hose.inside_diameter_in", number)
    facts_change(state=found, corrections=[bore])
    assert correct(at_desk, found, **{"tank-T1-top": "7"}).status_code == 302
    assert part_of(found, "tanks", "T1")["top_in"] == 7
    answer = correct(at_desk, found, **{"segment-S3-hose-inside_diameter": number + "4"})
    assert answer.status_code == 422


def test_a_change_made_between_reading_and_saving_is_said(
    found: SystemState, at_desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form was read before the state was locked, and another correction came between."""

    def late(**kwargs: Any) -> list[FactChange]:
        other = [Correction("segment", "S3", "length_in", 66)]
        facts_change(state=kwargs["state"], corrections=other)
        return measurements_correct(**kwargs)

    monkeypatch.setattr("shop.views.corrected.measurements_correct", late)
    answer = correct(at_desk, found, **{"segment-S3-length": "70"})
    assert answer.status_code == 422
    assert "was changed meanwhile and reads 66" in text_of(answer)
    assert 'value="70"' in text_of(answer)
