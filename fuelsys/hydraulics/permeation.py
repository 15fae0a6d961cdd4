"""Fuel that escapes through the wall of hose, at most, by the class it is marked with."""

from __future__ import annotations

from math import pi

# Limits in grams for each square meter of inner surface in 24 h.
LOW_PERMEATION = 15.0  # 40 CFR 1060.102(d)(2)
CLASS_1 = 100.0  # 33 CFR 183.540, note: A1 and B1
CLASS_2 = 300.0  # the same: A2 and B2
LIMITS_G_M2_DAY = {"A1": CLASS_1, "B1": CLASS_1, "A2": CLASS_2, "B2": CLASS_2}
REFERENCE_C = 205.0 / 9.0  # 73 F, where the factor is 1
TANK_REFERENCE_C = 265.0 / 9.0  # 85 F, where the factor of tanks is 1
# The factor's source is for ambient temperatures, to about 45 C; it gives no lower end, and -40 is
# this project's own, the coldest fuel that it computes with.
COLDEST_C, WARMEST_C = -40.0, 45.0


def class_limit(mark: str | None, *, low_permeation: bool = False) -> float | None:
    """Limit of a hose's class [g/(m2 day)]; None where it bears none.

    >>> class_limit("A1"), class_limit("A1", low_permeation=True), class_limit("NONE")
    (100.0, 15.0, None)
    """
    if low_permeation:
        return LOW_PERMEATION
    return LIMITS_G_M2_DAY.get(mark or "")


def temperature_factor(temperature_c: float) -> float:
    """How much more permeates hose at a temperature than at 73 F: double for each 10 K.

    Parameters
    ----------
    temperature_c : float
        [C].

    Returns
    -------
    float
        [-].

    Raises
    ------
    ValueError
        Outside -40 to 45 C, beyond the range of the source.

    Valid for
    ---------
    Ambient temperatures, -40 to 45 C.

    Source
    ------
    EPA NONROAD2008, routine EMSADJ: 6.013899e-2 exp(3.850818e-2 T[F]) for hose.

    Examples
    --------
    >>> round(temperature_factor(REFERENCE_C), 5), round(temperature_factor(REFERENCE_C + 10), 5)
    (1.0, 2.0)
    """
    return _doubling(temperature_c, REFERENCE_C)


def tank_temperature_factor(temperature_c: float) -> float:
    """How much more permeates a tank's wall at a temperature than at 85 F.

    Parameters
    ----------
    temperature_c : float
        [C].

    Returns
    -------
    float
        [-].

    Raises
    ------
    ValueError
        Outside -40 to 45 C, beyond the range of the source.

    Valid for
    ---------
    Ambient temperatures, -40 to 45 C.

    Source
    ------
    EPA NONROAD2008, routine EMSADJ: 3.788519e-2 exp(3.850818e-2 T[F]) for tanks.

    Examples
    --------
    The routine's own constants give 1.0000003 at 85 F, and this doubles with each 10 K from there:

    >>> from math import exp
    >>> round(3.788519e-2 * exp(3.850818e-2 * 85), 7)
    1.0000003
    >>> [round(tank_temperature_factor(TANK_REFERENCE_C + kelvin), 5) for kelvin in (-10, 0, 10)]
    [0.5, 1.0, 2.0]
    """
    return _doubling(temperature_c, TANK_REFERENCE_C)


def _doubling(temperature_c: float, reference_c: float) -> float:
    if not has_factor(temperature_c):
        raise ValueError(
            f"{temperature_c} C lies outside {COLDEST_C} to {WARMEST_C} C, where the factor's "
            "source ends; give the temperature of the place"
        )
    return float(2.0 ** ((temperature_c - reference_c) / 10.0))


def has_factor(temperature_c: float) -> bool:
    """Whether the factors of temperature are given there.

    >>> has_factor(-100.0), has_factor(20.0), has_factor(46.0)
    (False, True, False)
    """
    return COLDEST_C <= temperature_c <= WARMEST_C


def hose_loss(
    limit_g_m2_day: float,
    *,
    inside_diameter_m: float,
    length_m: float,
    temperature_c: float = REFERENCE_C,
    wetted_share: float = 1.0,
) -> float:
    """Fuel a hose may lose in a day at most: G pi D L theta(T).

    Parameters
    ----------
    limit_g_m2_day : float
        Limit of the hose's class [g/(m2 day)].
    inside_diameter_m, length_m : float
        [m].
    temperature_c : float, optional
        [C].
    wetted_share : float, optional
        Part of the inner surface that is wet [-]; 1 as a bound.

    Returns
    -------
    float
        [g/day].

    Raises
    ------
    ValueError
        A share outside 0 to 1, or a temperature beyond the range.

    Valid for
    ---------
    A bound, not a measurement. Classes 1 and 2 were limited with fuels without ethanol; blends
    permeate more and no factor was found.

    Source
    ------
    33 CFR 183.540 note, 40 CFR 1060.102(d)(2); temperature as `temperature_factor`.

    Examples
    --------
    3 m of 3/8 in hose of class 1, and the same of low permeation:

    >>> [round(hose_loss(limit, inside_diameter_m=0.009525, length_m=3.0), 2)
    ...     for limit in (CLASS_1, LOW_PERMEATION)]
    [8.98, 1.35]
    """
    if not 0.0 <= wetted_share <= 1.0:
        raise ValueError(f"the wetted share is {wetted_share}; it lies between 0 and 1")
    wall_m2 = pi * inside_diameter_m * length_m
    return limit_g_m2_day * wall_m2 * wetted_share * temperature_factor(temperature_c)
