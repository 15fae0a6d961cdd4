"""Follow-ups: promised with their cause, claimed by one, done once, never lost."""

from __future__ import annotations

from datetime import timedelta
from threading import Barrier

import pytest
from django.db import transaction

from shop.models import OutboxRow, Yard
from shop.services.outbox import (
    LEASE,
    outbox_add,
    outbox_claim,
    outbox_done,
    outbox_retry,
    outbox_waiting,
)
from tests import factories as make
from tests.shop.services.racing import race

NOW = make.NOON


def add(yard: Yard, topic: str = "document.pdf", document: int = 1) -> OutboxRow:
    return outbox_add(yard=yard, topic=topic, payload={"document": document}, now=NOW)


@pytest.mark.django_db
def test_a_follow_up_is_undone_with_its_cause() -> None:
    yard = make.make_yard()
    with transaction.atomic():
        add(yard)
        transaction.set_rollback(True)
    assert outbox_waiting(now=NOW) == []


@pytest.mark.django_db
def test_the_oldest_is_claimed_first_and_once() -> None:
    yard = make.make_yard()
    first, second = add(yard), add(yard)
    claimed = [outbox_claim(now=NOW) for _worker in range(3)]
    assert [row.pk if row else None for row in claimed] == [first.pk, second.pk, None]
    assert claimed[0] is not None
    assert claimed[0].attempts == 1


@pytest.mark.django_db
def test_only_the_topics_asked_for_are_claimed() -> None:
    yard = make.make_yard()
    add(yard, topic="mail")
    assert outbox_claim(now=NOW, topics=["document.pdf"]) is None
    assert outbox_claim(now=NOW, topics=["mail"]) is not None


@pytest.mark.django_db
def test_a_claim_that_ran_out_is_claimed_again_and_the_late_one_is_told() -> None:
    add(make.make_yard())
    late = outbox_claim(now=NOW)
    assert outbox_claim(now=NOW + LEASE - timedelta(seconds=1)) is None
    second = outbox_claim(now=NOW + LEASE)
    assert late is not None
    assert second is not None
    assert second.attempts == 2
    assert not outbox_done(late, now=NOW + LEASE)
    assert outbox_done(second, now=NOW + LEASE)
    assert not outbox_done(second, now=NOW + LEASE)
    assert outbox_claim(now=NOW + 10 * LEASE) is None


@pytest.mark.django_db
def test_a_row_given_back_waits_until_its_time() -> None:
    add(make.make_yard())
    row = outbox_claim(now=NOW)
    assert row is not None
    again = NOW + timedelta(minutes=5)
    assert outbox_retry(row, at=again)
    assert outbox_claim(now=again - timedelta(seconds=1)) is None
    assert outbox_claim(now=again) is not None


@pytest.mark.django_db(transaction=True)
def test_of_many_workers_each_row_goes_to_one() -> None:
    """8 workers, 24 rows."""
    yard = make.make_yard()
    for number in range(24):
        add(yard, document=number)

    def worker() -> list[int]:
        done = []
        while (row := outbox_claim(now=NOW)) is not None:
            assert outbox_done(row, now=NOW)
            done.append(row.payload["document"])
        return done

    results = race([worker] * 8)
    documents = [number for done in results if isinstance(done, list) for number in done]
    assert sorted(documents) == list(range(24))


@pytest.mark.django_db(transaction=True)
def test_the_check_finds_a_claim_without_its_condition() -> None:
    """The twin: two workers that read the same row and update it by its key both get it."""
    add(make.make_yard())
    both_have_read = Barrier(2)

    def worker() -> int:
        row = outbox_waiting(now=NOW)[0]
        both_have_read.wait(timeout=20)
        OutboxRow.objects.filter(pk=row.pk).update(not_before=NOW + LEASE)
        return row.pk

    first, second = race([worker, worker])
    assert first == second
