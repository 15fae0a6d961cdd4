"""The totals of one option, from its lines alone."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from shop.money import deposit_amount, tax_amount
from shop.pricing.model import Line, LineKind, Rates, Tax, Totals

ZERO = Decimal(0)


def totals_of(lines: Sequence[Line], rates: Rates, tax: Tax) -> Totals:
    """Sum each kind, tax the taxable sum, work out the deposit.

    Tax is rounded once on the sum (`method` "document") or once a line and then
    summed ("line"); the two may differ by cents and the profile says which holds.
    """
    by_kind = {kind: _sum(lines, kind) for kind in LineKind}
    net = sum(by_kind.values(), ZERO)
    taxed = [line.amount for line in lines if line.is_taxable]
    tax_sum = tax_amount(taxed, tax.rate, method=tax.method)
    total = net + tax_sum
    return Totals(
        hours=sum((x.quantity for x in lines if x.kind is LineKind.LABOR), ZERO),
        labor=by_kind[LineKind.LABOR],
        parts=by_kind[LineKind.PART],
        supplies=by_kind[LineKind.SUPPLIES],
        fees=by_kind[LineKind.FEE],
        net=net,
        taxable=sum(taxed, ZERO),
        tax=tax_sum,
        total=total,
        deposit=deposit_amount(total, rates.deposit_share, step=rates.deposit_step),
    )


def _sum(lines: Sequence[Line], kind: LineKind) -> Decimal:
    return sum((line.amount for line in lines if line.kind is kind), ZERO)
