"""Pricing of a re-hose: pure arithmetic from rates, products and the work chosen.

No Django here. Rates and products come in as frozen values, lines go out; the
services store them. All money is `Decimal`, all rounding is in `shop.money`.
"""

from shop.pricing.lines import option_lines
from shop.pricing.model import (
    NEW,
    Extra,
    Line,
    LineKind,
    OptionWork,
    Priced,
    PriceError,
    Rates,
    SegmentWork,
    Tax,
    Totals,
)
from shop.pricing.totals import totals_of

__all__ = [
    "NEW",
    "Extra",
    "Line",
    "LineKind",
    "OptionWork",
    "PriceError",
    "Priced",
    "Rates",
    "SegmentWork",
    "Tax",
    "Totals",
    "option_lines",
    "totals_of",
]
