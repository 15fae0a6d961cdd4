"""The one place where money is rounded: half up, to the cent.

Amounts are `Decimal`; a float is refused, because 2.675 as a float is already less.
Half up is away from zero on both sides, so that a credit note mirrors its invoice.

Source: line amounts rounded before they are summed, tax once on the taxable sum by
default and line by line as an option: common practice, no source. The two ways differ
by cents, so the way is part of the tax profile and is frozen into the document.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_HALF_UP, Context, Decimal

CENT = Decimal("0.01")
ZERO = Decimal("0.00")

# Wide enough that no product of two stored figures is rounded before `to_cents` rounds it.
_EXACT = Context(prec=60)

TAX_ON_DOCUMENT = "document"
TAX_BY_LINE = "line"


def to_cents(amount: Decimal) -> Decimal:
    """Round half up to the cent, never to a negative zero.

    Examples
    --------
    >>> to_cents(Decimal("2.675")), to_cents(Decimal("-2.675")), to_cents(Decimal("-0.004"))
    (Decimal('2.68'), Decimal('-2.68'), Decimal('0.00'))
    """
    return _positive_zero(_decimal(amount).quantize(CENT, ROUND_HALF_UP, _EXACT))


def line_amount(quantity: Decimal, price: Decimal) -> Decimal:
    """Amount of one line: quantity times unit price, rounded.

    Examples
    --------
    >>> line_amount(Decimal("14.5"), Decimal("3.95"))
    Decimal('57.28')
    """
    return to_cents(_EXACT.multiply(_decimal(quantity), _decimal(price)))


def total_of(amounts: Iterable[Decimal]) -> Decimal:
    """Sum of rounded amounts; an amount with a fraction of a cent is refused."""
    total = ZERO
    for amount in amounts:
        if to_cents(amount) != amount:
            raise ValueError(f"{amount} is not in whole cents: round each amount before summing.")
        total = _EXACT.add(total, amount)
    return _positive_zero(total)


def tax_amount(
    taxable: Iterable[Decimal], rate: Decimal, *, method: str = TAX_ON_DOCUMENT
) -> Decimal:
    """Tax on the taxable line amounts at `rate`, a share (0.065 for 6.5 %).

    Examples
    --------
    >>> lines = [Decimal("9.99")] * 10
    >>> tax_amount(lines, Decimal("0.0625")), tax_amount(lines, Decimal("0.0625"), method="line")
    (Decimal('6.24'), Decimal('6.20'))
    """
    if method == TAX_ON_DOCUMENT:
        return line_amount(total_of(taxable), rate)
    if method == TAX_BY_LINE:
        return total_of(line_amount(amount, rate) for amount in taxable)
    raise ValueError(f"Tax method “{method}” is not known. Use “document” or “line”.")


def supplies_amount(labor: Decimal, share: Decimal, *, floor: Decimal, cap: Decimal) -> Decimal:
    """Shop supplies: a share of labor, at least `floor`, at most `cap`.

    Examples
    --------
    >>> supplies_amount(Decimal("987.16"), Decimal("0.06"), floor=Decimal(8), cap=Decimal(60))
    Decimal('59.23')
    """
    if floor > cap:
        raise ValueError(f"Supplies: the floor {floor} is above the cap {cap}.")
    return to_cents(min(max(line_amount(labor, share), _decimal(floor)), _decimal(cap)))


def deposit_amount(total: Decimal, share: Decimal, *, step: Decimal) -> Decimal:
    """Deposit: a share of the total, rounded up to a whole step.

    Examples
    --------
    >>> deposit_amount(Decimal("2436.05"), Decimal("0.40"), step=Decimal("5.00"))
    Decimal('975.00')
    """
    if step <= 0:
        raise ValueError(f"Deposit: the step {step} must be above zero.")
    part = _EXACT.multiply(_decimal(total), _decimal(share))
    steps = _EXACT.divide(part, _decimal(step)).to_integral_value(ROUND_CEILING)
    return to_cents(_EXACT.multiply(steps, step))


def money_text(amount: Decimal) -> str:
    """The amount as documents and JSON carry it: plain, two places.

    Examples
    --------
    >>> money_text(Decimal("1240.97"))
    '1240.97'
    """
    if to_cents(amount) != amount:
        raise ValueError(f"{amount} is not in whole cents.")
    return f"{to_cents(amount):f}"


def money_parse(text: str) -> Decimal:
    """Read what `money_text` wrote.

    Examples
    --------
    >>> money_parse("1240.97")
    Decimal('1240.97')
    """
    amount = Decimal(text)
    if not amount.is_finite() or to_cents(amount) != amount:
        raise ValueError(f"“{text}” is not an amount in whole cents.")
    return to_cents(amount)


def _decimal(value: Decimal) -> Decimal:
    if isinstance(value, float):
        raise TypeError(f"{value!r} is a float. Money is Decimal, made from text.")
    return Decimal(value)


def _positive_zero(value: Decimal) -> Decimal:
    return abs(value) if value == 0 else value
