"""Seals: hashes in the audit log from which a changed text is found, and no text is guessed.

A personal text stays out of the log. Its entry holds an HMAC-SHA256 of it under a key of 256
random bits, one a row, that is kept beside the rows and never in the log. Whoever changes the
text cannot write a fitting entry without breaking the chain; whoever has the log alone cannot
try out names. Erasing a row's texts erases its key, and what the log holds then says nothing.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Iterable
from datetime import UTC

from django.db import models, transaction
from django.utils import timezone

from fuelsys.document.canonical import Plain, canonical_bytes
from shop.models import JobEvent, Member, SealKey, Yard
from shop.services.audit import audit_append

KEY_BYTES = 32


def seal(yard: Yard, row: models.Model, *names: str) -> str:
    """The seal of a row's texts as they are now, for the entry that records them."""
    kind, pk = _subject(row)
    held, _made = SealKey.objects.get_or_create(
        subject_kind=kind,
        subject_id=pk,
        defaults={"yard": yard, "key": secrets.token_hex(KEY_BYTES)},
    )
    said = canonical_bytes({"of": kind, "id": pk, **{name: getattr(row, name) for name in names}})
    return hmac.new(bytes.fromhex(held.key), said, hashlib.sha256).hexdigest()


@transaction.atomic
def seal_erase(*, yard: Yard, row: models.Model, member: Member | None) -> None:
    """Erase the key of a row's seals, with its texts; the log says that this was done."""
    kind, pk = _subject(row)
    keys = SealKey.objects.filter(subject_kind=kind, subject_id=pk, erased_at__isnull=True)
    if keys.update(key="", erased_at=timezone.now()):
        audit_append(yard=yard, member=member, action="seal.erase", subject=row)


def batch_seal(events: Iterable[JobEvent]) -> dict[str, str]:
    """What the log holds of a batch of events: their receipts, and one hash of how they came.

    The hash needs no key: each event's own hash is of a random id among other things.
    """
    rows = sorted(events, key=lambda row: row.receipt)
    digest = hashlib.sha256()
    for row in rows:
        came: dict[str, Plain] = {
            "receipt": row.receipt,
            "device": row.device_id,
            "uploader": row.uploader_id,
            "received_at": row.received_at.astimezone(UTC).isoformat(),
            "apart": row.quarantine_reason,
            "content": row.content_sha256,
        }
        digest.update(hashlib.sha256(canonical_bytes(came)).digest())
    return {"receipts": _ranges([row.receipt for row in rows]), "batch_sha256": digest.hexdigest()}


def _ranges(numbers: list[int]) -> str:
    """Numbers in order as "4-7,9"."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1][1:] = [number]
        else:
            parts.append([number])
    return ",".join("-".join(map(str, part)) for part in parts)


def _subject(row: models.Model) -> tuple[str, str]:
    return row._meta.model_name or "", str(row.pk)
