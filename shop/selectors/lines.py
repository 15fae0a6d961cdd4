"""Stored lines of quotes, change orders and bills, as the values that arithmetic works with."""

from __future__ import annotations

from typing import Any

from shop.models import ChangeLine, InvoiceLine, QuoteLine
from shop.pricing import Line, LineKind


def line_read(row: QuoteLine | ChangeLine | InvoiceLine, *, number: int) -> Line:
    """A stored line as a value, under a number."""
    return Line(
        number=number,
        kind=LineKind(row.kind),
        ref=row.ref,
        description=row.description,
        quantity=row.quantity,
        unit=row.unit,
        price=row.price,
        amount=row.amount,
        is_taxable=row.taxable,
        group=row.group,
    )


def line_fields(line: Line) -> dict[str, Any]:
    """The columns of a row that stores a line."""
    return {
        "no": line.number,
        "kind": line.kind.value,
        "ref": line.ref,
        "description": line.description,
        "quantity": line.quantity,
        "unit": line.unit,
        "price": line.price,
        "amount": line.amount,
        "taxable": line.is_taxable,
        "group": line.group,
    }
