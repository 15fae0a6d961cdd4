"""The price for no work as lines of a bill that come to it, to the cent, with the tax in it."""

from __future__ import annotations

from decimal import Decimal

from django.utils.translation import gettext as _

from shop.money import ZERO, tax_amount, to_cents, total_of
from shop.pricing import Line, LineKind, Tax
from shop.pricing.lines import GROUP_CHARGES

CENT = Decimal("0.01")


def no_work_lines(price: Decimal, tax: Tax) -> tuple[Line, ...]:
    """One line of labor, which surveying, opening and closing up are; taxed where labor is.

    The price has its tax in it, so a taxed line stands at what is left without. Some prices no
    sum of whole cents with its tax comes to; a second line then makes up the cent.
    """
    is_taxed = LineKind.LABOR in tax.taxable_kinds
    net = before_tax(price, tax) if is_taxed else price
    words = _("Survey, opening and closing up, no work chosen")
    lines = [_line(1, LineKind.LABOR, words, net, is_taxed)]
    rest = total_of([price, -net, -(_tax_on(net, tax) if is_taxed else ZERO)])
    if rest:
        words = _("Rounding, to the price with its tax in it")
        lines.append(_line(2, LineKind.FEE, words, rest, is_taxed=False))
    return tuple(lines)


def before_tax(price: Decimal, tax: Tax) -> Decimal:
    """The largest amount that with its tax is not above a price."""
    # A cent above the quotient, as the tax on it is rounded; then down, a step or two.
    net = to_cents(price / (1 + tax.rate)) + CENT
    while total_of([net, _tax_on(net, tax)]) > price:
        net -= CENT
    return net


def _tax_on(net: Decimal, tax: Tax) -> Decimal:
    return tax_amount([net], tax.rate, method=tax.method)


def _line(number: int, kind: LineKind, words: str, amount: Decimal, is_taxed: bool) -> Line:
    return Line(
        number=number,
        kind=kind,
        ref="NO-WORK",
        description=words,
        quantity=Decimal(1),
        unit="ea",
        price=amount,
        amount=amount,
        is_taxable=is_taxed,
        group=GROUP_CHARGES,
    )
