"""From what was authorized to what is billed: all of it, less of it, or nothing under warranty."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from shop.invoicing.totals import BillError
from shop.money import ZERO, line_amount, supplies_amount, total_of
from shop.pricing import Line, LineKind

ONE = Decimal(1)
COUNTED = re.compile(r" x ([0-9]+)$")


@dataclass(frozen=True, slots=True)
class SuppliesRule:
    """Shop supplies as a share of labor, at least `floor`, at most `cap`."""

    share: Decimal
    floor: Decimal
    cap: Decimal

    def amount(self, labor: Decimal) -> Decimal:
        return supplies_amount(labor, self.share, floor=self.floor, cap=self.cap)


def billed_lines(
    lines: Sequence[Line], quantities: Mapping[int, Decimal], rule: SuppliesRule
) -> tuple[Line, ...]:
    """The authorized lines with the quantities that were done; a line without one is whole.

    Less labor makes less of the shop supplies that are a share of it.

    Raises
    ------
    BillError
        When a quantity names no line, is below zero or above what was authorized, or when
        nothing is left to bill.
    """
    known = {line.number: line for line in lines if line.kind != LineKind.SUPPLIES}
    for number, quantity in quantities.items():
        _check(known.get(number), number, quantity)
    done = [_done(line, quantities.get(line.number, line.quantity)) for line in lines]
    kept = [line for line in done if line.quantity]
    if _sum(kept, LineKind.LABOR) != _sum(lines, LineKind.LABOR):
        kept = _with_supplies(kept, rule)
    if all(line.kind == LineKind.SUPPLIES for line in kept):
        raise BillError("Nothing is left to bill. Give a quantity for one line at least.")
    return renumbered(kept)


def free_lines(lines: Sequence[Line]) -> tuple[Line, ...]:
    """The same work at no charge, as warranty work is billed."""
    return tuple(replace(line, price=ZERO, amount=ZERO) for line in lines)


def renumbered(lines: Sequence[Line]) -> tuple[Line, ...]:
    return tuple(replace(line, number=number) for number, line in enumerate(lines, start=1))


def _check(line: Line | None, number: int, quantity: Decimal) -> None:
    if line is None:
        raise BillError(f"Line {number} is not among the lines that can be billed in part.")
    if not 0 <= quantity <= line.quantity:
        raise BillError(
            f"Line {number}, {line.description}: {quantity.normalize():f} {line.unit} is not "
            f"between 0 and the {line.quantity.normalize():f} {line.unit} that were authorized. "
            "For more, record a change order and its consent."
        )


def _done(line: Line, quantity: Decimal) -> Line:
    if quantity == line.quantity:
        return line
    amount = line_amount(quantity, line.price)
    return replace(line, quantity=quantity, amount=amount, description=_counted(line, quantity))


def _counted(line: Line, quantity: Decimal) -> str:
    """The words of a line that say how many, with how many are billed; a part of one says none."""
    found = COUNTED.search(line.description)
    if line.kind != LineKind.LABOR or found is None or not line.quantity:
        return line.description
    count = int(found[1]) * quantity / line.quantity
    return COUNTED.sub(f" x {count:.0f}" if count == int(count) else "", line.description)


def _with_supplies(lines: Sequence[Line], rule: SuppliesRule) -> list[Line]:
    """The lines with one for supplies, on the labor that is left, never above what it was."""
    labor = _sum(lines, LineKind.LABOR)
    before = _sum(lines, LineKind.SUPPLIES)
    amount = min(before, rule.amount(labor)) if labor else ZERO
    kept = []
    for line in lines:
        if line.kind != LineKind.SUPPLIES:
            kept.append(line)
        elif amount:
            kept.append(replace(line, quantity=ONE, price=amount, amount=amount))
            amount = ZERO
    return kept


def _sum(lines: Sequence[Line], kind: LineKind) -> Decimal:
    return total_of(line.amount for line in lines if line.kind == kind)
