"""Inches as the trade writes them: 3/8, 1-1/2, 7' 6". Pure; no Django here."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction


def is_rule_fraction(value: Fraction) -> bool:
    """Whether a steel rule shows it: halves down to sixty-fourths."""
    return value.denominator in (2, 4, 8, 16, 32, 64)


def ends(value: Fraction) -> bool:
    """Whether its decimals come to an end, so that a number holds it exactly."""
    rest = value.denominator
    for factor in (2, 5):
        while rest % factor == 0:
            rest //= factor
    return rest == 1


def fraction_text(value: Fraction) -> str:
    """A fraction as the trade writes it: 3/8, 1-1/2, −2-1/4."""
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole}"
    part = f"{rest.numerator}/{rest.denominator}"
    return f"{sign}{whole}-{part}" if whole else f"{sign}{part}"


def inch_text(inches: Fraction) -> str:
    """Inches to print: whole, in rule fractions, or to two places, with a true minus."""
    exact = inches.denominator == 1 or is_rule_fraction(inches)
    text = fraction_text(inches) if exact else decimal_text(inches)
    return text.replace("-", "−", 1) if inches < 0 else text


def feet_text(inches: Fraction) -> str:
    """Feet and inches: 7' 6"."""
    feet, rest = divmod(abs(inches), 12)
    sign = "−" if inches < 0 else ""
    return f"{sign}{feet}'" if not rest else f"{sign}{feet}' {inch_text(rest)}\""


def decimal_text(value: Fraction | Decimal) -> str:
    return f"{float(value):.2f}".rstrip("0").rstrip(".")
