"""Credit notes: what is taken back from an invoice, line by line, and never more than is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from shop.invoicing.totals import BillError, BillTotals, bill_totals
from shop.money import ZERO, line_amount, to_cents, total_of
from shop.pricing import Line, Tax


@dataclass(frozen=True, slots=True)
class Owed:
    """One line of an invoice, with what earlier credit notes took back of it (above zero)."""

    line: Line
    credited_quantity: Decimal = Decimal(0)
    credited_amount: Decimal = ZERO

    @property
    def quantity(self) -> Decimal:
        return self.line.quantity - self.credited_quantity

    @property
    def amount(self) -> Decimal:
        return total_of([self.line.amount, -self.credited_amount])


@dataclass(frozen=True, slots=True)
class CreditedLine:
    """One line of a credit note, and the number of the invoice's line that it takes back."""

    line: Line
    of: int


def credit_lines(
    owed: Sequence[Owed], quantities: Mapping[int, Decimal]
) -> tuple[CreditedLine, ...]:
    """The lines of a credit note, quantities and amounts below zero.

    `quantities` are what is taken back [unit of the line], above zero, by number of the
    invoice's line. Who takes back the last of a line takes back all of its amount that is left,
    so that parts of a line come to the whole.

    Raises
    ------
    BillError
        When a quantity names no line, is not above zero, or is more than is left of the line.
    """
    known = {entry.line.number: entry for entry in owed}
    taken: list[CreditedLine] = []
    for number, quantity in quantities.items():
        entry = known.get(number)
        if entry is None:
            raise BillError(f"The invoice has no line {number}.")
        _check(entry, quantity)
        taken.append(CreditedLine(_taken_back(entry, quantity, len(taken) + 1), number))
    if not taken:
        raise BillError("Nothing is credited. Give a quantity for one line at least.")
    return tuple(taken)


def credit_totals(
    credited: Sequence[CreditedLine], tax: Tax, *, owed: Sequence[Owed], left: BillTotals
) -> BillTotals:
    """The totals of a credit note, all of them zero or below.

    `left` is what the invoice and its earlier credit notes come to. A note that takes back all
    that is left mirrors it to the cent; any other is taxed as a bill of its own, and its tax is
    never more than the tax that is left.
    """
    if _is_rest(credited, owed):
        return -left
    own = bill_totals([entry.line for entry in credited], tax)
    tax_labor = max(own.tax_labor, to_cents(-left.tax_labor))
    tax_parts = max(own.tax_parts, to_cents(-left.tax_parts))
    whole = total_of([tax_labor, tax_parts])
    return replace(
        own,
        tax_labor=tax_labor,
        tax_parts=tax_parts,
        tax=whole,
        total=total_of([own.net, whole]),
    )


def _check(entry: Owed, quantity: Decimal) -> None:
    line, left = entry.line, entry.quantity
    if not 0 < quantity <= left:
        raise BillError(
            f"Line {line.number}, {line.description}: {quantity.normalize():f} {line.unit} cannot "
            f"be credited. What is left of the line is {left.normalize():f} {line.unit}."
        )


def _taken_back(entry: Owed, quantity: Decimal, number: int) -> Line:
    line = entry.line
    last = quantity == entry.quantity
    amount = entry.amount if last else min(line_amount(quantity, line.price), entry.amount)
    return replace(line, number=number, quantity=-quantity, amount=to_cents(-amount))


def _is_rest(credited: Sequence[CreditedLine], owed: Sequence[Owed]) -> bool:
    taken = {entry.of: -entry.line.quantity for entry in credited}
    return all(entry.quantity == taken.get(entry.line.number, 0) for entry in owed)
