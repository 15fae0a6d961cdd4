"""The money of the scenario: deposits, invoice I-26-0117, its payment, credit note C-26-0012.

Called once the work of job 1 is complete. The scenario names the card for payment and refund,
and no means for the deposits: they are taken as card as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from shop.models import Invoice, Job, Member, PaymentKind, PaymentMeans, Quote, Yard
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.mails import document_send
from shop.services.numbering import number_series_start
from shop.services.payments import payment_record
from shop.services.terms import terms_set

FIRST_NUMBERS = (("invoice", 117), ("credit_note", 12))
YEAR = "26"
HOW_TO_PAY = (
    "By card over the phone, +1 555 0110, or by check to Osprey Ladder Marine Service, "
    "14 Ropewalk Lane, Port Halloway."
)


def load_money(members: Mapping[str, Member], quotes: Mapping[str, Quote]) -> None:
    """Sections 7 and 9 of the scenario, as far as money moves. Boats by their keys."""
    books = members["pia"]
    begin_series(books)
    terms_set(member=books, payment_days=0, payment_text=HOW_TO_PAY)
    _pay(books, _job(quotes["B1"]), PaymentKind.DEPOSIT, "975.00", "2026-09-12T08:16")
    job_1_billed(books, _job(quotes["B1"]))
    if "B3" in quotes:
        _pay(books, _job(quotes["B3"]), PaymentKind.DEPOSIT, "1580.00", "2026-10-12T09:00")


def begin_series(member: Member) -> None:
    """The shop moved here within the year: its series go on where they stood."""
    for kind, first in FIRST_NUMBERS:
        number_series_start(yard=member.yard, member=member, kind=kind, period=YEAR, first=first)


def job_1_billed(books: Member, job: Job) -> None:
    """Invoice, payment, credit note and refund of Slack Tide."""
    yard = job.yard
    invoice = invoice_issue(member=books, job=job, at=_local(yard, "2026-09-18T15:10"))
    document_send(member=books, document=invoice.document, at=invoice.issued_at)
    _pay(books, job, PaymentKind.PAYMENT, "1531.54", "2026-09-21T07:44", invoice)
    clamp = invoice.lines.filter(ref="C-SB-M").order_by("no").first()
    assert clamp is not None  # option B renews three feed segments
    creditnote_issue(
        member=books,
        invoice=invoice,
        quantities={clamp.no: Decimal(1)},
        words={clamp.no: "Credit: one clamp returned unused"},
        why="One clamp came back unused.",
        at=_local(yard, "2026-09-24T09:15"),
    )
    _pay(books, job, PaymentKind.REFUND, "4.37", "2026-09-24T09:15", invoice)


def _pay(
    books: Member, job: Job, kind: PaymentKind, amount: str, at: str, invoice: Invoice | None = None
) -> None:
    payment_record(
        member=books,
        job=job,
        kind=kind,
        means=PaymentMeans.CARD,
        amount=Decimal(amount),
        received_on=date.fromisoformat(at[:10]),
        invoice=invoice,
        at=_local(job.yard, at),
    )


def _job(quote: Quote) -> Job:
    assert quote.job is not None  # an issued quote has its job
    return quote.job


def _local(yard: Yard, text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(yard.time_zone))
