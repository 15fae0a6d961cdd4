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
FEWEST_DIGITS = 2  # one alone would be off by up to a half
WHOLE_MM_DIGITS, A_METER_MM = 3, 1000  # below it three digits say whole millimeters, or less


@dataclass(frozen=True)
class Pair:
    """A figure in US units, and the same in SI; alone where the unit is of neither."""

    us: Figure
    si: Figure | None
    si_first: bool = False  # the source states it in SI, and US units are worked out from that

    @property
    def in_order(self) -> tuple[Figure, ...]:
        """As a sentence gives them: what is stated, then what was worked out from it."""
        if self.si is None:
            return (self.us,)
        return (self.si, self.us) if self.si_first else (self.us, self.si)


def pair_of(figure: Figure | None) -> Pair | None:
    """A figure in both systems; one that is stated in SI is not told more sharply than it is.

    Examples
    --------
    >>> pair = pair_of(Figure(2, "inhg"))
    >>> str(pair.us), str(pair.si)
    ('2 inHg', '6.773 kPa')
    >>> [str(each) for each in pair_of(Figure(10, "mm")).in_order]
    ['10 mm', '0.39 in']
    >>> [str(each) for each in pair_of(Figure(54, "in")).in_order]
    ['54 in', '1372 mm']
    >>> [str(each) for each in pair_of(Figure(26.6667, "c")).in_order]
    ['80 °F', '26.67 °C']
    >>> [str(each) for each in pair_of(Figure(40, "c")).in_order]
    ['40 °C', '104 °F']
    >>> str(pair_of(Figure(740, "kg/m3", computed=True)).us)
    '6.18 lb/gal'
    """
    if figure is None:
        return None
    if isinstance(figure.value, str):
        return Pair(figure, None)
    if figure.unit == DENSITY:
        stated = exact(figure.value)
        return _stated_in_si(figure, stated, stated / POUND_PER_GALLON_KG_M3, US_DENSITY)
    if figure.unit not in UNITS:
        return Pair(figure, None)
    base = to_base(figure.value, figure.unit)
    if figure.unit in US_OF:
        unit = US_OF[figure.unit]
        return _stated_in_si(figure, exact(figure.value), from_base(base, unit), unit)
    if figure.unit not in BESIDE:
        return Pair(figure, None)
    unit = BESIDE[figure.unit]
    value = from_base(base, unit)
    digits = WHOLE_MM_DIGITS if unit == "mm" and abs(value) < A_METER_MM else CONVERTED_DIGITS
    return Pair(figure, Figure(significant(value, digits), unit, figure.computed))


def _stated_in_si(figure: Figure, value: Numeric, us: Numeric, unit: str) -> Pair:
    """What has more digits than anyone states was worked out itself, and comes second."""
    stated = len(figure.number().replace(".", "").lstrip("-0"))
    if unit == "f" and not figure.computed and stated <= CONVERTED_DIGITS:
        return Pair(Figure(_degrees(figure, us), unit), figure, si_first=True)
    if figure.computed:
        return Pair(Figure(significant(us, CONVERTED_DIGITS), unit, computed=True), figure)
    if stated > CONVERTED_DIGITS:
        si = significant(value, CONVERTED_DIGITS)
        return Pair(Figure(significant(us, CONVERTED_DIGITS), unit), Figure(si, figure.unit))
    digits = max(FEWEST_DIGITS, stated)
    return Pair(Figure(significant(us, digits), unit), figure, si_first=True)


def _degrees(figure: Figure, us: Numeric) -> int | float:
    """To the decimals that are stated: zero on these scales is a place, so that its digits do not
    say how sharp a temperature is. A tenth of a degree is said for a tenth, and for none a whole.
    """
    decimals = len(figure.number().partition(".")[2])
    return float(round(exact(us), decimals)) if decimals else round(exact(us))
