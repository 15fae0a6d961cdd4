"""The audit log: one chain of hashes a yard, written in the transaction it speaks of.

Who controls the database and every anchor outside it can rewrite history, and without an
anchor a tail that was cut off leaves no trace. `audit_head` is what is anchored.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from django.db import models, transaction
from django.utils import timezone

from shop.exceptions import AccessDenied, ForeignObject
from shop.failpoints import failpoint
from shop.limits import MEMBER_REFUSALS, limit_first_hit, limit_take
from shop.models import AuditEntry, Member, Yard
from shop.personal import PERSONAL_NAMES
from shop.services.locks import yard_lock

GENESIS = "0" * 64

Plain = str | int | bool | None


@dataclass(frozen=True, slots=True)
class AuditHead:
    """Length and last hash of a chain, to be kept outside the database."""

    yard_id: int
    length: int
    hash: str


@dataclass(frozen=True, slots=True)
class AuditFault:
    seq: int
    what: str


@transaction.atomic
def audit_append(
    *,
    yard: Yard,
    member: Member | None,
    action: str,
    subject: models.Model | tuple[str, str],
    changed: Iterable[str] = (),
    values: Mapping[str, Plain] | None = None,
) -> AuditEntry:
    """Append one entry to the yard's chain.

    `changed` names the fields that changed; `values` gives values of fields that are not
    personal. A personal field among `values` is refused.
    """
    failpoint("audit.before entry")
    kind, subject_id = _subject(subject)
    fields = _fields(changed, values or {})
    yard_lock(yard)
    last = AuditEntry.objects.filter(yard=yard).order_by("-seq").first()
    entry = AuditEntry(
        yard=yard,
        seq=last.seq + 1 if last else 1,
        at=timezone.now(),
        member=member,
        action=_one_line(action),
        subject_kind=kind,
        subject_id=subject_id,
        fields=fields,
        previous_hash=last.hash if last else GENESIS,
    )
    entry.hash = entry_hash(entry)
    entry.full_clean(exclude=["yard", "member"], validate_constraints=False)
    entry.save(force_insert=True)
    failpoint("audit.entry stored")
    return entry


def audit_denied(error: AccessDenied | ForeignObject) -> None:
    """Record a refusal. Called again where the first record was rolled back with its request.

    Of one member so many are recorded in a window, and then one that says that more came.
    """
    member = Member.objects.select_related("yard").get(pk=error.member_id)
    more: dict[str, Plain] = {}
    if not limit_take(MEMBER_REFUSALS, str(member.pk)).allowed:
        if not limit_first_hit(MEMBER_REFUSALS, str(member.pk)):
            return
        more = {"more_not_noted": True}
    audit_append(
        yard=member.yard,
        member=member,
        action=error.action,
        subject=(error.kind or "none", error.pk),
        values={"act": error.act, "role": member.role, **more},
    )


def audit_head(yard: Yard) -> AuditHead:
    last = AuditEntry.objects.filter(yard=yard).order_by("-seq").first()
    return AuditHead(yard.pk, last.seq if last else 0, last.hash if last else GENESIS)


def audit_verify(yard: Yard, *, anchors: Iterable[AuditHead] = ()) -> list[AuditFault]:
    """Every break in the yard's chain, and every anchored head that it does not hold."""
    faults = []
    hashes = {0: GENESIS}
    expected_seq, previous = 1, GENESIS
    for entry in AuditEntry.objects.filter(yard=yard).order_by("seq").iterator():
        if entry.seq != expected_seq:
            faults.append(AuditFault(entry.seq, f"entry {expected_seq} is missing"))
        if entry.previous_hash != previous:
            faults.append(AuditFault(entry.seq, "does not follow the entry before it"))
        if entry.hash != entry_hash(entry):
            faults.append(AuditFault(entry.seq, "was changed after it was written"))
        hashes[entry.seq] = previous = entry.hash
        expected_seq = entry.seq + 1
    for anchor in anchors:
        if anchor.yard_id == yard.pk and hashes.get(anchor.length) != anchor.hash:
            faults.append(AuditFault(anchor.length, "differs from the head kept outside"))
    return faults


def entry_hash(entry: AuditEntry) -> str:
    """SHA-256 of the previous hash and the canonical entry."""
    record = {
        "yard": entry.yard_id,
        "seq": entry.seq,
        "at": audit_instant(entry.at),
        "member": entry.member_id,
        "action": entry.action,
        "subject_kind": entry.subject_kind,
        "subject_id": entry.subject_id,
        "fields": entry.fields,
    }
    text = json.dumps(record, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(entry.previous_hash.encode() + text.encode()).hexdigest()


def audit_instant(at: datetime) -> str:
    """An instant as entries hold it."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def _subject(subject: models.Model | tuple[str, str]) -> tuple[str, str]:
    if isinstance(subject, models.Model):
        return subject._meta.model_name or "", str(subject.pk)
    kind, pk = subject
    return _one_line(kind), _one_line(pk)


def _fields(changed: Iterable[str], values: Mapping[str, Plain]) -> dict[str, object]:
    personal = PERSONAL_NAMES & set(values)
    if personal:
        listed = ", ".join(sorted(personal))
        raise ValueError(f"Personal fields ({listed}) go into the audit log by name only.")
    fields: dict[str, object] = {}
    if names := sorted({_one_line(name) for name in changed}):
        fields["changed"] = names
    if values:
        fields["values"] = {
            name: _one_line(value) if isinstance(value, str) else value
            for name, value in values.items()
        }
    return fields


def _one_line(text: str) -> str:
    """Control characters are written out, so that one entry stays one line wherever it is shown."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
