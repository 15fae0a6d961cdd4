"""Damage to papers, their files and what is promised of them, and which checks must report it."""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

from django.conf import settings
from django.utils import timezone

from shop.files import file_path
from shop.models import (
    ChangeLine,
    ChangeOrder,
    Completion,
    Document,
    Invoice,
    InvoiceLine,
    Mail,
    Member,
    OutboxRow,
    Quote,
    QuoteLine,
    RenderJob,
    StoredFile,
)
from shop.services.documents import snapshot_text
from tests.shop.trust.damaging import Damage, another, first, write


def copy_edited() -> None:
    paper = first(Document, kind="tags")
    write(paper, snapshot=paper.snapshot.replace("S1", "S7", 1))


def paper_gone() -> None:
    paper = first(Document, kind="tags")
    RenderJob.objects.filter(document=paper).delete()
    paper.delete()


def copy_and_its_hash() -> None:
    paper = first(Document, kind="quote", consents__isnull=False)
    text = snapshot_text({**json.loads(paper.snapshot), "note": "Another note."})
    write(paper, snapshot=text, snapshot_sha256=hashlib.sha256(text.encode()).hexdigest())


def pdf_bit() -> None:
    path = file_path(settings.FILES_DIR, first(Document).pdf_sha256)
    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(data)


def pdf_gone() -> None:
    file_path(settings.FILES_DIR, first(Document).pdf_sha256).unlink()


def pdf_never_made() -> None:
    paper = first(Document)
    RenderJob.objects.filter(document=paper).delete()
    write(paper, pdf_sha256="", pdf_size=None)


def pdf_of_another_render() -> None:
    write(first(RenderJob), pdf_sha256="ab" * 32)


def upload_gone() -> None:
    file_path(settings.FILES_DIR, first(StoredFile).sha256).unlink()


def an_old_file(name: str) -> None:
    path = settings.FILES_DIR / name
    path.write_bytes(b"nobody's")
    long_ago = time.time() - 2 * 3600
    os.utime(path, (long_ago, long_ago))


def file_of_no_row() -> None:
    an_old_file("cd" * 32)


def file_half_written() -> None:
    an_old_file("tmpq1.part")


def follow_up_forgotten() -> None:
    write(first(OutboxRow), done_at=None, not_before=timezone.now() - timedelta(days=1))


def lease_forgotten() -> None:
    paper = first(Document)
    write(paper, pdf_sha256="", pdf_size=None)
    job = first(RenderJob, document=paper)
    long_ago = timezone.now() - timedelta(days=1)
    write(job, state="leased", leased_until=long_ago, pdf_sha256="")


def mail_forgotten() -> None:
    member = first(Member)
    mail = Mail(yard=member.yard, topic="reminder", to="a@example.com", created_at=timezone.now())
    mail.save(force_insert=True)


def record_signed_by_another() -> None:
    record = first(Completion)
    write(record, signed_by=another(record.signed_by))


def record_inspected_later() -> None:
    record = first(Completion)
    write(record, next_inspection_on=record.next_inspection_on + timedelta(days=3650))


def invoice_due_later() -> None:
    invoice = first(Invoice, kind="invoice")
    write(invoice, due_on=invoice.due_on + timedelta(days=30))


def quote_valid_longer() -> None:
    quote = first(Quote, status="accepted")
    write(quote, valid_to=quote.valid_to + timedelta(days=365))


def no_work_priced_by_hand() -> None:
    write(first(Quote, status="accepted"), no_work_price=Decimal("95.00"))


def change_for_another_reason() -> None:
    write(first(ChangeOrder, status="consented"), reason="Another reason.")


def quoted_as_used() -> None:
    write(first(QuoteLine, kind="part", option__quote__status="accepted"), condition="used")


def quoted_work_as_used() -> None:
    write(first(QuoteLine, kind="labor", option__quote__status="accepted"), condition="used")


def quoted_in_other_words() -> None:
    write(first(QuoteLine, kind="part"), description="Another part.")


def quoted_in_another_unit() -> None:
    write(first(QuoteLine, kind="part"), unit="box")


def quoted_under_another_number() -> None:
    write(first(QuoteLine, kind="part"), ref="NO-SUCH")


def changed_to_rebuilt() -> None:
    write(first(ChangeLine, kind="part"), condition="rebuilt")


def changed_in_other_words() -> None:
    write(first(ChangeLine, kind="labor"), description="Other work.")


def changed_in_another_unit() -> None:
    write(first(ChangeLine, kind="part"), unit="box")


def billed_otherwise(**values: object) -> Callable[[], None]:
    def plant() -> None:
        write(first(InvoiceLine, kind="part", invoice__kind="invoice"), **values)

    return plant


def billed_more() -> None:
    line = first(InvoiceLine, kind="part")
    write(line, amount=line.amount + Decimal("1.00"))


def billed_twice_at_half() -> None:
    """The amount stays, so that every sum still agrees."""
    line = first(InvoiceLine, kind="part", quantity=1)
    write(line, quantity=2, price=line.price / 2)


def billed_under_another_tax() -> None:
    line = first(InvoiceLine, kind="labor", invoice__kind="invoice")
    write(line, taxable=not line.taxable)


def billed_line_added() -> None:
    line = first(InvoiceLine, kind="part")
    InvoiceLine.objects.create(
        invoice=line.invoice, no=9000, kind="fee", ref="NO-SUCH", description="Another fee.",
        quantity=1, unit="each", price=0, amount=0, taxable=False,
    )  # fmt: skip


def billed_line_gone() -> None:
    first(InvoiceLine, kind="part", credited_by__isnull=True).delete()


def credited_in_other_words() -> None:
    line = first(InvoiceLine, invoice__kind="credit_note")
    write(line, description="Another part.")


def credited_for_another_line() -> None:
    line = first(InvoiceLine, invoice__kind="credit_note")
    assert line.credits is not None
    others = InvoiceLine.objects.filter(invoice=line.credits.invoice).exclude(pk=line.credits_id)
    write(line, credits=others.earliest("no"))


def credited_from_another_bill() -> None:
    """A line of the number that the paper says, and not on the invoice that it corrects."""
    line = first(InvoiceLine, invoice__kind="credit_note")
    assert line.credits is not None
    write(line, no=line.credits.no, credits=line)


def billed_sum_on_paper() -> None:
    paper = first(Document, kind="invoice")
    said = json.loads(paper.snapshot)
    said["sections"][0]["sum"] = "1.00"
    text = snapshot_text(said)
    write(paper, snapshot=text, snapshot_sha256=hashlib.sha256(text.encode()).hexdigest())


def record_signed_later() -> None:
    record = first(Completion)
    write(record, signed_at=record.signed_at + timedelta(days=1))


PAPERS: dict[str, tuple[Damage, set[str]]] = {
    "a copy edited": (copy_edited, {"papers.copy"}),
    "a paper gone": (paper_gone, {"audit.told"}),
    "a copy edited with its hash": (
        copy_and_its_hash,
        {"audit.told", "consents.bound", "papers.records"},
    ),
    "a bit of a PDF": (pdf_bit, {"papers.pdf"}),
    "a PDF gone": (pdf_gone, {"papers.pdf"}),
    "a PDF never made": (pdf_never_made, {"papers.pdf"}),
    "a PDF of another render": (pdf_of_another_render, {"papers.pdf"}),
    "an upload gone": (upload_gone, {"files.stored"}),
    "a file of no row": (file_of_no_row, {"files.orphans"}),
    "a file half written": (file_half_written, {"files.orphans"}),
    "a follow-up forgotten": (follow_up_forgotten, {"promises.kept"}),
    "a lease forgotten": (lease_forgotten, {"promises.renders"}),
    "a mail forgotten": (mail_forgotten, {"promises.mails"}),
    "a record signed by another": (
        record_signed_by_another,
        {"papers.records", "audit.told"},
    ),
    "a record's next inspection": (record_inspected_later, {"papers.records"}),
    "an invoice due later": (invoice_due_later, {"papers.records"}),
    "a quote valid longer": (quote_valid_longer, {"papers.records"}),
    "a price for no work set by hand": (no_work_priced_by_hand, {"papers.records"}),
    "a change for another reason": (change_for_another_reason, {"papers.records"}),
    "a part quoted as new called used": (quoted_as_used, {"papers.lines"}),
    "work quoted called used": (quoted_work_as_used, {"papers.lines"}),
    "a line in other words": (quoted_in_other_words, {"papers.lines"}),
    "a line in another unit": (quoted_in_another_unit, {"papers.lines"}),
    "a line under another number": (quoted_under_another_number, {"papers.lines"}),
    "a part of a change called rebuilt": (changed_to_rebuilt, {"papers.lines"}),
    "a change in other words": (changed_in_other_words, {"papers.lines"}),
    "a change in another unit": (changed_in_another_unit, {"papers.lines"}),
    "a billed part in other words": (billed_otherwise(description="Other."), {"papers.bills"}),
    "a billed part called rebuilt": (billed_otherwise(condition="rebuilt"), {"papers.bills"}),
    "a billed part in another unit": (billed_otherwise(unit="box"), {"papers.bills"}),
    "a billed part of another change": (billed_otherwise(group="CO-9"), {"papers.bills"}),
    "a billed part as a fee": (
        billed_otherwise(kind="fee"),
        {"papers.bills", "money.invoices"},
    ),
    "a billed amount": (billed_more, {"papers.bills", "money.lines", "money.invoices"}),
    "a billed quantity at half the price": (billed_twice_at_half, {"papers.bills"}),
    "a billed line taxed otherwise": (
        billed_under_another_tax,
        {"papers.bills", "money.invoices"},
    ),
    "a billed line added": (billed_line_added, {"papers.bills"}),
    "a billed line gone": (billed_line_gone, {"papers.bills", "money.invoices"}),
    "a credited line in other words": (credited_in_other_words, {"papers.bills"}),
    "a billed part under another number": (billed_otherwise(ref="OTHER"), {"papers.bills"}),
    "a credit for another line": (credited_for_another_line, {"papers.bills"}),
    "a credit from another bill": (credited_from_another_bill, {"papers.bills"}),
    "a billed sum edited with its hash": (billed_sum_on_paper, {"papers.bills", "audit.told"}),
    "a record signed later": (record_signed_later, {"papers.records", "audit.told"}),
}
