"""Gasoline vapor in a compartment: how much makes it explosive, and the air that carries it off."""

from __future__ import annotations

from itertools import pairwise
from math import expm1, inf, log

LEL_SHARE = 0.014  # by volume; DOE AFDC "Properties of Fuels" (secondary copy)
UEL_SHARE = 0.076
GAS_CONSTANT = 8.314462618
ZERO_C_K = 273.15
ATMOSPHERE_PA = 101325.0
PSI_PA = 6894.757
# Vapor of gasoline by Reid vapor pressure [psi]: molecular weight, and density of the condensed
# vapor [lb/gal]; AP-42 table 7.1-2 (secondary copy). Light ends leave first: the liquid's own 100
# to 105 would make an explosive share look further off.
VAPOR_OF_RVP = ((7.0, 68.0, 5.2), (10.0, 66.0, 5.1), (13.0, 62.0, 4.9))
LEAST_ROW_PA, MOST_ROW_PA = VAPOR_OF_RVP[0][0] * PSI_PA, VAPOR_OF_RVP[-1][0] * PSI_PA
DEFAULT_RVP_PA = 10.0 * PSI_PA
POUND_PER_GALLON_KG_M3 = 0.45359237 / 3.785411784e-3
NO_CHANGE = 1e-12  # changes of air, below which a space counts as sealed
ALARM_SHARE = 0.25  # of LEL: the share reported beside LEL itself


def vapor_weight(rvp_pa: float = DEFAULT_RVP_PA) -> tuple[float, float]:
    """Molecular weight [g/mol] and density of the condensed vapor [kg/m3] of gasoline.

    Parameters
    ----------
    rvp_pa : float, optional
        Reid vapor pressure [Pa].

    Returns
    -------
    tuple of float
        Between the table's rows in a straight line, beyond them those of the last row: who shows
        a figure says so there.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Motor gasoline.

    Source
    ------
    AP-42 chapter 7.1, table 7.1-2 (secondary copy).

    Examples
    --------
    >>> weight, density = vapor_weight()
    >>> weight, round(density, 1)
    (66.0, 611.1)
    """
    rvp = rvp_pa / PSI_PA
    rows = VAPOR_OF_RVP
    rvp = min(max(rvp, rows[0][0]), rows[-1][0])
    for low, high in pairwise(rows):
        if rvp <= high[0]:
            share = (rvp - low[0]) / (high[0] - low[0])
            weight = low[1] + share * (high[1] - low[1])
            density = low[2] + share * (high[2] - low[2])
            return weight, density * POUND_PER_GALLON_KG_M3
    return rows[-1][1], rows[-1][2] * POUND_PER_GALLON_KG_M3


def explosive_limit(
    temperature_c: float, *, molecular_weight: float = 66.0, share: float = LEL_SHARE
) -> float:
    """Vapor in air at the lower explosive limit: c = 0.014 p M/(R T).

    Parameters
    ----------
    temperature_c : float
        [C].
    molecular_weight : float, optional
        Of the vapor [g/mol].
    share : float, optional
        Limit by volume [-].

    Returns
    -------
    float
        [g/m3].

    Raises
    ------
    ValueError
        A temperature at or below absolute zero.

    Valid for
    ---------
    Gasoline vapor well mixed with air at one atmosphere. It is heavier than air: the bilge
    reaches the limit before the mean of a compartment does.

    Source
    ------
    Ideal gas; limit of DOE AFDC "Properties of Fuels" (secondary copy). No published figure
    in g/m3 was found.

    Examples
    --------
    >>> round(explosive_limit(25.0), 1)
    37.8
    """
    kelvin = temperature_c + ZERO_C_K
    if kelvin <= 0.0:
        raise ValueError(f"{temperature_c} C is below absolute zero; correct the temperature")
    return share * ATMOSPHERE_PA * molecular_weight / (GAS_CONSTANT * kelvin)


def sealed_time(
    rate_g_s: float, volume_m3: float, limit_g_m3: float, *, share: float = 1.0
) -> float:
    """Time until a sealed, well-mixed space reaches a share of the limit: t = phi c V/m.

    Parameters
    ----------
    rate_g_s : float
        Vapor given off [g/s].
    volume_m3 : float
        Net volume [m3].
    limit_g_m3 : float
        `explosive_limit` [g/m3].
    share : float, optional
        Of the limit [-].

    Returns
    -------
    float
        [s]; infinite without a source.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    No air exchange at all, perfect mixing.

    Source
    ------
    Balance of mass.

    Examples
    --------
    10 g a day into 1 m3 reach a quarter of the limit in 0.94 days:

    >>> round(sealed_time(10 / 86400, 1.0, explosive_limit(25.0), share=0.25) / 86400, 2)
    0.94
    """
    return inf if rate_g_s <= 0.0 else share * limit_g_m3 * volume_m3 / rate_g_s


def ventilated_concentration(
    time_s: float, rate_g_s: float, volume_m3: float, air_m3_s: float
) -> float:
    """Vapor in a ventilated, well-mixed space: c = (m/q)(1 - exp(-q t/V)).

    Parameters
    ----------
    time_s : float
        Since the air was clean [s].
    rate_g_s : float
        Vapor given off [g/s].
    volume_m3 : float
        [m3].
    air_m3_s : float
        Air through the space [m3/s]; 0 gives the sealed space.

    Returns
    -------
    float
        [g/m3].

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Perfect mixing, clean air in.

    Source
    ------
    Balance of mass.

    Examples
    --------
    >>> round(ventilated_concentration(1e9, 0.02, 1.0, 0.001), 6)
    20.0
    """
    sealed, changes = rate_g_s * time_s / volume_m3, air_m3_s * time_s / volume_m3
    return sealed if changes <= NO_CHANGE else sealed * -expm1(-changes) / changes


def air_needed(
    rate_g_s: float, limit_g_m3: float, *, share: float = ALARM_SHARE, mixing: float = 1.0
) -> float:
    """Air that keeps a space below a share of the limit for good: q = S m/(phi c).

    Parameters
    ----------
    rate_g_s : float
        Vapor given off [g/s].
    limit_g_m3 : float
        `explosive_limit` [g/m3].
    share : float, optional
        Of the limit [-].
    mixing : float, optional
        Safety factor for imperfect mixing [-]; 1 is ideal.

    Returns
    -------
    float
        [m3/s].

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Steady source.

    Source
    ------
    Balance of mass; in US units 403e6 SG ER K/(MW C), University of Toledo formula sheet of
    industrial ventilation.

    Examples
    --------
    The dilution equation for a pint an hour, SG 0.74 and vapor of 66, kept at 1.4 % at 70 F:
    403e6 x 0.74/(66 x 14 000), 322.8 ft3 an hour.

    >>> pint_g_s = 0.74 * 62.4 / 7.48052 / 8 * 453.59237 / 3600
    >>> limit = explosive_limit((70 - 32) / 1.8)
    >>> round(air_needed(pint_g_s, limit, share=1.0) * 3600 / 0.3048**3)
    323
    >>> round(403e6 * 0.74 / (66 * 14_000))
    323
    """
    return mixing * rate_g_s / (share * limit_g_m3)


def air_changes(start: float, end: float, *, mixing: float = 1.0) -> float:
    """Changes of air that thin a vapor from one share to another: N = ln(c0/c)/K.

    A ventilation design guide has 13.3 from 20 to 1.4 % with K 0.2:

    >>> round(air_changes(20.0, 1.4, mixing=0.2), 1)
    13.3
    """
    return log(start / end) / mixing
