"""Issuing documents: a copy of everything the paper says, and the PDF promised with it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from fuelsys.document.canonical import canonical_bytes
from shop.bell import ring_on_commit
from shop.failpoints import failpoint
from shop.files import file_fault
from shop.models import Document, DocumentKind, Hull, Job, Member, Quote
from shop.services.audit import audit_append
from shop.services.outbox import outbox_add
from shop.services.ownerlinks import ownerlink_renew

PDF_TOPIC = "document.pdf"


@transaction.atomic
def document_issue(
    *,
    member: Member,
    kind: DocumentKind,
    number: str,
    hull: Hull,
    document_date: date,
    issued_at: datetime,
    snapshot: Mapping[str, Any],
    template_version: str,
    version: int = 1,
    job: Job | None = None,
    quote: Quote | None = None,
    corrects: Document | None = None,
) -> Document:
    """Issue one document, in the transaction that took its number.

    1. The snapshot is frozen as canonical JSON (RFC 8785) with its SHA-256. It carries money
       as text: a Decimal in it is refused.
    2. The audit log names the document.
    3. The owner's link to the job is good for another while.
    4. The PDF is promised by an outbox row of this transaction, and the worker is rung after
       the commit. A bell that nobody hears costs time, not the PDF.
    """
    yard = hull.yard
    text = snapshot_text(snapshot)
    document = Document(
        yard=yard,
        kind=kind,
        number=number,
        version=version,
        hull=hull,
        job=job,
        quote=quote,
        corrects=corrects,
        document_date=document_date,
        time_zone=yard.time_zone,
        currency=yard.currency,
        issued_at=issued_at,
        issued_by=member,
        snapshot=text,
        snapshot_sha256=hashlib.sha256(text.encode()).hexdigest(),
        template_version=template_version,
    )
    document.full_clean()
    document.save(force_insert=True)
    failpoint("document.stored")
    if job is not None:
        ownerlink_renew(job=job, at=issued_at)
    outbox_add(yard=yard, topic=PDF_TOPIC, payload={"document": document.pk}, now=timezone.now())
    audit_append(
        yard=yard,
        member=member,
        action="document.issue",
        subject=document,
        values={
            "kind": str(kind),
            "number": number,
            "version": version,
            "snapshot_sha256": document.snapshot_sha256,
        },
    )
    failpoint("document.pdf promised")
    ring_on_commit()
    return document


def snapshot_text(snapshot: Mapping[str, Any]) -> str:
    """Canonical JSON of a snapshot: the same content has the same bytes."""
    return canonical_bytes(dict(snapshot)).decode()


def snapshot_intact(document: Document) -> bool:
    """Whether the stored snapshot still is what was issued."""
    return hashlib.sha256(document.snapshot.encode()).hexdigest() == document.snapshot_sha256


def document_faults(document: Document) -> list[str]:
    """What is wrong with a stored document: its copy, or the bytes of its PDF."""
    faults = []
    if not snapshot_intact(document):
        faults.append(f"{document}: the stored copy is not what was issued.")
    if document.pdf_sha256:
        faults += _pdf_faults(document)
    return faults


def document_intact(document: Document) -> bool:
    """Whether copy and PDF still are, to the bit, what was issued."""
    return not document_faults(document)


def _pdf_faults(document: Document) -> list[str]:
    fault = file_fault(settings.FILES_DIR, document.pdf_sha256, document.pdf_size)
    return [f"{document}: its PDF {fault}."] if fault else []
