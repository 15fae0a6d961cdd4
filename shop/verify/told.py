"""What the audit log says was recorded, beside the rows themselves."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from django.db import models

from shop.models import AuditEntry, Completion, Consent, Document, Invoice, JobEvent, Payment, Reel
from shop.verify.model import Fault, Look, named

Said = Mapping[str, object]


def _nothing(row: Any) -> Said:
    return {}


@dataclass(frozen=True, slots=True)
class Told:
    """A kind of row, the acts that record one, and what their entry must say of it.

    `by` is the field that holds whose act it was. What `since` names was not always logged: an
    older entry without it leaves the row not covered.
    """

    model: type[models.Model]
    actions: tuple[str, ...]
    says: Callable[[Any], Said]
    by: str = ""
    since: Callable[[Any], Said] = _nothing
    reads: tuple[str, ...] = ()


def _document(row: Document) -> Said:
    return {
        "kind": row.kind,
        "number": row.number,
        "version": row.version,
        "snapshot_sha256": row.snapshot_sha256,
    }


def _invoice(row: Invoice) -> Said:
    corrects = row.corrects.number if row.corrects else None
    return {"number": row.number, "total": row.total, "corrects": corrects}


def _payment(row: Payment) -> Said:
    return {
        "kind": row.kind,
        "means": row.means,
        "amount": row.amount,
        "received_on": row.received_on.isoformat(),
        "job": row.job.number,
    }


def _payment_since(row: Payment) -> Said:
    return {
        "invoice": row.invoice_id,
        "reverses": row.reverses_id,
        "recorded_at": instant(row.recorded_at),
    }


def _consent(row: Consent) -> Said:
    return {
        "document": row.document_id,
        "document_sha256": row.document_sha256,
        "decision": row.decision,
        "means": row.means,
        "option": row.option.letter if row.option else "",
        "new_total": row.new_total,
    }


def _consent_since(row: Consent) -> Said:
    return {
        "at": instant(row.at),
        "link": row.link_id,
        "old_parts_back": row.old_parts_back,
        "added_parts": row.added_parts,
        "added_labor": row.added_labor,
        "words_sha256": hashlib.sha256(row.words.encode()).hexdigest(),
    }


def _completion(row: Completion) -> Said:
    return {"document": row.document_id, "job": row.work_order.job.number}


def _completion_since(row: Completion) -> Said:
    return {"installed": row.installed_id, "signed_at": instant(row.signed_at)}


TOLD = (
    Told(Document, ("document.issue",), _document, "issued_by"),
    Told(
        Invoice,
        ("invoice.issue", "creditnote.issue"),
        _invoice,
        "issued_by",
        reads=("corrects",),
    ),
    Told(
        Payment,
        ("payment.record", "payment.reverse"),
        _payment,
        "recorded_by",
        _payment_since,
        ("job",),
    ),
    Told(Consent, ("consent.record",), _consent, "taken_by", _consent_since, ("option",)),
    Told(
        Completion,
        ("completion.sign",),
        _completion,
        "signed_by",
        _completion_since,
        ("work_order__job",),
    ),
    Told(Reel, ("reel.receive",), lambda row: {"length_in": row.received_in}),
)


def rows(look: Look) -> Iterator[Fault]:
    """Each row that the log says was recorded is there as it was then, and none besides."""
    for told in TOLD:
        entries = {
            entry.subject_id: entry for entry in AuditEntry.objects.filter(action__in=told.actions)
        }
        for row in told.model._default_manager.select_related(*told.reads).order_by("pk"):
            look.at()
            entry = entries.pop(str(row.pk), None)
            if entry is None:
                yield Fault(named(row), "not in the log", "an entry of its record")
            else:
                yield from _otherwise(row, entry, told, look)
        for pk in sorted(entries):
            yield Fault(f"{told.model._meta.model_name} {pk}", "gone", "as the log says")


def _otherwise(row: models.Model, entry: AuditEntry, told: Told, look: Look) -> Iterator[Fault]:
    said = entry.fields.get("values", {})
    since = told.since(row)
    look.past(bool(since.keys() - said.keys()))
    for name, value in {**since, **told.says(row)}.items():
        if name in since and name not in said:
            continue
        was = said.get(name)
        if isinstance(value, Decimal) and isinstance(was, str):
            was = Decimal(was)
        if was != value:
            yield Fault(f"{named(row)}, {name}", str(value), f"{was}, as the log says")
    if told.by and (by := getattr(row, f"{told.by}_id")) != entry.member_id:
        yield Fault(f"{named(row)}, {told.by}", f"member {by}", f"member {entry.member_id}")


def instant(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def events(look: Look) -> Iterator[Fault]:
    """Each device has as many events as the log says were received from it."""
    received: Counter[str] = Counter()
    for entry in AuditEntry.objects.filter(action="events.receive"):
        look.at()
        said = entry.fields["values"]
        received[entry.subject_id] += said["stored"] + said["quarantined"]
    held = Counter(str(pk) for pk in JobEvent.objects.values_list("device_id", flat=True))
    for device in sorted({*received, *held}):
        if received[device] != held[device]:
            yield Fault(f"device {device}", f"{held[device]} events", f"{received[device]}")
