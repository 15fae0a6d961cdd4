"""The lines of a bill as pages and papers list them: labor, parts and named charges apart."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from django.utils.translation import gettext_lazy as _

from shop.models import LineKind
from shop.money import total_of
from shop.selectors.lines import line_words
from shop.selectors.quote_rows import quantity_text

SECTIONS = (
    (_("Labor"), (LineKind.LABOR,)),
    (_("Parts"), (LineKind.PART,)),
    (_("Shop supplies and named charges"), (LineKind.SUPPLIES, LineKind.FEE)),
)
CHANGE = re.compile(r"CO-[0-9]+")
CENT = Decimal("0.01")


class BillLine(Protocol):
    """What a row needs of a line, stored or about to be."""

    no: int
    kind: str
    description: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal
    taxable: bool
    group: str
    condition: str


@dataclass(frozen=True)
class BillRow:
    no: int
    words: str
    change: str  # the change order that brought it, or nothing
    quantity: str
    unit: str
    price: str
    amount: Decimal
    taxable: bool


@dataclass(frozen=True)
class BillSection:
    title: str
    rows: tuple[BillRow, ...]

    @property
    def sum(self) -> Decimal:
        return total_of(row.amount for row in self.rows)


def bill_sections(lines: Iterable[BillLine]) -> tuple[BillSection, ...]:
    rows = list(lines)
    sections = (
        BillSection(str(title), tuple(bill_row(line) for line in rows if line.kind in kinds))
        for title, kinds in SECTIONS
    )
    return tuple(section for section in sections if section.rows)


def bill_row(line: BillLine) -> BillRow:
    return BillRow(
        no=line.no,
        words=re.sub(r" x 1$", "", line_words(line)),
        change=line.group if CHANGE.fullmatch(line.group) else "",
        quantity=quantity_text(line.quantity, line.unit).replace("-", "\u2212"),
        unit=line.unit,
        price=price_text(line.price),
        amount=line.amount,
        taxable=line.taxable,
    )


def price_text(price: Decimal) -> str:
    """A unit price with two places, or with as many as were typed.

    >>> price_text(Decimal("27.5000")), price_text(Decimal("0.1234")), price_text(Decimal("1200"))
    ('27.50', '0.1234', '1,200.00')
    """
    cents = price.quantize(CENT)
    return f"{cents:,}" if cents == price else f"{price.normalize():,f}"
