"""Proposing from the page: what fits, what is refused and why, and back again."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import FactChange, Hull, Member, Quote, Segment, StateKind, SystemState
from shop.services import quotes
from shop.services.surveys import survey_create
from tests.factories import DAY, make_hull, tiny_document
from tests.shop.quoting import ISSUED, Shop, make_draft
from tests.shop.views.pages import send, signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


def propose(
    client: Client, state: SystemState, ident: str = "S3", key: str | None = None, **typed: Any
) -> Any:
    path = reverse("segment_propose", args=[state.pk, ident])
    return send(client, path, {"product": "H-A1-038", **typed}, key=key)


def row_of(state: SystemState, ident: str = "S3") -> Segment:
    return state.segments.get(ident=ident)


def found_of(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


@pytest.fixture
def surveyed(shop: Shop) -> Hull:
    hull = make_hull(shop.hull.yard, "Surveyed Boat")
    survey_create(hull=hull, document=tiny_document(), surveyed_on=DAY)
    return hull


def test_a_proposal_starts_from_the_survey(surveyed: Hull, at_desk: Client) -> None:
    page = text_of(at_desk.get(reverse("boat_detail", args=[surveyed.pk])))
    assert "Propose hoses" in page
    path = reverse("proposal_new", args=[surveyed.pk])
    answers = [send(at_desk, path, {}, key="same") for _time in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    state = SystemState.objects.get(hull=surveyed, kind=StateKind.PROPOSED)
    assert not row_of(state, "S1").kept  # its grade is replace now
    page = text_of(at_desk.get(answers[0].headers["Location"]))
    assert "Segments as proposed" in page
    assert "no hose chosen" in page
    assert "Start a quote" in page


def test_a_draft_that_is_being_written_is_opened_and_no_second_one_started(
    shop: Shop, at_desk: Client
) -> None:
    page = reverse("boat_state", args=[shop.hull.pk, "proposed"])
    start = reverse("quote_new", args=[shop.hull.pk, shop.proposed.pk])
    assert start in text_of(at_desk.get(page))
    draft = make_draft(shop)
    html = text_of(at_desk.get(page))
    assert f'href="{reverse("quote_detail", args=[draft.pk])}">Open the draft</a>' in html
    assert start not in html
    found = text_of(at_desk.get(reverse("boat_state", args=[shop.hull.pk, "found"])))
    assert "Open the draft" not in found
    quotes.quote_issue(member=shop.lead, quote=draft, at=ISSUED)
    assert "Open the draft" not in text_of(at_desk.get(page))


def test_a_proposal_without_a_survey_is_refused(shop: Shop, at_desk: Client) -> None:
    hull = make_hull(shop.hull.yard, "Bare Boat")
    answer = send(at_desk, reverse("proposal_new", args=[hull.pk]), {})
    assert answer.status_code == 409
    assert "Survey the boat first" in text_of(answer)


def test_a_product_is_proposed_and_taken_back(shop: Shop, at_desk: Client) -> None:
    answer = propose(at_desk, shop.proposed, product="H-B1-038", accept="on")
    assert answer.status_code == 302
    assert row_of(shop.proposed).product_sku == "H-B1-038"
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "Product of S3 set to H-B1-038" in html
    assert "S3, law: pass to fail." in html
    change = int(answer.headers["Location"].rpartition("=")[2])
    send(at_desk, reverse("change_undo", args=[change]), {})
    assert row_of(shop.proposed).product_sku == "H-A1-038"


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"product": "H-B1-038"}, "does not pass on S3"),
        ({"product": ""}, "No product is chosen"),
        ({"product": "H-NONE"}, "not one of the choices"),
        ({"clamp": "C-WP-M"}, "C-WP-M is not for fuel: its band is perforated and its screw "
         "plated. C-SB-M fits this hose."),
        ({"clamp": "C-SB-XL"}, "does not close to H-A1-038"),
        ({"clamp": "C-NONE"}, "not one of the choices"),
    ],
)  # fmt: skip
def test_what_is_refused_is_said_on_the_page(
    shop: Shop, at_desk: Client, typed: dict[str, str], message: str
) -> None:
    answer = propose(at_desk, shop.proposed, **typed)
    html = text_of(answer)
    assert answer.status_code == 422
    assert message in html
    assert 'class="drawing d-desk"' in html
    if typed.get("clamp", "C-NONE") != "C-NONE":
        assert f'value="{typed["clamp"]}" selected' in html
    assert not FactChange.objects.exists()


def test_a_proposal_of_a_product_counts_once(shop: Shop, at_desk: Client) -> None:
    for _time in range(2):
        answer = propose(at_desk, shop.proposed, product="H-B1-038", accept="on", key="same")
        assert answer.status_code == 302
    made = FactChange.objects.filter(key="product_sku")
    assert [change.value for change in made] == ["H-B1-038"]


def test_keep_as_found(shop: Shop, at_desk: Client) -> None:
    path = reverse("segment_keep", args=[shop.proposed.pk, "S3"])
    answer = send(at_desk, path, {})
    assert answer.status_code == 302
    row = row_of(shop.proposed)
    assert (row.kept, row.product_sku, row.facts["hose"]["class"]) == (True, "", "B1")
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "Keep as found" not in html


def test_a_valve_is_proposed_at_its_pick_up(shop: Shop, at_desk: Client) -> None:
    keep = reverse("component_keep", args=[shop.proposed.pk, "T1-G"])
    assert send(at_desk, keep, {}).status_code == 302
    part = shop.proposed.components.get(ident="T1-G")
    assert (part.product_sku, part.facts["anti_siphon"]) == ("", "none")
    path = reverse("component_propose", args=[shop.proposed.pk, "T1-G"])
    answer = send(at_desk, path, {"product": "F-ASV-031"})
    assert answer.status_code == 302
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "S6, law: fail to pass." in html
    for sku in ("", "H-A1-038"):
        assert send(at_desk, path, {"product": sku}).status_code == 422


def test_a_quote_is_started_from_the_proposal(shop: Shop, at_desk: Client) -> None:
    path = reverse("quote_new", args=[shop.hull.pk, shop.proposed.pk])
    assert send(at_desk, path, {}).status_code == 302
    assert Quote.objects.get().proposed == shop.proposed


def test_a_run_whose_bore_is_not_measured_is_said_to_wait(shop: Shop, at_desk: Client) -> None:
    row = row_of(shop.proposed)
    del row.facts["hose"]["inside_diameter_in"]
    row.save()
    path = reverse("boat_state", args=[shop.hull.pk, "proposed"])
    html = text_of(at_desk.get(path, {"segment": "S3"}))
    assert "No product on the price list fits this run." in html
    assert "Propose the chosen one" not in html


def test_products_are_not_chosen_in_a_survey(shop: Shop, at_desk: Client) -> None:
    answer = propose(at_desk, found_of(shop))
    assert answer.status_code == 422
    assert row_of(found_of(shop)).product_sku == ""
    keep = reverse("segment_keep", args=[found_of(shop).pk, "S3"])
    assert "chosen in the proposal" in text_of(
        at_desk.post(keep, {"idempotency_key": "k"}, follow=True)
    )


DOORS = [
    ("proposal_new", lambda shop: [shop.hull.pk]),
    ("segment_propose", lambda shop: [shop.proposed.pk, "S3"]),
    ("segment_keep", lambda shop: [shop.proposed.pk, "S3"]),
    ("component_propose", lambda shop: [shop.proposed.pk, "T1-G"]),
    ("component_keep", lambda shop: [shop.proposed.pk, "T1-G"]),
]


@pytest.mark.parametrize(("name", "args"), DOORS)
def test_the_doors(shop: Shop, stranger: Member, name: str, args: Any) -> None:
    path = reverse(name, args=args(shop))
    assert Client().post(path, {"idempotency_key": "k"}).status_code == 302
    assert send(signed_in(stranger), path, {}).status_code == 404
    for who in ("dov", "pia"):
        assert send(signed_in(shop.members[who]), path, {}).status_code == 403
    assert signed_in(shop.writer).get(path).status_code == 405
    assert signed_in(shop.writer).post(path, {}).status_code == 400
    assert not FactChange.objects.exists()


@pytest.mark.parametrize("name", ["segment_propose", "segment_keep"])
def test_a_segment_that_is_not_there(shop: Shop, at_desk: Client, name: str) -> None:
    path = reverse(name, args=[shop.proposed.pk, "S99"])
    assert send(at_desk, path, {"product": "H-A1-038"}).status_code == 404
