"""Stored lines of quotes, change orders and bills, as the values that arithmetic works with."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Protocol

from django.utils.translation import gettext as _

from shop.models import ChangeLine, InvoiceLine, PartCondition, QuoteLine
from shop.pricing import Line, LineKind


class Told(Protocol):
    """What the words of a line are made of."""

    description: str
    condition: str


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
        condition=row.condition,
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
        "condition": line.condition,
    }


def line_words(line: Told) -> str:
    """What a line is for; a part that is not new says so wherever it stands."""
    if line.condition == PartCondition.NEW:
        return line.description
    said = {"part": line.description, "condition": condition_words(line.condition)}
    return _("%(part)s, %(condition)s") % said


def not_new(lines: Iterable[Told]) -> list[str]:
    """The conditions of parts that are not new, in words, each once."""
    held = {line.condition for line in lines} - {PartCondition.NEW.value}
    return [condition_words(value) for value in PartCondition.values if value in held]


def condition_words(value: str) -> str:
    return str(PartCondition(value).label).lower()
