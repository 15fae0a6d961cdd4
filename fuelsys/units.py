"""Exact conversion between the units of the fuel-system document and SI base units.

A measured key ends in its unit. Every factor here is a `fractions.Fraction`, so
that 1-1/2 in and 38.1 mm are one number and a limit compares without rounding.

Sources: the inch, foot, gallon, fluid ounce and horsepower follow from the
international foot (0.3048 m), the US gallon (231 cubic inches) and standard
gravity, all exact by definition: NIST Special Publication 811 (2008),
appendix B. The pound-force per square inch and the inch of mercury (0 degC)
are the rounded figures this project uses throughout.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final

Numeric = int | float | Decimal | Fraction
NO_OFFSET: Final = Fraction(0)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit suffix: base = value x factor + offset."""

    suffix: str
    kind: str
    factor: Fraction
    offset: Fraction = NO_OFFSET
    label: str = ""
    ratio: tuple[int, int] = field(init=False, repr=False)  # of the factor

    def __post_init__(self) -> None:
        object.__setattr__(self, "ratio", self.factor.as_integer_ratio())


_INCH_M: Final = Fraction("0.0254")  # NIST SP 811 B.8: exact
_FOOT_M: Final = Fraction("0.3048")  # NIST SP 811 B.8: exact
_GALLON_M3: Final = Fraction("0.003785411784")  # US gallon = 231 in3, exact
_FLUID_OUNCE_M3: Final = Fraction("0.0000295735295625")  # US, gallon / 128, exact
_PSI_PA: Final = Fraction("6894.757")  # NIST SP 811 B.8, rounded there to seven digits
_INCH_OF_MERCURY_PA: Final = Fraction("3386.39")  # at 0 degC: NIST SP 811 B.8 gives 3.386 39 E+03
_POUND_FORCE_N: Final = Fraction("0.45359237") * Fraction("9.80665")  # NIST SP 811 B.8: exact
_HORSEPOWER_W: Final = 550 * _FOOT_M * _POUND_FORCE_N  # 550 ft.lbf/s, NIST SP 811 B.8

BASE_SUFFIX: Final[dict[str, str]] = {
    "length": "m",
    "volume": "m3",
    "pressure": "pa",
    "temperature": "c",
    "power": "w",
    "flow": "m3_s",
    "area": "m2",
    "time": "s",
    "share": "pct",
    "permeation": "g_day",
    "resistance": "ohm",
}

_UNITS: Final = (
    Unit("in", "length", _INCH_M, label="in"),
    Unit("ft", "length", _FOOT_M, label="ft"),
    Unit("mm", "length", Fraction(1, 1000), label="mm"),
    Unit("m", "length", Fraction(1), label="m"),
    Unit("gal", "volume", _GALLON_M3, label="gal"),
    Unit("l", "volume", Fraction(1, 1000), label="L"),
    Unit("ml", "volume", Fraction(1, 1_000_000), label="mL"),
    Unit("floz", "volume", _FLUID_OUNCE_M3, label="fl oz"),
    Unit("ft3", "volume", _FOOT_M**3, label="ft³"),
    Unit("m3", "volume", Fraction(1), label="m³"),
    Unit("psi", "pressure", _PSI_PA, label="psi"),
    Unit("kpa", "pressure", Fraction(1000), label="kPa"),
    Unit("inhg", "pressure", _INCH_OF_MERCURY_PA, label="inHg"),
    # degF to degC is (f - 32) x 5/9, NIST SP 811 B.8: exact
    Unit("f", "temperature", Fraction(5, 9), Fraction(-160, 9), label="°F"),
    Unit("c", "temperature", Fraction(1), label="°C"),
    Unit("hp", "power", _HORSEPOWER_W, label="hp"),
    Unit("kw", "power", Fraction(1000), label="kW"),
    Unit("gph", "flow", _GALLON_M3 / 3600, label="gal/h"),
    Unit("gpm", "flow", _GALLON_M3 / 60, label="gal/min"),
    Unit("lph", "flow", Fraction(1, 3_600_000), label="L/h"),
    Unit("lpm", "flow", Fraction(1, 60_000), label="L/min"),
    Unit("cfm", "flow", _FOOT_M**3 / 60, label="ft³/min"),
    Unit("in2", "area", _INCH_M**2, label="in²"),
    Unit("ft2", "area", _FOOT_M**2, label="ft²"),
    Unit("cm2", "area", Fraction(1, 10_000), label="cm²"),
    Unit("m2", "area", Fraction(1), label="m²"),
    Unit("s", "time", Fraction(1), label="s"),
    Unit("min", "time", Fraction(60), label="min"),
    Unit("pct", "share", Fraction(1), label="%"),
    Unit("g_day", "permeation", Fraction(1), label="g/day"),
    Unit("ohm", "resistance", Fraction(1), label="ohm"),
)

UNITS: Final[dict[str, Unit]] = {unit.suffix: unit for unit in _UNITS}


def units_of(kind: str) -> tuple[Unit, ...]:
    """The units in which a quantity of `kind` may be given, in the document's order."""
    return tuple(unit for unit in _UNITS if unit.kind == kind)


def exact(value: Numeric) -> Fraction:
    """The number as people wrote it: a float counts as its shortest decimal.

    Raises ValueError for NaN and the infinities.

    >>> exact(0.1)
    Fraction(1, 10)
    """
    if type(value) is Fraction:
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{value} is not a finite number; give a finite one")
        return Fraction(Decimal(repr(value)))  # four times as fast as from the text itself
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"{value} is not a finite number; give a finite one")
    return Fraction(value)


def to_base(value: Numeric, suffix: str) -> Fraction:
    """The value in the base unit of its kind, exactly.

    Parameters: value [in the unit `suffix`]; suffix, one of `UNITS`.
    Returns [m, m3, Pa, degC, W, m3/s, m2, s, %, g/day or ohm].
    Raises KeyError for an unknown suffix, ValueError for a number that is not finite.

    >>> to_base(5, "floz") * 1_000_000
    Fraction(473176473, 3200000)
    """
    unit = UNITS[suffix]
    return exact(value) * unit.factor + unit.offset


# A boat repeats few bores, limits and heights. Typed: 0.1 is one tenth, Fraction(0.1) is not.
@lru_cache(maxsize=4096, typed=True)
def from_base(value: Numeric, suffix: str) -> Fraction:
    """The value in the unit `suffix`, exactly; the reverse of `to_base`.

    >>> from_base(Fraction("0.0381"), "in")
    Fraction(3, 2)
    """
    unit = UNITS[suffix]
    above = exact(value) if unit.offset is NO_OFFSET else exact(value) - unit.offset
    # Twice as fast as the division of two Fractions, which reduces both before it.
    top, under = above.as_integer_ratio()
    factor_top, factor_under = unit.ratio
    return Fraction(top * factor_under, under * factor_top)


def as_float(value: Fraction) -> float:
    """The nearest float, as `float` gives it but without its detours.

    >>> as_float(Fraction(1, 4))
    0.25
    """
    top, under = value.as_integer_ratio()
    return top / under


_FRACTION_TEXT: Final = re.compile(
    r"(?P<sign>-?)(?:(?P<whole>[0-9]{1,9})(?:-| +))?(?P<top>[0-9]{1,9})/(?P<under>[0-9]{1,9})"
)
# The same shape for a JSON Schema, which knows no named groups.
FRACTION_PATTERN: Final = r"^ *-?([0-9]{1,9}(-| +))?[0-9]{1,9}/0*[1-9][0-9]{0,8} *$"


def fraction_text(text: str) -> Fraction | None:
    """The number a text fraction stands for; None when the text is not one.

    >>> fraction_text("1-1/2"), fraction_text("3/8"), fraction_text("half")
    (Fraction(3, 2), Fraction(3, 8), None)
    """
    match = _FRACTION_TEXT.fullmatch(text.strip(" "))
    if match is None or int(match["under"]) == 0:
        return None
    size = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["under"]))
    return -size if match["sign"] else size


def significant(value: Numeric, digits: int = 6) -> int | float:
    """The number rounded to `digits` significant digits, for output, after every comparison.

    Rounds half to even on the exact value; a whole result comes back as an int, so
    that JSON shows 5 and not 5.0, and zero has no sign.
    Raises ValueError for a number that is not finite.

    >>> significant(Fraction(473176473, 3200000))
    147.868
    >>> significant(5.0)
    5
    """
    rounded = _rounded(value, digits)
    if rounded == rounded.to_integral_value():
        return int(rounded)
    return float(rounded)


def plain(value: Numeric, digits: int = 6) -> str:
    """The number to `digits` significant digits as a person writes it, without exponent.

    >>> plain(Fraction(1, 3), 3), plain(8411.2, 3), plain(1.50)
    ('0.333', '8410', '1.5')
    """
    rounded = _rounded(value, digits)
    return format(rounded.normalize() if rounded else Decimal(0), "f")


def label(suffix: str) -> str:
    """How a unit is printed; a unit that is no suffix of the document stands as it is."""
    unit = UNITS.get(suffix)
    return unit.label if unit else suffix


def _rounded(value: Numeric, digits: int) -> Decimal:
    context = Context(prec=digits, rounding=ROUND_HALF_EVEN)
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{value} is not a finite number; it cannot be given out")
        return context.create_decimal_from_float(value)
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"{value} is not a finite number; it cannot be given out")
    number = Fraction(value)
    return context.divide(Decimal(number.numerator), Decimal(number.denominator))
