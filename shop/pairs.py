"""A figure in US units with the same in SI beside it."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.text import Figure
from fuelsys.units import UNITS, Numeric, exact, from_base, significant, to_base

# Each US unit with the SI unit that stands beside it.
BESIDE = {
    "inhg": "kpa",
    "psi": "kpa",
    "in": "mm",
    "ft": "m",
    "gal": "l",
    "floz": "ml",
    "gph": "lph",
    "gpm": "lpm",
    "cfm": "lpm",
    "hp": "kw",
    "f": "c",
    "ft3": "m3",
    "in2": "cm2",
}
US_OF = {"kpa": "psi", "mm": "in", "m": "ft", "l": "gal", "ml": "floz", "lph": "gph", "lpm": "gpm",
         "kw": "hp", "c": "f", "m3": "ft3", "cm2": "in2"}  # fmt: skip
# Density is no quantity of the document. Pound and gallon: NIST SP 811 B.8, exact.
DENSITY, US_DENSITY = "kg/m3", "lb/gal"
POUND_PER_GALLON_KG_M3 = exact(0.45359237) / exact(0.003785411784)
CONVERTED_DIGITS = 4  # of a measured figure in the other system: no more than a tape gives


@dataclass(frozen=True)
class Pair:
    """A figure in US units, and the same in SI; alone where the unit is of neither."""

    us: Figure
    si: Figure | None


def pair_of(figure: Figure | None) -> Pair | None:
    """A figure in both systems, the US unit first.

    Examples
    --------
    >>> pair = pair_of(Figure(2, "inhg"))
    >>> str(pair.us), str(pair.si)
    ('2 inHg', '6.773 kPa')
    >>> str(pair_of(Figure(100, "ml")).us)
    '3.381 fl oz'
    >>> str(pair_of(Figure(740, "kg/m3", computed=True)).us)
    '6.18 lb/gal'
    """
    if figure is None:
        return None
    if isinstance(figure.value, str):
        return Pair(figure, None)
    if figure.unit == DENSITY:
        us = significant(exact(figure.value) / POUND_PER_GALLON_KG_M3, CONVERTED_DIGITS)
        return Pair(Figure(us, US_DENSITY, figure.computed), figure)
    if figure.unit not in UNITS:
        return Pair(figure, None)
    base = to_base(figure.value, figure.unit)
    if figure.unit in US_OF:
        unit = US_OF[figure.unit]
        return Pair(_converted(base, unit, figure), figure)
    if figure.unit not in BESIDE:
        return Pair(figure, None)
    unit = BESIDE[figure.unit]
    return Pair(figure, _converted(base, unit, figure))


def _converted(base: Numeric, unit: str, figure: Figure) -> Figure:
    value = from_base(base, unit)
    return Figure(significant(value, CONVERTED_DIGITS), unit, figure.computed)
