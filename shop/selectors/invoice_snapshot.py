"""Everything an invoice's or a credit note's paper says, as one JSON value."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from shop.invoicing import months_after
from shop.models import Invoice, InvoiceLine, Member, Payment
from shop.money import money_text, total_of
from shop.selectors.bill_rows import BillRow, bill_sections
from shop.selectors.billable import Billable
from shop.selectors.invoices import TOTAL_NAMES
from shop.selectors.lines import not_new
from shop.selectors.paper_parts import (
    boat_part,
    consent_part,
    do_not_run_reason,
    owner_part,
    paper_size,
    yard_part,
)
from shop.selectors.pricing import rate_card_on
from shop.selectors.undone import job_left

INVOICE_TEMPLATE_VERSION = "invoice/1"
CREDITNOTE_TEMPLATE_VERSION = "credit_note/1"


def invoice_snapshot(
    invoice: Invoice,
    lines: Sequence[InvoiceLine],
    billable: Billable,
    payments: Sequence[Payment],
    issued_by: Member,
) -> dict[str, Any]:
    """An invoice about to be issued, with the payments that are deducted from it."""
    tax = billable.tax
    option = billable.option
    months = rate_card_on(invoice.yard, tax.on).warranty_months
    paid = total_of(payment.amount for payment in payments)
    return {
        **_head(invoice, lines, issued_by),
        "paper": INVOICE_TEMPLATE_VERSION,
        "due_on": invoice.due_on.isoformat(),
        "on_receipt": invoice.due_on == invoice.issued_on,
        "warranty": invoice.warranty,
        "warranty_months": months,
        "warranty_until": months_after(invoice.issued_on, months).isoformat(),
        "quote": billable.quote.number,
        "option": option.letter if option else "",
        "option_title": option.title if option else "",
        "tax": {
            "name": tax.name,
            "percent": tax.percent,
            "method": tax.method,
            "on": tax.on.isoformat(),
        },
        "consents": [consent_part(row, invoice.yard.time_zone) for row in billable.consents],
        "left": [{"name": row.name, "words": row.words} for row in job_left(invoice.job)],
        "not_new": not_new(lines),
        "old_parts_back": billable.consents[0].old_parts_back,
        "payments": [_payment(row) for row in payments],
        "paid": money_text(paid),
        "due": money_text(total_of([invoice.total, -paid])),
        "how_to_pay": invoice.yard.payment_text,
    }


def creditnote_snapshot(
    note: Invoice,
    lines: Sequence[InvoiceLine],
    *,
    invoice: Invoice,
    why: str,
    tax: dict[str, str],
    left: Decimal,
    issued_by: Member,
) -> dict[str, Any]:
    """A credit note about to be issued, with what is left of its invoice after it."""
    return {
        **_head(note, lines, issued_by),
        "paper": CREDITNOTE_TEMPLATE_VERSION,
        "corrects": {
            "number": invoice.number,
            "issued_on": invoice.issued_on.isoformat(),
            "total": money_text(invoice.total),
            "left": money_text(left),
        },
        "why": why,
        "tax": tax,
    }


def _head(invoice: Invoice, lines: Sequence[InvoiceLine], issued_by: Member) -> dict[str, Any]:
    hull = invoice.job.hull
    by_number = {line.no: line for line in lines}
    return {
        "size": paper_size(invoice.yard),
        "number": invoice.number,
        "issued_on": invoice.issued_on.isoformat(),
        "issued_by": issued_by.user.name,
        "job": invoice.job.number,
        "yard": yard_part(invoice.yard),
        "boat": boat_part(hull),
        "owner": {**owner_part(hull.customer), "address": hull.customer.address},
        "do_not_run": do_not_run_reason(hull),
        "sections": [
            {
                "title": section.title,
                "rows": [_row(row, by_number[row.no]) for row in section.rows],
                "sum": money_text(section.sum),
            }
            for section in bill_sections(lines)
        ],
        "totals": {name: money_text(getattr(invoice, name)) for name in TOTAL_NAMES},
    }


def _row(row: BillRow, line: InvoiceLine) -> dict[str, Any]:
    """What is printed of a line; what it is of, and which line it takes back, is kept beside it."""
    return {
        "ref": line.ref,
        "credits": line.credits.no if line.credits else None,
        "words": row.words,
        "change": row.change,
        "quantity": row.quantity,
        "unit": row.unit,
        "price": row.price,
        "amount": money_text(row.amount),
        "taxable": row.taxable,
    }


def _payment(row: Payment) -> dict[str, str]:
    return {
        "kind": str(row.get_kind_display()),
        "means": str(row.get_means_display()),
        "on": row.received_on.isoformat(),
        "reference": row.reference,
        "amount": money_text(row.amount),
    }


def standing(payments: Sequence[Payment]) -> list[Payment]:
    """Payments without the wrong entries and their reversals, which cancel each other."""
    reversed_ = {row.reverses_id for row in payments if row.reverses_id}
    return [row for row in payments if row.pk not in reversed_ and not row.reverses_id]
