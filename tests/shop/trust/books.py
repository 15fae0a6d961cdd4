"""A yard with a row of every kind that is kept as it was recorded."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from shop.models import (
    Addendum,
    Completion,
    Cut,
    Device,
    Document,
    Job,
    JobEvent,
    LinkView,
    Member,
    Override,
    OwnerLink,
    Product,
    Quote,
    WorkOrder,
)
from shop.services.accounts import epoch_ensure
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.payments import payment_record
from tests import factories as make
from tests.shop.billing import make_billable, make_bookkeeper, make_change


def make_books() -> Member:
    """A yard with an issued quote, consents, an invoice, a credit note and payments, and with a
    row of every other kind that is kept as it was recorded."""
    books = make_bookkeeper()
    job = make_billable(books)
    make_change(books, job, [("part", "1", "24.50")])
    invoice = invoice_issue(member=books, job=job)
    creditnote_issue(member=books, invoice=invoice, quantities={2: Decimal(1)}, why="Unused.")
    for kind in ("deposit", "payment"):
        payment_record(
            member=books, job=job, kind=kind, means="card", amount=Decimal(5),
            received_on=date(2026, 9, 12),
        )  # fmt: skip
    recorded(books, job)
    overridden(books)
    Document.objects.update(pdf_sha256="ab" * 32, pdf_size=10)
    return books


def recorded(books: Member, job: Job) -> None:
    """Work, hose cut, the signed record with an addendum, an opened link."""
    order, yard = job.work_orders.get(), books.yard
    JobEvent.objects.create(
        yard=yard, work_order=order, device=Device.objects.create(yard=yard, name="Tablet"),
        device_seq=1, author=books, uploader=books, kind="note", content_sha256="0" * 64,
        claimed_at=make.NOON, received_at=make.NOON,
    )  # fmt: skip
    hose = Product.objects.create(yard=yard, sku="H-1", kind="hose", description="Hose", price=1)
    lot = yard.lots.create(product=hose, code="LOT-1")
    reel = lot.reels.create(yard=yard, ident="RL-1", received_on=make.DAY, received_in=600)
    Cut.objects.create(
        yard=yard, reel=reel, work_order=order, segment_ident="S1", length_in=10, member=books,
        at=make.NOON,
    )  # fmt: skip
    signed(books, order)
    link = OwnerLink.objects.create(yard=yard, job=job, expires_at=make.NOON)
    LinkView.objects.create(link=link, seen_at=make.NOON)
    epoch_ensure()


def signed(books: Member, order: WorkOrder) -> None:
    hull = order.job.hull
    completion = Completion.objects.create(
        yard=books.yard, work_order=order, installed=order.proposed,
        document=make.make_document(books, hull, number="R-1"), signed_by=books,
        signed_at=make.NOON, completed_on=make.DAY, next_inspection_on=make.DAY,
        warranty_until=make.DAY,
    )  # fmt: skip
    Addendum.objects.create(
        completion=completion, text="Test.", member=books, at=make.NOON,
        document=make.make_document(books, hull, number="R-1 A-1"),
    )  # fmt: skip


def overridden(books: Member) -> None:
    """Another quote, which a lead decided on before it was issued."""
    quote = make.make_quote(make.make_hull(books.yard, "Other Boat"))
    Override.objects.create(
        quote=quote, subject="S1", rule="r", regime="x", reason="y", member=books, at=make.NOON
    )
    Quote.objects.filter(pk=quote.pk).update(
        number="Q-2609-999", issued_on=make.DAY, valid_to=make.DAY, status="issued"
    )
