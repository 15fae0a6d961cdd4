"""The totals of a bill: labor and parts subtotaled and taxed apart, tax rounded once.

Source: labor and parts apart, each with its own subtotal before tax and the tax on each:
California Harbors and Navigation Code 415. One rounding of tax on the whole taxable sum:
the method of the tax profile, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

from shop.money import ZERO, tax_amount, to_cents, total_of
from shop.pricing import Line, LineKind, Tax


class BillError(ValueError):
    """A bill that cannot be made as asked; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class BillTotals:
    """The sums of one bill, in whole cents."""

    labor: Decimal = ZERO
    parts: Decimal = ZERO
    supplies: Decimal = ZERO
    fees: Decimal = ZERO
    net: Decimal = ZERO
    taxable: Decimal = ZERO
    tax_labor: Decimal = ZERO
    tax_parts: Decimal = ZERO  # on all that is taxed beside labor
    tax: Decimal = ZERO
    total: Decimal = ZERO

    def __add__(self, other: BillTotals) -> BillTotals:
        return self._with(lambda name: total_of([getattr(self, name), getattr(other, name)]))

    def __neg__(self) -> BillTotals:
        return self._with(lambda name: to_cents(-getattr(self, name)))

    def __sub__(self, other: BillTotals) -> BillTotals:
        return self + -other

    def _with(self, value: Callable[[str], Decimal]) -> BillTotals:
        return BillTotals(**{field.name: value(field.name) for field in fields(self)})


def bill_totals(lines: Sequence[Line], tax: Tax) -> BillTotals:
    """Sum each kind and tax the taxable sum, once.

    The tax on labor is what labor alone would bear; the rest of the tax stands with the parts,
    so that the two always add up to the tax on the whole.
    """
    sums = {kind: total_of(x.amount for x in lines if x.kind == kind) for kind in LineKind}
    taxed = [line for line in lines if line.is_taxable]
    whole = tax_amount([line.amount for line in taxed], tax.rate, method=tax.method)
    on_labor = [line.amount for line in taxed if line.kind == LineKind.LABOR]
    tax_labor = tax_amount(on_labor, tax.rate, method=tax.method)
    net = total_of(sums.values())
    return BillTotals(
        labor=sums[LineKind.LABOR],
        parts=sums[LineKind.PART],
        supplies=sums[LineKind.SUPPLIES],
        fees=sums[LineKind.FEE],
        net=net,
        taxable=total_of(line.amount for line in taxed),
        tax_labor=tax_labor,
        tax_parts=total_of([whole, -tax_labor]),
        tax=whole,
        total=total_of([net, whole]),
    )
