"""What is owed: per job, per invoice, and by age. Sums are exact, in whole cents.

A job has one invoice at a time that is not taken back, so all that was paid on the job counts
toward its last invoice; an earlier one owes what is left of it after its credit notes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from shop.models import Invoice, InvoiceKind, Job, Payment, Yard
from shop.money import ZERO, total_of


@dataclass(frozen=True)
class JobBalance:
    charged: Decimal = ZERO  # invoices less credit notes
    received: Decimal = ZERO  # deposits and payments less refunds

    @property
    def due(self) -> Decimal:
        """Above zero: the owner owes it. Below: it is held, or to be paid back."""
        return total_of([self.charged, -self.received])


def job_balance(job: Job) -> JobBalance:
    return job_balances([job.pk]).get(job.pk, JobBalance())


def job_balances(job_ids: Iterable[int]) -> dict[int, JobBalance]:
    """Balances of several jobs in two queries; a job without money is not among them."""
    wanted = list(job_ids)
    return _balances(Invoice.objects.filter(job__in=wanted), Payment.objects.filter(job__in=wanted))


def _balances(invoices: QuerySet[Invoice], payments: QuerySet[Payment]) -> dict[int, JobBalance]:
    charged, received = defaultdict(list), defaultdict(list)
    for job_id, total in invoices.values_list("job_id", "total"):
        charged[job_id].append(total)
    for job_id, amount in payments.values_list("job_id", "amount"):
        received[job_id].append(amount)
    return {
        job_id: JobBalance(total_of(charged[job_id]), total_of(received[job_id]))
        for job_id in {*charged, *received}
    }


def invoice_balance(invoice: Invoice) -> Decimal:
    """What is still owed on an invoice; below zero: what was paid beyond it."""
    return invoice_balances([invoice])[invoice.pk]


def invoice_balances(invoices: Iterable[Invoice]) -> dict[int, Decimal]:
    """What is owed on each of these; a credit note owes nothing of its own."""
    rows = list(invoices)
    job_ids = {row.job_id for row in rows}
    owed = _owed(Invoice.objects.filter(job__in=job_ids), Payment.objects.filter(job__in=job_ids))
    return {row.pk: owed.get(row.pk, ZERO) for row in rows}


def _owed(invoices: QuerySet[Invoice], payments: QuerySet[Payment]) -> dict[int, Decimal]:
    """Owed by invoice: what is left of it, and on a job's last one less all that was paid."""
    left: dict[int, dict[int, list[Decimal]]] = defaultdict(lambda: defaultdict(list))
    columns = ("pk", "job_id", "corrects_id", "total")
    for pk, job_id, corrects_id, total in invoices.order_by("pk").values_list(*columns):
        left[job_id][corrects_id or pk].append(total)
    paid = _balances(invoices.none(), payments)
    owed = {}
    for job_id, by_invoice in left.items():
        last = max(by_invoice)
        for pk, totals in by_invoice.items():
            received = paid.get(job_id, JobBalance()).received if pk == last else ZERO
            owed[pk] = total_of([*totals, -received])
    return owed


# The ages by which a shop looks at what is owed: common practice, no source.
AGES = ((0, "current"), (30, "to_30"), (60, "to_60"), (90, "to_90"))
OLDEST = "over_90"
AGE_NAMES = (*(name for _days, name in AGES), OLDEST)


@dataclass(frozen=True)
class AgeingRow:
    invoice: Invoice
    balance: Decimal
    days_late: int  # 0 or less: not late

    @property
    def age(self) -> str:
        return age_of(self.days_late)

    @property
    def cells(self) -> tuple[Decimal | None, ...]:
        return tuple(self.balance if name == self.age else None for name in AGE_NAMES)


@dataclass(frozen=True)
class Ageing:
    on: date
    rows: tuple[AgeingRow, ...]

    @property
    def sums(self) -> tuple[Decimal, ...]:
        return tuple(
            total_of(row.balance for row in self.rows if row.age == name) for name in AGE_NAMES
        )

    @property
    def total(self) -> Decimal:
        return total_of(row.balance for row in self.rows)


def age_of(days_late: int) -> str:
    return next((name for most, name in AGES if days_late <= most), OLDEST)


def ageing(yard: Yard, *, on: date) -> Ageing:
    """Every invoice with a balance at the end of a day, the longest overdue first."""
    invoices = Invoice.objects.filter(yard=yard, issued_on__lte=on)
    payments = Payment.objects.filter(yard=yard, received_on__lte=on)
    owed = {pk: balance for pk, balance in _owed(invoices, payments).items() if balance}
    rows = invoices.filter(pk__in=owed, kind=InvoiceKind.INVOICE)
    rows = rows.select_related("job__hull__customer").order_by("due_on", "pk")
    return Ageing(on, tuple(AgeingRow(row, owed[row.pk], (on - row.due_on).days) for row in rows))
