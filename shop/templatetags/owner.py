"""What only the owner's pages need: amounts with their currency."""

from __future__ import annotations

from decimal import Decimal

from django import template

register = template.Library()

SIGNS = {"USD": "$", "CAD": "$", "EUR": "€", "GBP": "£"}


@register.filter
def price(amount: Decimal | str, currency: str) -> str:
    """$1,826.67; a currency without a sign of its own stands behind the figure.

    Examples
    --------
    >>> price("1826.67", "USD"), price(Decimal("-4.37"), "USD"), price("975.00", "SEK")
    ('$1,826.67', '−$4.37', '975.00 SEK')
    """
    figure = Decimal(amount)
    minus = "−" if figure < 0 else ""
    sign = SIGNS.get(currency, "")
    return f"{minus}{sign}{abs(figure):,.2f}{'' if sign else f' {currency}'}"
