"""Names that nobody sees, a second answer under another name, times the clock never showed."""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse

from shop.forms.consents import QuoteConsentForm
from shop.models import Consent, Customer, Hull, Member
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.ownerlinks import ownerlink_token
from tests.shop.owning import Small, authorized
from tests.shop.views.pages import send, signed_in, text_of

pytestmark = pytest.mark.django_db
UNSEEN = ["\u200b", "\u2060\ufeff", "\u202e\u202c", "\u3164", " \u00a0 ", "123"]


@pytest.fixture
def owner(small: Small) -> Client:
    client = Client()
    client.get(f"/o/{ownerlink_token(small.link).reveal()}/")
    return client


def answer(client: Client, small: Small, **fields: str) -> Any:
    form = {"choice": "A", "name": "Ada Test", "shown": small.document.snapshot_sha256}
    return client.post(reverse("owner_answer"), {**form, **fields})


@pytest.mark.parametrize("name", UNSEEN)
def test_an_owner_signs_with_a_name_that_is_seen(small: Small, owner: Client, name: str) -> None:
    assert answer(owner, small, name=name).status_code == 422
    assert not Consent.objects.exists()


def test_a_mark_of_direction_is_not_taken_into_a_record(small: Small, owner: Client) -> None:
    assert answer(owner, small, name="Ada\u202e tseT\u200b").status_code == 303
    assert Consent.objects.get().person == "Ada tseT"


def test_no_name_of_the_shop_is_unseen_or_turned(small: Small) -> None:
    desk = signed_in(small.lead)
    customer, people = reverse("customer_new"), reverse("people_new")
    assert send(desk, customer, {"name": "\u200b\u2060"}).status_code == 422
    assert send(desk, customer, {"name": "Ada\u202e Brae"}).status_code == 302
    assert Customer.objects.filter(name="Ada Brae").exists()
    person = {"username": "zed", "role": "writer", "email": "", "password": "correct-horse-17"}
    assert send(desk, people, {**person, "name": "\ufeff"}).status_code == 422
    assert not Member.objects.filter(user__username="zed").exists()
    boat = {"name": "Slack\u202e Tide\u2066", "owner": str(small.hull.customer_id)}
    assert send(desk, reverse("boat_new"), boat).status_code == 302
    assert Hull.objects.filter(name="Slack Tide").exists()


def test_a_second_name_is_told_what_was_recorded(small: Small, owner: Client) -> None:
    assert answer(owner, small, choice="none").status_code == 303
    again = answer(owner, small, choice="none", name="Ben Other")
    assert again.status_code == 409
    at = Consent.objects.get().at.astimezone(ZoneInfo("America/New_York"))
    by_whom = f"answered already by Ada Test on {at:%Y-%m-%d %H:%M}"
    for words in (by_whom, "I leave undone the work of"):
        assert words in text_of(again)
    assert answer(owner, small, choice="none").status_code == 303
    assert Consent.objects.count() == 1


def test_an_authorized_quote_says_by_whom(small: Small, owner: Client) -> None:
    assert answer(owner, small).status_code == 303
    again = answer(owner, small, name="Ben Other")
    assert again.status_code == 409
    assert "answered already by Ada Test on" in text_of(again)


def test_a_second_name_on_a_change_order_is_told_as_well(small: Small) -> None:
    order = authorized(small)
    added = Added("Bulb.", work=[AddedWork("Fit a bulb", 1)])  # type: ignore[arg-type]
    change = changeorder_start(member=small.writer, work_order=order, added=added)
    document = changeorder_offer(member=small.writer, change_order=change)
    client = Client()
    client.get(f"/o/{ownerlink_token(small.link).reveal()}/")
    url, shown = reverse("owner_change_answer", args=[1]), document.snapshot_sha256
    form = {"choice": "yes", "name": "Ada Test", "shown": shown}
    assert client.post(url, form).status_code == 303
    again = client.post(url, {**form, "name": "Ben Other"})
    assert again.status_code == 409
    assert "answered already by Ada Test on" in text_of(again)
    assert client.post(url, form).status_code == 303


def typed(
    day: str, at: str, zone: str = "America/New_York", issued_at: datetime | None = None
) -> QuoteConsentForm:
    form = {
        "choice": "A", "means": "in_person", "person": "Ada Test", "day": day, "time": at,
        "shown": "0" * 64,
    }  # fmt: skip
    return QuoteConsentForm(form, choices=[("A", "A")], time_zone=zone, issued_at=issued_at)


@pytest.mark.parametrize(
    ("day", "at", "zone"),
    [
        # 15 U.S.C. 260a: second Sunday of March, at 2 a.m.
        ("2026-03-08", "02:00", "America/New_York"),
        ("2026-03-08", "02:30", "America/New_York"),
        ("2026-03-08", "02:59", "America/New_York"),
        # Directive 2000/84/EC: last Sunday of March, at 1 a.m. UTC.
        ("2026-03-29", "02:30", "Europe/Berlin"),
    ],
)
def test_a_time_that_the_clock_did_not_show_is_refused_at_its_field(
    day: str, at: str, zone: str
) -> None:
    form = typed(day, at, zone)
    assert not form.is_valid()
    assert list(form.errors) == ["time"]
    assert f"There was no {at} on {day}: the clocks went forward." in form.errors["time"][0]


@pytest.mark.parametrize("at", ["01:59", "03:00"])
def test_the_minutes_beside_it_stand(at: str) -> None:
    form = typed("2026-03-08", at)
    assert form.is_valid()
    assert form.time_taken == ""


def test_of_a_time_that_came_twice_the_first_is_taken_and_said() -> None:
    form = typed("2026-11-01", "01:30")
    assert form.is_valid()
    assert form.evidence(None).at == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)
    assert "showed 01:30 twice on 2026-11-01. The first of them, EDT, was taken" in form.time_taken
    for beside in (time(0, 59), time(2, 0)):
        other = typed("2026-11-01", f"{beside:%H:%M}")
        assert other.is_valid()
        assert other.time_taken == ""


@pytest.mark.parametrize(
    ("at", "issued", "taken", "said"),
    [
        # Clocks went back at 06:00 UTC: 01:30 was at 05:30 and again at 06:30.
        ("01:30", (5, 10, 0), (5, 30, 0), "The first of them, EDT"),
        ("01:30", (5, 30, 20), (5, 30, 20), "The first of them, EDT"),
        ("01:30", (5, 31, 0), (6, 30, 0), "The second of them, EST"),
        ("01:45", (6, 30, 20), (6, 45, 0), "The second of them, EST"),
        ("01:30", (6, 30, 20), (6, 30, 20), "The second of them, EST"),
        ("01:20", (6, 30, 20), (5, 20, 0), "The first of them, EDT"),  # before the paper, both
        ("02:00", (6, 30, 20), (7, 0, 0), ""),
    ],
)
def test_of_two_the_second_is_taken_where_the_first_lies_before_the_paper(
    at: str, issued: tuple[int, int, int], taken: tuple[int, int, int], said: str
) -> None:
    form = typed("2026-11-01", at, issued_at=datetime(2026, 11, 1, *issued, tzinfo=UTC))
    assert form.is_valid()
    assert form.evidence(None).at == datetime(2026, 11, 1, *taken, tzinfo=UTC)
    assert (said in form.time_taken, bool(form.time_taken)) == (True, bool(said))
