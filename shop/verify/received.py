"""How events came: from whose session, when, and whether they were kept apart."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC

from fuelsys.document.canonical import Plain, canonical_bytes
from shop.models import AuditEntry, JobEvent
from shop.verify.model import Fault, Look


def as_they_came(look: Look) -> Iterator[Fault]:
    """Each batch that the log has a hash of is there as it came.

    Events of older batches are not covered: their entry holds no more than how many there were.
    """
    came = {row.receipt: digest(row) for row in JobEvent.objects.order_by("pk").iterator()}
    look.at(len(came))
    older = set(came)
    rows = AuditEntry.objects.filter(
        action="events.receive", fields__values__batch_sha256__isnull=False
    )
    for entry in rows.order_by("yard", "seq").iterator():
        said = entry.fields["values"]
        receipts = numbers(said["receipts"])
        older.difference_update(receipts)
        batch = b"".join(came.get(receipt, b"") for receipt in receipts)
        if hashlib.sha256(batch).hexdigest() != said["batch_sha256"]:
            subject = f"device {entry.subject_id}, events {said['receipts']}"
            yield Fault(subject, "not as they came", f"as received by member {entry.member_id}")
    look.past(len(older))


def numbers(ranges: str) -> list[int]:
    """The numbers of "4-7,9" in order."""
    found: list[int] = []
    for part in ranges.split(","):
        first, _dash, last = part.partition("-")
        found += range(int(first), int(last or first) + 1)
    return found


def digest(row: JobEvent) -> bytes:
    came: dict[str, Plain] = {
        "receipt": row.receipt,
        "device": row.device_id,
        "uploader": row.uploader_id,
        "received_at": row.received_at.astimezone(UTC).isoformat(),
        "apart": row.quarantine_reason,
        "content": row.content_sha256,
    }
    return hashlib.sha256(canonical_bytes(came)).digest()
