"""Arithmetic of the checks: whole cents and exact fractions, apart from the shop's own rounding."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from math import floor


def cents(amount: Decimal | str | int) -> int:
    """An amount in whole cents; one with a part of a cent is no amount."""
    exact = Fraction(Decimal(amount)) * 100
    if exact.denominator != 1:
        raise ValueError(f"{amount} is not in whole cents.")
    return int(exact)


def half_up(exact: Fraction) -> int:
    """Half away from zero."""
    return floor(exact + Fraction(1, 2)) if exact >= 0 else -floor(-exact + Fraction(1, 2))


def product_cents(quantity: Decimal, price: Decimal) -> int:
    return half_up(Fraction(quantity) * Fraction(price) * 100)


def tax_cents(taxed: Iterable[int], percent: Decimal, method: str) -> int:
    """Tax on amounts in cents: once on their sum, or line by line."""
    amounts = list(taxed)
    rate = Fraction(percent) / 100
    if method == "line":
        return sum(half_up(amount * rate) for amount in amounts)
    return half_up(sum(amounts) * rate)


def text(amount_cents: int) -> str:
    sign = "-" if amount_cents < 0 else ""
    return f"{sign}{abs(amount_cents) // 100}.{abs(amount_cents) % 100:02d}"
