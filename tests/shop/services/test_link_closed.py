"""A consent by a link that is closed while it is on its way: nothing is recorded.

The link is looked at when the page is asked for and again, under the lock, when the decision is
recorded; what closes it in between is put there by a hook, and by another connection.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.models import AuditEntry, ChangeOrder, Consent, Job, OwnerLink, Quote, WorkOrder
from shop.services import consents, ownerlinks
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.consents import LinkClosed
from shop.services.ownerlinks import ownerlink_revoke, ownerlink_rotate, ownerlink_token
from tests.shop.owning import Small, authorized, by_link, decide, make_small
from tests.shop.services.racing import joined

Close = Callable[[Small], object]


def revoke(small: Small) -> object:
    return ownerlink_revoke(member=small.lead, link=small.link, now=timezone.now())


def rotate(small: Small) -> object:
    return ownerlink_rotate(member=small.lead, link=small.link, now=timezone.now())


def lapse(small: Small) -> object:
    return OwnerLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))


def move(small: Small) -> object:
    other = Job.objects.create(
        yard=small.yard, hull=small.hull, number="J-OTHER", opened_on=timezone.now().date()
    )
    return OwnerLink.objects.update(job=other)


CLOSES: list[Close] = [revoke, rotate, lapse]


def opened(small: Small) -> Client:
    client = Client()
    client.get(f"/o/{ownerlink_token(small.link).reveal()}/")
    return client


def closed_on_the_way(monkeypatch: pytest.MonkeyPatch, small: Small, close: Close) -> None:
    """Close the link between the look of the page and the recording."""
    record = consents.consent_record

    def late(**given: Any) -> Consent:
        close(small)
        return record(**given)

    monkeypatch.setattr("shop.views.owner.consent_record", late)


@pytest.mark.django_db
@pytest.mark.parametrize("close", CLOSES)
def test_a_quote_is_not_decided_by_a_link_that_closed(
    monkeypatch: pytest.MonkeyPatch, close: Close
) -> None:
    small = make_small()
    client = opened(small)
    form = {"choice": "A", "name": "Ada Test", "shown": small.document.snapshot_sha256}
    closed_on_the_way(monkeypatch, small, close)
    answer = client.post(reverse("owner_answer"), form)
    assert answer.status_code == 404
    assert not Consent.objects.exists()
    assert not WorkOrder.objects.exists()
    assert Quote.objects.get().status == "issued"
    assert AuditEntry.objects.filter(action__startswith="ownerlink.").exists()


@pytest.mark.django_db
@pytest.mark.parametrize("close", CLOSES)
def test_a_change_order_is_not_decided_by_a_link_that_closed(
    monkeypatch: pytest.MonkeyPatch, close: Close
) -> None:
    small = make_small()
    order = authorized(small)
    added = Added("The bulb is cracked.", work=[AddedWork("Fit a bulb", 1)])  # type: ignore[arg-type]
    change = changeorder_start(member=small.writer, work_order=order, added=added)
    document = changeorder_offer(member=small.writer, change_order=change)
    client = opened(small)
    closed_on_the_way(monkeypatch, small, close)
    form = {"choice": "yes", "name": "Ada Test", "shown": document.snapshot_sha256}
    answer = client.post(reverse("owner_change_answer", args=[1]), form)
    assert answer.status_code == 404
    assert ChangeOrder.objects.get().status == "offered"
    assert Consent.objects.count() == 1


@pytest.mark.django_db
def test_a_link_of_another_job_decides_nothing() -> None:
    small = make_small()
    evidence = by_link(small.quote, timezone.now())
    move(small)
    evidence.link.refresh_from_db()  # type: ignore[union-attr]
    with pytest.raises(LinkClosed, match="Nothing was recorded"):
        decide(small.quote, evidence)


@pytest.mark.django_db
def test_the_same_answer_again_by_a_link_that_closed_is_refused() -> None:
    small = make_small()
    evidence = by_link(small.quote, timezone.now())
    decide(small.quote, evidence)
    revoke(small)
    with pytest.raises(LinkClosed):
        decide(small.quote, evidence)


@pytest.mark.django_db(transaction=True)
def test_a_closing_that_is_committed_first_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    """The decision has begun and waits for the lock that the closing holds."""
    small = make_small()
    evidence = by_link(small.quote, timezone.now())
    begun, closed = threading.Event(), threading.Event()
    still_open = ownerlinks.ownerlink_still_open

    def after(link: OwnerLink, **given: Any) -> bool:
        begun.set()
        if connection.vendor == "postgresql":
            assert closed.wait(30)
        return still_open(link, **given)

    monkeypatch.setattr(consents, "ownerlink_still_open", after)
    outcome: list[object] = []

    def deciding() -> None:
        try:
            outcome.append(decide(small.quote, evidence))
        except LinkClosed as error:
            outcome.append(error)
        finally:
            connection.close()

    thread = threading.Thread(target=deciding, daemon=True)
    if connection.vendor == "postgresql":
        thread.start()
        assert begun.wait(30)
        revoke(small)
        closed.set()
    else:  # one transaction writes at a time: the closing is committed before the other begins
        revoke(small)
        thread.start()
    joined([thread])
    assert [type(each) for each in outcome] == [LinkClosed]
    assert not Consent.objects.exists()
