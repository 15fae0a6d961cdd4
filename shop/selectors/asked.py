"""What an owner is asked for before a job is billed: the deposit, then what is left to bill.

The owner's page and the desk's page of money both say it from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from shop.exceptions import Refused
from shop.models import Invoice, InvoiceKind, Job, WorkOrderStatus
from shop.money import ZERO, total_of
from shop.selectors.balances import JobBalance
from shop.selectors.billable import job_billable
from shop.selectors.consented import Authorized, accepted_quote, job_authorized
from shop.selectors.invoices import invoice_preview, left_undone_lines


@dataclass(frozen=True)
class Asked:
    deposit: Decimal = ZERO  # due on authorization, as far as it has not come in
    balance: Decimal | None = None  # the work is finished, and its invoice is to come

    @property
    def due(self) -> Decimal:
        return self.deposit if self.balance is None else self.balance


def last_bill(job: Job) -> Invoice | None:
    """The last invoice: of what was authorized, or of no work where nothing is."""
    rows = job.invoices.filter(kind=InvoiceKind.INVOICE)
    quote = accepted_quote(job)
    given = quote.consents.filter(option__isnull=False).order_by("at").last() if quote else None
    if given is not None:
        rows = rows.filter(issued_at__gte=given.at)
    return rows.order_by("pk").last()


def asked_of(job: Job, balance: JobBalance) -> Asked:
    """Nothing once an invoice stands: from then on the invoice is owed and nothing else."""
    if last_bill(job) is not None:
        return Asked()
    authorized = job_authorized(job)
    return asked_before_bill(job, authorized, balance) if authorized else Asked()


def asked_before_bill(job: Job, authorized: Authorized, balance: JobBalance) -> Asked:
    if job.work_orders.filter(status=WorkOrderStatus.COMPLETED).exists():
        return Asked(balance=total_of([_to_bill(job, authorized), -balance.received]))
    return Asked(deposit=max(authorized.option.deposit - balance.received, ZERO))


def _to_bill(job: Job, authorized: Authorized) -> Decimal:
    """What the invoice comes to as things stand: what was put off is not in it."""
    try:
        billable = job_billable(job)
        return invoice_preview(billable, left_undone_lines(billable)).totals.total
    except Refused:
        return authorized.total
