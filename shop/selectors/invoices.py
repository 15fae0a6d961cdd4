"""Reading invoices and credit notes: lists, what is left of one, and what its page shows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.invoicing import (
    BillError,
    BillTotals,
    Owed,
    bill_totals,
    billed_lines,
    free_lines,
)
from shop.models import (
    Consent,
    Decision,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    Job,
    NumberSeries,
    Payment,
    RenderJob,
    SeriesKind,
    WorkOrder,
    WorkOrderStatus,
    Yard,
)
from shop.money import total_of
from shop.numbering import number_text, wall_clock
from shop.pricing import Line, Tax
from shop.pricing.lines import GROUP_TEST
from shop.selectors.balances import JobBalance, invoice_balance, invoice_balances, job_balance
from shop.selectors.bill_rows import BillSection, bill_sections
from shop.selectors.billable import Billable, job_billable
from shop.selectors.folding import work_folded
from shop.selectors.hulls import BoatBlock, hull_block
from shop.selectors.lines import line_read
from shop.selectors.pricing import TAG_SKU
from shop.selectors.waived import waived_tests
from shop.work.model import DEFERRED

TOTAL_NAMES = (
    *("labor", "parts", "supplies", "fees", "net", "taxable"),
    *("tax_labor", "tax_parts", "tax", "total"),
)


def invoice_list(*, yard: Yard, words: str = "") -> QuerySet[Invoice]:
    """Invoices and credit notes, newest first; every word occurs in number, boat, owner or job."""
    rows = Invoice.objects.filter(yard=yard).select_related("job__hull__customer", "corrects")
    for word in words.split():
        rows = rows.filter(
            Q(number__icontains=word)
            | Q(job__number__icontains=word)
            | Q(job__hull__name__icontains=word)
            | Q(job__hull__customer__name__icontains=word)
        )
    return rows.order_by("-issued_at", "-pk")


@dataclass(frozen=True)
class ListRow:
    invoice: Invoice
    balance: Decimal | None  # a credit note has none


def with_balances(invoices: Iterable[Invoice]) -> list[ListRow]:
    rows = list(invoices)
    owed = invoice_balances(rows)
    return [ListRow(row, owed[row.pk] if row.kind == InvoiceKind.INVOICE else None) for row in rows]


def jobs_to_bill(*, yard: Yard) -> list[tuple[Job, Decimal]]:
    """Jobs whose work is done, or for which no work was chosen at a price, and that no invoice
    bills; each with the total consented to."""
    done = WorkOrder.objects.filter(job=OuterRef("pk"), status=WorkOrderStatus.COMPLETED)
    no_work = Consent.objects.filter(
        job=OuterRef("pk"), quote__isnull=False, decision=Decision.DECLINED, new_total__gt=0
    )
    jobs = Job.objects.filter(Exists(done) | Exists(no_work), yard=yard)
    rows = jobs.select_related("hull__customer", "yard")
    return [
        (job, billable.limit) for job in rows if (billable := _billable_or_none(job)) is not None
    ]


def _billable_or_none(job: Job) -> Billable | None:
    try:
        return job_to_bill(job)
    except Refused:
        return None


def job_to_bill(job: Job) -> Billable:
    """What a job's invoice may bill, now.

    Raises
    ------
    Refused
        When its work is open, an invoice bills it already, or nothing is authorized.
    """
    if job.work_orders.filter(status=WorkOrderStatus.OPEN).exists():
        raise Refused(
            _("The work on %(job)s is open. Sign its completion record first.")
            % {"job": job.number}
        )
    live = live_invoice(job)
    if live is not None:
        raise Refused(
            _("%(invoice)s bills %(job)s already. Credit all of it first, then bill anew.")
            % {"invoice": live.number, "job": job.number}
        )
    return job_billable(job)


def live_invoice(job: Job) -> Invoice | None:
    """The invoice that bills the job: the last one, unless it is taken back whole."""
    last = job.invoices.filter(kind=InvoiceKind.INVOICE).order_by("pk").last()
    return None if last is None or is_credited_whole(last) else last


def is_credited_whole(invoice: Invoice) -> bool:
    return all(entry.quantity == 0 for entry in invoice_owed(invoice))


def invoice_owed(invoice: Invoice) -> list[Owed]:
    """Each line of an invoice, with what its credit notes took back of it."""
    taken: dict[int, list[InvoiceLine]] = {}
    for row in InvoiceLine.objects.filter(invoice__corrects=invoice).order_by("pk"):
        taken.setdefault(row.credits_id or 0, []).append(row)
    return [_owed(row, taken.get(row.pk, [])) for row in invoice.lines.all()]


def _owed(row: InvoiceLine, credits: list[InvoiceLine]) -> Owed:
    return Owed(
        line_of(row),
        credited_quantity=-sum((credit.quantity for credit in credits), Decimal(0)),
        credited_amount=total_of(-credit.amount for credit in credits),
    )


def line_of(row: InvoiceLine) -> Line:
    return line_read(row, number=row.no)


def totals_left(invoice: Invoice) -> BillTotals:
    """What the invoice and its credit notes come to."""
    left = totals_of(invoice)
    for note in invoice.credit_notes.all():
        left = left + totals_of(note)
    return left


def totals_of(invoice: Invoice) -> BillTotals:
    return BillTotals(**{name: getattr(invoice, name) for name in TOTAL_NAMES})


def invoice_tax(invoice: Invoice) -> tuple[Tax, dict[str, str]]:
    """The tax profile frozen into an invoice, for its credit notes."""
    shown: dict[str, str] = json.loads(invoice.document.snapshot)["tax"]
    return Tax(Decimal(shown["percent"]) / 100, frozenset(), shown["method"]), shown


@dataclass(frozen=True)
class InvoicePage:
    invoice: Invoice
    block: BoatBlock
    sections: tuple[BillSection, ...]
    said: dict[str, Any]  # the copy that the paper is made from
    consents: list[dict[str, Any]]
    balance: Decimal
    job_balance: JobBalance
    credit_notes: tuple[Invoice, ...]
    payments: tuple[Payment, ...]
    render: RenderJob | None
    can_be_credited: bool


def invoice_page(invoice: Invoice) -> InvoicePage:
    is_note = invoice.kind == InvoiceKind.CREDIT_NOTE
    said = json.loads(invoice.document.snapshot)
    return InvoicePage(
        invoice=invoice,
        block=hull_block(invoice.job.hull),
        sections=bill_sections(invoice.lines.all()),
        said=said,
        consents=[{**row, "at": wall_clock(row["at"])} for row in said.get("consents", [])],
        balance=invoice_balance(invoice),
        job_balance=job_balance(invoice.job),
        credit_notes=tuple(invoice.credit_notes.order_by("pk")),
        payments=tuple(job_payments(invoice.job)),
        render=invoice.document.render_jobs.order_by("revision").last(),
        can_be_credited=not is_note and not is_credited_whole(invoice),
    )


def job_payments(job: Job) -> QuerySet[Payment]:
    """Every entry of money on a job, as recorded, the wrong ones with their reversals."""
    rows = job.payments.select_related("recorded_by__user", "invoice", "reverses", "reversed_by")
    return rows.order_by("received_on", "pk")


@dataclass(frozen=True)
class Preview:
    """What an invoice of what was done would say, before it is issued."""

    billable: Billable
    sections: tuple[BillSection, ...]
    totals: BillTotals
    received: Decimal
    consents: tuple[Consent, ...]

    @property
    def due(self) -> Decimal:
        return total_of([self.totals.total, -self.received])


def invoice_preview(
    billable: Billable, quantities: Mapping[int, Decimal], *, warranty: bool = False
) -> Preview:
    """The bill with these quantities, as it is issued with them."""
    try:
        billed = billed_lines(billable.lines, quantities, billable.rule)
    except BillError:
        billed = ()
    lines = free_lines(billed) if warranty else billed
    return Preview(
        billable=billable,
        sections=bill_sections(map(_Shown, lines)),
        totals=bill_totals(lines, billable.tax.tax),
        received=job_balance(billable.job).received,
        consents=billable.consents,
    )


class _Shown:
    """A line of the arithmetic under the names of a stored one."""

    def __init__(self, line: Line) -> None:
        self.no, self.kind, self.taxable = line.number, line.kind.value, line.is_taxable
        self.description, self.unit, self.group = line.description, line.unit, line.group
        self.quantity, self.price, self.amount = line.quantity, line.price, line.amount
        self.condition = line.condition


def number_series(*, yard: Yard, period: str) -> list[tuple[str, str]]:
    """The series of a year with the number that comes next in each."""
    begun = {row.kind: row for row in NumberSeries.objects.filter(yard=yard, period=period)}
    kinds = (SeriesKind.INVOICE, SeriesKind.CREDIT_NOTE)
    following = {kind: begun[kind].next_number if kind in begun else 1 for kind in kinds}
    return [(str(kind.label), number_text(kind, period, following[kind])) for kind in kinds]


def left_undone_lines(billable: Billable) -> dict[int, Decimal]:
    """What is done of the lines of work that was put off, by the line's number: nothing, and of
    the tags, one for each segment, those of the others; of tests, those that were not waived."""
    put_off = _put_off(billable.job)
    done = {
        line.number: Decimal(0) for line in billable.lines if billable.work[line.number] in put_off
    }
    tagless = len(put_off & set(billable.option.segments)) if billable.option else 0
    tags = [line for line in billable.lines if line.ref == TAG_SKU and line.group == GROUP_TEST]
    if tagless:
        done |= {line.number: max(line.quantity - tagless, Decimal(0)) for line in tags}
    for test in waived_tests(billable):
        if test.quantity is not None:
            done[test.line.number] = test.quantity
    return done


def _put_off(job: Job) -> set[str]:
    """Segments, and parts beside them, that were put off and not taken up again."""
    put_off = set()
    for work_order in job.work_orders.exclude(status=WorkOrderStatus.CANCELLED):
        folded = work_folded(work_order).segments.values()
        put_off |= {work.ident for work in folded if work.state == DEFERRED}
    return put_off
