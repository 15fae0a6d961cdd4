"""Events over the wire: who may hand them in, from which device, and one answer for each."""

from __future__ import annotations

import copy
import json
from typing import Any

import jsonschema
import pytest
from django.test import Client
from django.urls import reverse
from drf_spectacular.generators import SchemaGenerator

from shop.models import Cut, JobEvent, Member
from shop.services.events import desk_device, desk_event
from shop.services.tokens import token_create
from tests.shop.working import NOW, Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


def client_of(member: Member) -> Client:
    _token, text = token_create(member=member, name="tablet")
    return Client(headers={"authorization": f"Bearer {text}"})


def post(member: Member, device: object, *events: object) -> Any:
    body = {"device": device, "events": events}
    return client_of(member).post(reverse("api_events"), body, content_type="application/json")


def test_a_technician_hands_in_work(work: Yard) -> None:
    answer = post(work.tech, work.tablet.pk, work.event("note", "S3", text="x"))
    assert [each["result"] for each in answer.json()["results"]] == ["stored"]


@pytest.mark.parametrize("name", ["marisol", "pia"])
def test_who_may_not_work_hands_in_nothing(work: Yard, name: str) -> None:
    member = work.shop.members[name]
    event = work.event("defer", "S3", text="x")
    assert post(member, work.tablet.pk, event).status_code == 403
    assert not JobEvent.objects.exists()


def test_work_before_the_boat_is_safe_is_kept_apart(work: Yard) -> None:
    (result,) = post(work.tech, work.tablet.pk, work.tick("S3", "RL-3", "65")).json()["results"]
    assert result["result"] == "quarantined"
    assert "make-safe" in result["reason"]
    assert not Cut.objects.exists()


def test_a_claimed_lead_waives_nothing(work: Yard) -> None:
    waive = work.event("waive", author=work.shop.lead.pk, test="leak:T1", text="no gauge")
    (result,) = post(work.tech, work.tablet.pk, waive).json()["results"]
    assert result["result"] == "quarantined"
    assert "own word" in result["reason"]


def test_the_desk_takes_no_events_from_outside_and_goes_on(work: Yard) -> None:
    desk = desk_device(work.tech.yard)
    answer = post(work.tech, desk.pk, work.event("note", "S3", text="x", seq=2**53 - 1))
    assert answer.status_code == 409
    assert "on its pages" in answer.json()["detail"]
    desk_event(member=work.tech, work_order=work.work_order, kind="note", now=NOW, text="x")


def test_what_is_no_event_is_answered_and_blocks_none(work: Yard) -> None:
    note, last = (work.event("note", "S3", text=text) for text in ("x", "y"))
    bad = ["x", 7, None, [], {}, {"\ud800": 1}, {**note, "id": "\ud800"}]
    answer = post(work.tech, work.tablet.pk, note, *bad, last)
    assert answer.status_code == 200
    results = answer.json()["results"]
    assert [each["result"] for each in results] == ["stored", *["rejected"] * len(bad), "stored"]
    assert all(each["reason"] for each in results[1:-1])
    assert JobEvent.objects.count() == 2


def nested(depth: int) -> str:
    """The body of a call whose values stand so deep in each other, the batch itself included."""
    return '{"device": 999999, "events": [' + "[" * (depth - 2) + "]" * (depth - 2) + "]}"


@pytest.mark.parametrize("depth", [65, 900, 960, 1_000, 5_000, 200_000])
def test_values_too_deep_in_each_other_are_refused_with_words(work: Yard, depth: int) -> None:
    answer = client_of(work.tech).post(
        reverse("api_events"), nested(depth), content_type="application/json"
    )
    assert answer.status_code == 400
    assert "deep" in answer.json()["detail"]


def test_values_as_deep_as_allowed_are_read(work: Yard) -> None:
    answer = client_of(work.tech).post(
        reverse("api_events"), nested(64), content_type="application/json"
    )
    assert answer.status_code == 404  # there is no such device


@pytest.mark.parametrize("kind", ["application/json", "application/yaml"])
def test_no_address_that_takes_json_is_sunk_by_its_depth(work: Yard, kind: str) -> None:
    """The list of addresses is read from the schema; the one for documents reads YAML too."""
    described = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    taking = [path for path, acts in described["paths"].items() if "post" in acts]
    assert len(taking) >= 2
    for path in taking:
        for depth in (960, 3_000):
            body = '{"a": ' * depth + "1" + "}" * depth
            answer = client_of(work.tech).post(path, body, content_type=kind)
            assert answer.status_code in (400, 415), (path, depth)


def test_every_answer_obeys_the_schema(work: Yard) -> None:
    described = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    responses = described["paths"][reverse("api_events")]["post"]["responses"]
    note = work.event("note", "S3", text="x")
    desk = desk_device(work.tech.yard)
    answers = [
        post(work.tech, work.tablet.pk, note, note, "x", work.event("tick", "S3")),
        post(work.tech, "x"),
        post(work.tech, work.tablet.pk, *["x"] * 501),
        Client().post(reverse("api_events")),
        post(work.shop.members["pia"], work.tablet.pk),
        post(work.tech, 999_999),
        post(work.tech, desk.pk),
    ]
    assert [answer.status_code for answer in answers] == [200, 400, 400, 401, 403, 404, 409]
    for answer in answers:
        content = responses[str(answer.status_code)]["content"]["application/json"]
        whole = {**content["schema"], "components": described["components"]}
        jsonschema.validate(answer.json(), whole, format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize(
    ("batch", "words"),
    [
        ({}, "device: This field is required. events: This field is required."),
        ({"device": "x", "events": []}, "device: A valid integer is required."),
        (
            {"device": 1, "events": 7},
            'events: Expected a list of items but got type "int".',
        ),
        ([], "Invalid data. Expected a dictionary, but got list."),
    ],
)
def test_a_batch_that_is_none_is_refused_in_words_at_its_field(
    work: Yard, batch: object, words: str
) -> None:
    answer = client_of(work.tech).post(
        reverse("api_events"), json.dumps(batch), content_type="application/json"
    )
    assert answer.status_code == 400
    assert answer.json() == {"detail": words}
