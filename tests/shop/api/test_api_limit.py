"""R16: a member's programs ask so often a minute; what that refuses is taken when it comes again.

The clock stands, so that a window's end falls nowhere inside a test; it goes on where it is told.
"""

from __future__ import annotations

import copy
from datetime import datetime, timedelta

import jsonschema
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.generators import SchemaGenerator

from shop.limits import API_MEMBER, limit_take
from shop.models import AuditEntry, Counter, JobEvent, Member
from shop.services.tokens import token_create
from tests.shop.working import Yard

EVENTS, LOTS = "api_events", "api_lots"


class Clock:
    """What the shop takes for now."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def now(self) -> datetime:
        return self.at


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """Twenty seconds into a minute."""
    made = Clock(timezone.now().replace(second=20, microsecond=0))
    monkeypatch.setattr(timezone, "now", made.now)
    return made


@pytest.fixture
def work(yard_made: Yard, clock: Clock, db: None) -> Yard:
    return copy.deepcopy(yard_made)


def client_of(member: Member) -> Client:
    _token, text = token_create(member=member, name="tablet")
    return Client(headers={"authorization": f"Bearer {text}"})


def used_up(member: Member, left: int = 0) -> None:
    """All the calls of this minute but so many, written to the member's counter."""
    before = set(Counter.objects.values_list("pk", flat=True))
    assert limit_take(API_MEMBER, str(member.pk)).allowed
    [counter] = Counter.objects.exclude(pk__in=before)
    Counter.objects.filter(pk=counter.pk).update(count=API_MEMBER.most - left)


def test_the_last_call_of_the_minute_is_answered_and_the_next_is_not(work: Yard) -> None:
    used_up(work.tech, left=1)
    tablet = client_of(work.tech)
    assert tablet.get(reverse(LOTS)).status_code == 200
    refused = tablet.get(reverse(LOTS))
    assert refused.status_code == 429
    assert refused["Retry-After"] == "40"  # to the end of the window
    assert "40 seconds" in refused.json()["detail"]


def test_every_token_and_session_of_a_member_counts_together_and_nobody_elses(
    work: Yard,
) -> None:
    used_up(work.tech)
    at_desk = Client()
    at_desk.force_login(work.tech.user)
    for client in (client_of(work.tech), client_of(work.tech), at_desk):
        assert client.get(reverse(LOTS)).status_code == 429
    assert client_of(work.shop.lead).get(reverse(LOTS)).status_code == 200


def test_a_window_later_it_is_answered_again(work: Yard, clock: Clock) -> None:
    used_up(work.tech)
    tablet = client_of(work.tech)
    clock.at += timedelta(seconds=39)
    refused = tablet.get(reverse(LOTS))
    assert (refused.status_code, refused["Retry-After"]) == (429, "1")
    clock.at += timedelta(seconds=1)
    assert tablet.get(reverse(LOTS)).status_code == 200


def test_it_is_written_down_once_a_window(work: Yard) -> None:
    used_up(work.tech)
    tablet = client_of(work.tech)
    for _ in range(3):
        assert tablet.get(reverse(LOTS)).status_code == 429
    [entry] = AuditEntry.objects.filter(action="api.limit")
    assert entry.member == work.tech


def test_an_event_that_the_limit_refused_is_stored_when_it_is_sent_again(
    work: Yard, clock: Clock
) -> None:
    """Never drops: nothing of the refused batch is kept, and nothing of it is lost."""
    used_up(work.tech, left=1)
    tablet = client_of(work.tech)
    first, second = (work.event("note", "S3", text=text) for text in ("one", "two"))

    def handed_in(*events: object) -> tuple[int, list[str]]:
        body = {"device": work.tablet.pk, "events": events}
        answer = tablet.post(reverse(EVENTS), body, content_type="application/json")
        return answer.status_code, [each["result"] for each in answer.json().get("results", [])]

    assert handed_in(first) == (200, ["stored"])
    assert handed_in(first, second) == (429, [])
    assert JobEvent.objects.count() == 1
    clock.at += timedelta(seconds=40)
    assert handed_in(first, second) == (200, ["duplicate", "stored"])
    assert handed_in(second) == (200, ["duplicate"])
    said = JobEvent.objects.select_related("text").order_by("receipt")
    assert [event.text.text for event in said] == ["one", "two"]


def test_the_refusal_is_in_the_schema(work: Yard) -> None:
    described = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    used_up(work.tech)
    tablet = client_of(work.tech)
    assert reverse(EVENTS) in described["paths"]
    for path, acts in described["paths"].items():
        assert all("429" in act["responses"] for act in acts.values()), path
    answer = tablet.post(reverse(EVENTS), {}, content_type="application/json")
    shape = described["paths"][reverse(EVENTS)]["post"]["responses"]["429"]["content"]
    whole = {**shape["application/json"]["schema"], "components": described["components"]}
    jsonschema.validate(answer.json(), whole, format_checker=jsonschema.FormatChecker())
