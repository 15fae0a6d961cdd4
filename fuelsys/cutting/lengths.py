"""Lengths as whole numbers of a sixteenth of an inch or of a millimeter.

A piece is never cut short: it rounds up. What a coil or remnant holds rounds down.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from fuelsys.units import to_base

UNIT_M = {"in16": to_base(Fraction(1, 16), "in"), "mm": to_base(1, "mm")}


def piece_units(length_m: Fraction, unit: str) -> int:
    """The length of a piece in whole units, rounded up.

    Parameters
    ----------
    length_m : Fraction
        [m].
    unit : str
        "in16" or "mm".

    Returns
    -------
    int
        Whole units, never less than the length.

    Raises
    ------
    ValueError
        A length that is not above 0, or another unit.

    Valid for
    ---------
    Any length.

    Source
    ------
    The project's own convention.

    Examples
    --------
    65 in, and 6.3 mm in sixteenths:

    >>> piece_units(Fraction("1.651"), "in16"), piece_units(Fraction("0.0063"), "in16")
    (1040, 4)
    """
    return ceil(_units(length_m, unit))


def stock_units(length_m: Fraction, unit: str) -> int:
    """The length of a coil or remnant in whole units, rounded down.

    Parameters
    ----------
    length_m : Fraction
        [m].
    unit : str
        "in16" or "mm".

    Returns
    -------
    int
        Whole units, never more than the length.

    Raises
    ------
    ValueError
        A length that is not above 0, or another unit.

    Valid for
    ---------
    Any length.

    Source
    ------
    The project's own convention.

    Examples
    --------
    >>> stock_units(Fraction("15.24"), "in16"), stock_units(Fraction("15.24"), "mm")
    (9600, 15240)
    """
    return floor(_units(length_m, unit))


def _units(length_m: Fraction, unit: str) -> Fraction:
    if unit not in UNIT_M:
        raise ValueError(f"unit {unit!r} is not known; lengths are cut in in16 or mm")
    if length_m <= 0:
        raise ValueError(f"length is {float(length_m)} m; it must be more than 0. Measure it.")
    return length_m / UNIT_M[unit]
