"""Money: every line, sum and tax worked out again from the stored lines, in whole cents."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Protocol

from django.db import models

from shop.models import (
    ChangeLine,
    ChangeOrder,
    ChangeStatus,
    Document,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    Payment,
    PaymentKind,
    QuoteLine,
    QuoteOption,
    QuoteStatus,
)
from shop.verify.model import Fault, Look, named
from shop.verify.sums import cents, product_cents, tax_cents, text

KINDS = {"labor": "labor", "part": "parts", "supplies": "supplies", "fee": "fees"}


class Line(Protocol):
    kind: str
    amount: Decimal
    taxable: bool


def lines(look: Look) -> Iterator[Fault]:
    """Each line's amount is quantity times price, to the cent.

    A credited line may carry the rest of its amount: by parts a line must come to the whole.
    """
    rows: Iterable[models.QuerySet[Any]] = (
        QuoteLine.objects.exclude(kind="supplies"),
        ChangeLine.objects.exclude(kind="supplies"),
        InvoiceLine.objects.exclude(kind="supplies").filter(invoice__kind=InvoiceKind.INVOICE),
    )
    for row in (row for query in rows for row in query.order_by("pk")):
        look.at()
        wanted = product_cents(row.quantity, row.price)
        if cents(row.amount) != wanted:
            yield Fault(named(row), str(row.amount), text(wanted))


def quotes(look: Look) -> Iterator[Fault]:
    """Each option of an issued quote adds up from its lines, with the tax of its paper."""
    rows = QuoteOption.objects.exclude(quote__status=QuoteStatus.DRAFT).select_related("quote")
    for option in rows.order_by("pk"):
        look.at()
        paper = Document.objects.filter(quote=option.quote_id, kind="quote").first()
        if paper is None:
            yield Fault(named(option), "no paper", "the paper of its quote")
            continue
        wanted = sums_of(option.lines.all(), json.loads(paper.snapshot)["tax"])
        yield from differences(option, wanted)


def changes(look: Look) -> Iterator[Fault]:
    """Each change order that was offered adds up from its lines; its tax is within its paper.

    Supplies and tax of a change are differences of the whole job, so the tax of its own lines
    may differ from it by a cent.
    """
    for change in ChangeOrder.objects.exclude(status=ChangeStatus.DRAFT).order_by("pk"):
        look.at()
        if change.document is None:
            yield Fault(named(change), "no paper", "the paper that was offered")
            continue
        percent = json.loads(change.document.snapshot)["tax"]["percent"]
        wanted = sums_of(change.lines.all(), {"percent": percent, "method": "document"})
        tax = cents(change.tax)
        if abs(tax - wanted["tax"]) <= 1:
            wanted |= {"tax": tax, "total": wanted["net"] + tax}
        yield from differences(change, wanted)


def invoices(look: Look) -> Iterator[Fault]:
    """Each invoice adds up from its lines, with the tax of its paper."""
    for invoice in Invoice.objects.select_related("document").order_by("pk"):
        look.at()
        wanted = sums_of(invoice.lines.all(), json.loads(invoice.document.snapshot)["tax"])
        tax = cents(invoice.tax)
        # The last credit note of an invoice takes back what is left of the tax as well.
        if invoice.kind == InvoiceKind.CREDIT_NOTE and abs(tax - wanted["tax"]) <= 1:
            wanted |= {"tax": tax, "total": wanted["net"] + tax}
        yield from differences(invoice, wanted)
        if cents(invoice.tax_labor) + cents(invoice.tax_parts) != cents(invoice.tax):
            yield Fault(named(invoice), "taxes that do not add up", str(invoice.tax))


def sums_of(rows: Iterable[Line], tax: Mapping[str, Any]) -> dict[str, int]:
    """The sums of some lines in cents, by the names that the rows of a bill have."""
    listed = list(rows)
    sums = dict.fromkeys(KINDS.values(), 0)
    for row in listed:
        sums[KINDS[row.kind]] += cents(row.amount)
    taxed = [cents(row.amount) for row in listed if row.taxable]
    net = sum(sums.values())
    on_it = tax_cents(taxed, Decimal(tax["percent"]), tax["method"])
    return {**sums, "net": net, "taxable": sum(taxed), "tax": on_it, "total": net + on_it}


def differences(row: models.Model, wanted: Mapping[str, int]) -> Iterator[Fault]:
    for name, amount in wanted.items():
        stored = getattr(row, name)
        if cents(stored) != amount:
            yield Fault(f"{named(row)}, {name}", str(stored), text(amount))


def credits(look: Look) -> Iterator[Fault]:
    """No invoice is taken back beyond its total, nor by another job."""
    for invoice in Invoice.objects.filter(kind=InvoiceKind.INVOICE).order_by("pk"):
        look.at()
        notes = list(invoice.credit_notes.all())
        taken = sum(cents(note.total) for note in notes)
        if not -cents(invoice.total) <= taken <= 0:
            yield Fault(named(invoice), f"{text(taken)} taken back", f"at most {invoice.total}")
        for note in notes:
            if note.job_id != invoice.job_id:
                yield Fault(named(note), "another job than its invoice", f"job {invoice.job_id}")


def payments(look: Look) -> Iterator[Fault]:
    """A reversal takes back its payment, whole; a payment on an invoice is of its job."""
    for payment in Payment.objects.select_related("invoice", "reverses").order_by("pk"):
        look.at()
        if payment.invoice is not None and payment.invoice.job_id != payment.job_id:
            yield Fault(named(payment), "on an invoice of another job", f"job {payment.job_id}")
        undone = payment.reverses
        if (undone is not None) != (payment.kind == PaymentKind.REVERSAL):
            yield Fault(named(payment), f"kind {payment.kind}", "a reversal names what it reverses")
        if undone is not None and (undone.job_id, -undone.amount) != (
            payment.job_id,
            payment.amount,
        ):
            yield Fault(named(payment), str(payment.amount), str(-undone.amount))
