"""The day book: each invoice, credit note and payment between two days, in order of the day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shop.csvout import Column, Export
from shop.models import Invoice, Job, Payment, Yard
from shop.money import ZERO, total_of

SUMS = ("labor", "parts", "supplies", "fees", "net", "tax_labor", "tax_parts", "total")

DAYBOOK_EXPORT = Export(
    "day-book",
    (
        *(Column(name) for name in ("day", "kind", "number", "corrects", "job", "boat", "owner")),
        *(Column(name, "number") for name in (*SUMS, "received")),
        *(Column(name) for name in ("means", "reference", "recorded by")),
    ),
)


@dataclass(frozen=True)
class DayEntry:
    """One line of the day book: what was charged, or what was received."""

    day: date
    kind: str
    number: str
    corrects: str
    job: str
    boat: str
    owner: str
    charged: dict[str, Decimal]  # by the names in SUMS; empty for money received
    received: Decimal | None
    means: str
    reference: str
    by: str
    job_pk: int = 0
    invoice_pk: int | None = None

    @property
    def tax(self) -> Decimal | None:
        if not self.charged:
            return None
        return total_of([self.charged["tax_labor"], self.charged["tax_parts"]])


def daybook(yard: Yard, *, first: date, last: date) -> list[DayEntry]:
    invoices = Invoice.objects.filter(yard=yard, issued_on__range=(first, last))
    payments = Payment.objects.filter(yard=yard, received_on__range=(first, last))
    paths = ("job__hull__customer",)
    charged = invoices.select_related(*paths, "corrects", "issued_by__user").order_by("pk")
    received = payments.select_related(*paths, "invoice", "recorded_by__user").order_by("pk")
    entries = [*map(_charged, charged), *map(_received, received)]
    return sorted(entries, key=lambda entry: entry.day)


def daybook_sums(entries: Iterable[DayEntry]) -> dict[str, Decimal]:
    rows = list(entries)
    sums = {name: total_of(row.charged.get(name, ZERO) for row in rows) for name in SUMS}
    tax = total_of([sums["tax_labor"], sums["tax_parts"]])
    return {**sums, "tax": tax, "received": total_of(row.received or ZERO for row in rows)}


def daybook_data(entries: Iterable[DayEntry]) -> bytes:
    """The entries as a file for a spreadsheet program."""
    return DAYBOOK_EXPORT.data(map(_cells, entries))


def _cells(entry: DayEntry) -> list[object]:
    return [
        *(entry.day, entry.kind, entry.number, entry.corrects),
        *(entry.job, entry.boat, entry.owner),
        *(entry.charged.get(name) for name in SUMS),
        *(entry.received, entry.means, entry.reference, entry.by),
    ]


def _charged(row: Invoice) -> DayEntry:
    return DayEntry(
        day=row.issued_on,
        kind=str(row.get_kind_display()),
        number=row.number,
        corrects=row.corrects.number if row.corrects else "",
        **_whose(row.job),
        charged={name: getattr(row, name) for name in SUMS},
        received=None,
        means="",
        reference="",
        by=row.issued_by.user.name,
        job_pk=row.job_id,
        invoice_pk=row.pk,
    )


def _received(row: Payment) -> DayEntry:
    return DayEntry(
        day=row.received_on,
        kind=str(row.get_kind_display()),
        number=row.invoice.number if row.invoice else "",
        corrects="",
        **_whose(row.job),
        charged={},
        received=row.amount,
        means=str(row.get_means_display()),
        reference=row.reference,
        by=row.recorded_by.user.name,
        job_pk=row.job_id,
        invoice_pk=row.invoice_id,
    )


def _whose(job: Job) -> dict[str, str]:
    return {"job": job.number, "boat": job.hull.name, "owner": job.hull.customer.name}
