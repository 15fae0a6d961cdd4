"""Fuel that escapes through the wall of hose, at most, by the class it is marked with."""

from __future__ import annotations

from math import pi

# Limits in grams for each square meter of inner surface in 24 h.
LOW_PERMEATION = 15.0  # 40 CFR 1060.102(d)(2)
CLASS_1 = 100.0  # 33 CFR 183.540, note: A1 and B1
CLASS_2 = 300.0  # the same: A2 and B2
LIMITS_G_M2_DAY = {"A1": CLASS_1, "B1": CLASS_1, "A2": CLASS_2, "B2": CLASS_2}
REFERENCE_C = 205.0 / 9.0  # 73 F, where the factor is 1
WARMEST_C = 45.0  # the factor's source is for ambient temperatures


def class_limit(mark: str | None, *, low_permeation: bool = False) -> float | None:
    """Limit of a hose's class [g/(m2 day)]; None where it bears none.

    >>> class_limit("A1"), class_limit("A1", low_permeation=True), class_limit("NONE")
    (100.0, 15.0, None)
    """
    if low_permeation:
        return LOW_PERMEATION
    return LIMITS_G_M2_DAY.get(mark or "")


def temperature_factor(temperature_c: float) -> float:
    """How much more permeates at a temperature than at 73 F: double for each 10 K.

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
        Above 45 C, beyond the range of the source.

    Valid for
    ---------
    Ambient temperatures, at most 45 C.

    Source
    ------
    EPA NONROAD2008, routine EMSADJ: 6.013899e-2 exp(3.850818e-2 T[F]) for hose.

    Examples
    --------
    >>> round(temperature_factor(REFERENCE_C), 5), round(temperature_factor(REFERENCE_C + 10), 5)
    (1.0, 2.0)
    """
    if temperature_c > WARMEST_C:
        raise ValueError(
            f"{temperature_c} C is above {WARMEST_C} C, where the factor's source ends; "
            "give the temperature of the place"
        )
    return float(2.0 ** ((temperature_c - REFERENCE_C) / 10.0))


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
