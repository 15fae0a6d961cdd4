"""Issued papers: the copy, the rows it was made from, and its one PDF."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.db import models

from shop.files import file_fault
from shop.models import (
    Addendum,
    ChangeOrder,
    Completion,
    Document,
    Invoice,
    OutboxRow,
    Quote,
    QuoteOption,
    RenderState,
)
from shop.verify.model import Fault, Look, named
from shop.verify.sums import cents

OPTION = ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total", "deposit")
CHANGE = ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total", "new_total")
INVOICE = (
    *("labor", "parts", "supplies", "fees", "net", "taxable"),
    *("tax_labor", "tax_parts", "tax", "total"),
)

QUOTE_WORDS = ("number", "version", "issued_on", "valid_to", "note")
INVOICE_DAYS = ("issued_on", "due_on")
COMPLETION_DAYS = ("completed_on", "next_inspection_on", "warranty_until")


def copies(look: Look) -> Iterator[Fault]:
    """Each stored copy has the hash under which it was issued."""
    for document in Document.objects.order_by("pk").iterator():
        look.at()
        if hashlib.sha256(document.snapshot.encode()).hexdigest() != document.snapshot_sha256:
            yield Fault(named(document), "another copy than was issued", document.snapshot_sha256)


def rows(look: Look) -> Iterator[Fault]:
    """The rows behind a paper still say what the paper says."""
    options = QuoteOption.objects.filter(quote__documents__kind="quote")
    for option in options.select_related("quote").distinct().order_by("pk"):
        look.at()
        paper = option.quote.documents.filter(kind="quote").first()
        said = next((o for o in copy(paper)["options"] if o["letter"] == option.letter), None)
        yield from told_otherwise(option, said, OPTION)
    for change in ChangeOrder.objects.exclude(document=None).exclude(status="draft"):
        look.at()
        yield from told_otherwise(change, copy(change.document)["sums"], CHANGE)
    for invoice in Invoice.objects.select_related("document").order_by("pk"):
        look.at()
        said = copy(invoice.document)
        yield from told_otherwise(invoice, said["totals"], INVOICE)
        if said["number"] != invoice.number or invoice.document.number != invoice.number:
            yield Fault(named(invoice), "another number than its paper", said["number"])


def records(look: Look) -> Iterator[Fault]:
    """Days and words beside a paper, and whose they are, are those of the paper."""
    for quote in Quote.objects.filter(documents__kind="quote").distinct().order_by("pk"):
        look.at()
        paper = quote.documents.filter(kind="quote").first()
        yield from worded_otherwise(quote, copy(paper), QUOTE_WORDS)
        said = copy(paper).get("no_work_price", "")
        if (quote.no_work_price is None) != (not said) or cents(said or 0) != cents(
            quote.no_work_price or 0
        ):
            yield Fault(f"{named(quote)}, no work", str(quote.no_work_price), said or "none")
    for change in ChangeOrder.objects.exclude(document=None).exclude(status="draft"):
        look.at()
        yield from worded_otherwise(change, copy(change.document), ("reason",))
    for invoice in Invoice.objects.select_related("document").order_by("pk"):
        look.at()
        yield from worded_otherwise(invoice, copy(invoice.document), INVOICE_DAYS)
    for record in Completion.objects.select_related("document").order_by("pk"):
        look.at()
        yield from worded_otherwise(record, copy(record.document), COMPLETION_DAYS)
        yield from of_another(record, record.document, record.signed_by_id, record.signed_at)
    for addendum in Addendum.objects.select_related("document").order_by("pk"):
        look.at()
        yield from worded_otherwise(addendum, copy(addendum.document), ("text",))
        yield from of_another(addendum, addendum.document, addendum.member_id, addendum.at)


def worded_otherwise(
    row: models.Model, said: Mapping[str, Any], names: tuple[str, ...]
) -> Iterator[Fault]:
    """Words are named, never told: they may be a person's."""
    for name in names:
        held = getattr(row, name)
        plain = held.isoformat() if isinstance(held, date) else held
        if name in said and (plain or "") != said[name]:
            yield Fault(f"{named(row)}, {name}", "not what its paper says", "as on its paper")


def of_another(row: models.Model, paper: Document, member: int, at: datetime) -> Iterator[Fault]:
    if member != paper.issued_by_id:
        yield Fault(named(row), f"by member {member}", f"by member {paper.issued_by_id}")
    if at != paper.issued_at:
        yield Fault(named(row), f"at {at.isoformat()}", f"at {paper.issued_at.isoformat()}")


def copy(document: Document | None) -> dict[str, Any]:
    held: dict[str, Any] = json.loads(document.snapshot) if document is not None else {}
    return held


def told_otherwise(
    row: models.Model, said: dict[str, Any] | None, names: tuple[str, ...]
) -> Iterator[Fault]:
    if said is None:
        yield Fault(named(row), "not on its paper", "on its paper")
        return
    for name in names:
        if cents(getattr(row, name)) != cents(said[name]):
            yield Fault(f"{named(row)}, {name}", str(getattr(row, name)), str(said[name]))


def pdfs(look: Look) -> Iterator[Fault]:
    """Each paper has its one PDF, whole; or one is promised, being made, or given up in sight."""
    promised = {
        row.payload["document"]
        for row in OutboxRow.objects.filter(topic="document.pdf", done_at__isnull=True)
    }
    for document in Document.objects.prefetch_related("render_jobs").order_by("pk"):
        look.at()
        jobs = list(document.render_jobs.all())
        if document.pdf_sha256:
            fault = file_fault(settings.FILES_DIR, document.pdf_sha256, document.pdf_size)
            if fault:
                yield Fault(named(document), f"its PDF {fault}", document.pdf_sha256)
            done = [job for job in jobs if job.state == RenderState.DONE]
            if [job.pdf_sha256 for job in done] != [document.pdf_sha256]:
                yield Fault(named(document), f"{len(done)} renders done", "one, of this PDF")
        elif not jobs and document.pk not in promised:
            yield Fault(named(document), "no PDF and none promised", "one PDF")
        elif any(job.state == RenderState.DONE for job in jobs):
            yield Fault(named(document), "rendered, but without its PDF", "one PDF")
