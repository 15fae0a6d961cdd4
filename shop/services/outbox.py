"""Follow-ups (a PDF, a mail) as rows of the transaction that promises them.

The broker only rings the bell. Whoever claims a row holds it until `not_before`; a row
that is not done by then can be claimed again, so that a killed worker loses nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from shop.models import OutboxRow, Yard
from shop.models.workorders import random_id

LEASE = timedelta(minutes=2)  # longer than any one follow-up is allowed to take (choice)


@transaction.atomic
def outbox_add(
    *, yard: Yard, topic: str, payload: Mapping[str, int | str], now: datetime
) -> OutboxRow:
    """Promise a follow-up. The payload names rows by id; texts and tokens have no place in it."""
    row = OutboxRow(yard=yard, topic=topic, payload=dict(payload), created_at=now, not_before=now)
    row.full_clean(exclude=["yard"])
    row.save(force_insert=True)
    return row


def outbox_waiting(*, now: datetime, topics: Iterable[str] | None = None) -> list[OutboxRow]:
    """Rows that can be claimed, oldest first."""
    rows = OutboxRow.objects.filter(done_at__isnull=True, not_before__lte=now)
    if topics is not None:
        rows = rows.filter(topic__in=list(topics))
    return list(rows.order_by("pk"))


def outbox_claim(
    *, now: datetime, topics: Iterable[str] | None = None, lease: timedelta = LEASE
) -> OutboxRow | None:
    """Claim the oldest waiting row, or None. Exactly one of several workers gets a row."""
    for row in outbox_waiting(now=now, topics=topics):
        claim_id = random_id()
        # The condition repeats what was read: if another worker was faster, no row matches.
        claimed = OutboxRow.objects.filter(
            pk=row.pk, done_at__isnull=True, not_before=row.not_before, claim_id=row.claim_id
        ).update(claim_id=claim_id, not_before=now + lease, attempts=F("attempts") + 1)
        if claimed == 1:
            row.refresh_from_db()
            return row
    return None


def outbox_done(row: OutboxRow, *, now: datetime) -> bool:
    """Mark a claimed row done. False when the claim ran out and another worker has it."""
    rows = OutboxRow.objects.filter(pk=row.pk, claim_id=row.claim_id, done_at__isnull=True)
    return rows.update(done_at=now) == 1


def outbox_retry(row: OutboxRow, *, at: datetime) -> bool:
    """Give a claimed row back, to be tried again at a time."""
    rows = OutboxRow.objects.filter(pk=row.pk, claim_id=row.claim_id, done_at__isnull=True)
    return rows.update(claim_id=None, not_before=at) == 1
