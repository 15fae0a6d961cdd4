"""Issuing invoices and credit notes. What is issued never changes; a credit note corrects it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.invoicing import (
    BillError,
    BillTotals,
    CreditedLine,
    Owed,
    bill_totals,
    billed_lines,
    credit_lines,
    credit_totals,
    due_on,
    free_lines,
)
from shop.models import (
    Document,
    DocumentKind,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    Job,
    Member,
)
from shop.numbering import local_day
from shop.pricing import Line
from shop.selectors.billable import Billable
from shop.selectors.invoice_snapshot import (
    CREDITNOTE_TEMPLATE_VERSION,
    INVOICE_TEMPLATE_VERSION,
    creditnote_snapshot,
    invoice_snapshot,
    standing,
)
from shop.selectors.invoices import (
    TOTAL_NAMES,
    invoice_owed,
    invoice_tax,
    job_payments,
    job_to_bill,
    left_undone_lines,
    totals_left,
)
from shop.selectors.lines import line_fields
from shop.services.audit import audit_append
from shop.services.documents import document_issue
from shop.services.locks import job_lock
from shop.services.numbering import number_take


@transaction.atomic
def invoice_issue(
    *,
    member: Member,
    job: Job,
    quantities: Mapping[int, Decimal] | None = None,
    warranty: bool = False,
    at: datetime | None = None,
) -> Invoice:
    """Bill a job: the authorized option and every consented change order, or the price for no
    work where that was chosen. In one transaction:

    1. refuse while the work is open, while another invoice bills the job, or above the consent;
    2. take the invoice's number, which a rollback gives back;
    3. store lines, totals, the paper's copy with its hash, ask for its PDF, and log it.

    `quantities` bills less of a line, by its number among the authorized lines; what was put off
    is not billed. Work under warranty is billed at nothing.
    """
    failpoint_on_commit("invoice.committed")
    job, at = job_lock(job), at or timezone.now()
    day = local_day(at, job.yard.time_zone)
    billable = job_to_bill(job)
    billed = _billed(billable, _done(billable, quantities or {}), warranty=warranty)
    totals = bill_totals(billed, billable.tax.tax)
    _within_consent(billable, totals)
    invoice = Invoice(
        yard=job.yard,
        job=job,
        kind=InvoiceKind.INVOICE,
        warranty=warranty,
        number=number_take(yard=job.yard, kind="invoice", day=day),
        issued_on=day,
        due_on=due_on(day, job.yard.payment_days),
        issued_by=member,
        issued_at=at,
        **_totals(totals),
    )
    failpoint("invoice.number taken")
    rows = [InvoiceLine(**line_fields(line)) for line in billed]
    payments = standing(list(job_payments(job)))
    snapshot = invoice_snapshot(invoice, rows, billable, payments, member)
    invoice.document = document_issue(
        member=member,
        kind=DocumentKind.INVOICE,
        number=invoice.number,
        hull=job.hull,
        job=job,
        quote=billable.quote,
        document_date=day,
        issued_at=at,
        snapshot=snapshot,
        template_version=INVOICE_TEMPLATE_VERSION,
    )
    return _stored(invoice, rows, "invoice.issue")


@transaction.atomic
def creditnote_issue(
    *,
    member: Member,
    invoice: Invoice,
    quantities: Mapping[int, Decimal],
    why: str,
    words: Mapping[int, str] | None = None,
    at: datetime | None = None,
) -> Invoice:
    """Take back a part of an invoice, or all that is left of it. In one transaction:

    1. refuse more than is left of any line;
    2. take the number of the credit notes' own series;
    3. store lines and totals below zero, the paper's copy, ask for its PDF, and log it.

    `quantities` are above zero, by number of the invoice's line; `words` describe a line.
    """
    failpoint_on_commit("creditnote.committed")
    job, at = job_lock(invoice.job), at or timezone.now()
    if invoice.kind != InvoiceKind.INVOICE:
        raise Refused(_("%(number)s is a credit note. Credit its invoice.") % {"number": invoice})
    if not why.strip():
        raise Refused(_("A credit note says why. Give the reason."))
    tax, shown = invoice_tax(invoice)
    owed, left = invoice_owed(invoice), totals_left(invoice)
    credited = _credited(owed, quantities)
    totals = credit_totals(credited, tax, owed=owed, left=left)
    day = local_day(at, job.yard.time_zone)
    note = Invoice(
        yard=job.yard,
        job=job,
        kind=InvoiceKind.CREDIT_NOTE,
        corrects=invoice,
        warranty=invoice.warranty,
        number=number_take(yard=job.yard, kind="credit_note", day=day),
        issued_on=day,
        due_on=day,
        issued_by=member,
        issued_at=at,
        **_totals(totals),
    )
    failpoint("creditnote.number taken")
    rows = _credit_rows(invoice, credited, words or {})
    snapshot = creditnote_snapshot(
        note,
        rows,
        invoice=invoice,
        why=why.strip(),
        tax=shown,
        left=(left + totals).total,
        issued_by=member,
    )
    note.document = _creditnote_document(note, invoice.document, snapshot)
    return _stored(note, rows, "creditnote.issue")


def _creditnote_document(
    note: Invoice, corrects: Document, snapshot: Mapping[str, object]
) -> Document:
    return document_issue(
        member=note.issued_by,
        kind=DocumentKind.CREDIT_NOTE,
        number=note.number,
        hull=note.job.hull,
        job=note.job,
        quote=corrects.quote,
        corrects=corrects,
        document_date=note.issued_on,
        issued_at=note.issued_at,
        snapshot=snapshot,
        template_version=CREDITNOTE_TEMPLATE_VERSION,
    )


def _done(billable: Billable, quantities: Mapping[int, Decimal]) -> dict[int, Decimal]:
    """The quantities asked for, and of what was put off no more than was done."""
    done = left_undone_lines(billable)
    for line in billable.lines:
        number = line.number
        if number in done and quantities.get(number, Decimal(0)) > done[number]:
            raise Refused(
                _("Line %(number)s, %(line)s, was put off in part or whole. Bill what was done.")
                % {"number": number, "line": line.description}
            )
    return {**done, **quantities}


def _billed(
    billable: Billable, quantities: Mapping[int, Decimal], *, warranty: bool
) -> Sequence[Line]:
    try:
        lines = billed_lines(billable.lines, quantities, billable.rule)
    except BillError as error:
        raise Refused(str(error)) from error
    return free_lines(lines) if warranty else lines


def _within_consent(billable: Billable, totals: BillTotals) -> None:
    if totals.total > billable.limit:
        last = billable.consents[-1]
        raise Refused(
            _(
                "The invoice comes to %(total)s, and %(person)s consented to %(limit)s. "
                "Record a change order and its consent, or bill less."
            )
            % {"total": totals.total, "person": last.person, "limit": billable.limit}
        )


def _credited(owed: Sequence[Owed], quantities: Mapping[int, Decimal]) -> tuple[CreditedLine, ...]:
    try:
        return credit_lines(owed, quantities)
    except BillError as error:
        raise Refused(str(error)) from error


def _credit_rows(
    invoice: Invoice, credited: Sequence[CreditedLine], words: Mapping[int, str]
) -> list[InvoiceLine]:
    of = {row.no: row for row in invoice.lines.all()}
    rows = []
    for entry in credited:
        said = words.get(entry.of) or _("Credit: %(line)s") % {"line": entry.line.description}
        row = InvoiceLine(**line_fields(replace(entry.line, description=said[:300])))
        row.credits = of[entry.of]
        rows.append(row)
    return rows


def _stored(invoice: Invoice, rows: Sequence[InvoiceLine], action: str) -> Invoice:
    failpoint("bill.document issued")
    # The database asks its constraints itself; each costs a query here, with the yard locked.
    invoice.full_clean(validate_constraints=False)
    invoice.save(force_insert=True)
    for row in rows:
        row.invoice = invoice
        row.clean_fields(exclude=["invoice", "credits"])
    InvoiceLine.objects.bulk_create(rows)
    audit_append(
        yard=invoice.yard,
        member=invoice.issued_by,
        action=action,
        subject=invoice,
        values={
            "number": invoice.number,
            "total": str(invoice.total),
            "corrects": invoice.corrects.number if invoice.corrects else None,
        },
    )
    failpoint("bill.before commit")
    return invoice


def _totals(totals: BillTotals) -> dict[str, Decimal]:
    return {name: getattr(totals, name) for name in TOTAL_NAMES}
