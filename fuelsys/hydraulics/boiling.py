"""True vapor pressure of gasoline, and how far a fuel line stays from boiling."""

from __future__ import annotations

from math import exp, log, sqrt

PSI_PA = 6894.757
ATMOSPHERE_PA = 101325.0
# Slope of the distillation curve at 10 % [degF/vol%]: AP-42's value for motor gasoline, taken
# from memory; the figures of its table 7.1-2 are met with it.
MOTOR_GASOLINE_SLOPE = 3.0
COLDEST_C, WARMEST_C = 40.0 / 9.0, 340.0 / 9.0  # 40 to 100 F, the range of the table
LEAST_C, MOST_C = -40.0, 60.0  # further off the curve is not extrapolated
LEAST_RVP_PA, MOST_RVP_PA = 2.0 * PSI_PA, 20.0 * PSI_PA
NEAR_BOILING_PA = PSI_PA  # the project's own choice of when to warn


def true_vapor_pressure(
    rvp_pa: float, temperature_c: float, *, slope: float = MOTOR_GASOLINE_SLOPE
) -> float:
    """Absolute vapor pressure of gasoline of a Reid vapor pressure at a temperature.

    p = exp(A - B/(T + 459.6)) in psi and F, A and B from ln RVP and the slope S.

    Parameters
    ----------
    rvp_pa : float
        Reid vapor pressure of the finished blend [Pa].
    temperature_c : float
        Temperature of the fuel [C].
    slope : float, optional
        ASTM distillation slope at 10 % evaporated [degF/vol%].

    Returns
    -------
    float
        True vapor pressure [Pa].

    Raises
    ------
    ValueError
        A Reid vapor pressure outside 2 to 20 psi, or a temperature outside -40 to 60 C.

    Valid for
    ---------
    40 to 100 F; beyond, the curve is extrapolated. The Reid vapor pressure at 100 F is 5 to
    7 % below the true one.

    Source
    ------
    AP-42 chapter 7.1, equation 1-25 with the constants of figure 7.1-15 for refined stocks
    (secondary copies, two agree); S = 3.0 from memory.

    Examples
    --------
    AP-42 table 7.1-2 gives RVP 13 at 60 F 6.9 psi:

    >>> round(true_vapor_pressure(13 * PSI_PA, 140 / 9) / PSI_PA, 3)
    6.938
    """
    if not LEAST_RVP_PA <= rvp_pa <= MOST_RVP_PA:
        raise ValueError(
            f"the Reid vapor pressure is {rvp_pa / PSI_PA:.3g} psi; motor gasoline has 2 to 20 psi"
        )
    if not LEAST_C <= temperature_c <= MOST_C:
        raise ValueError(
            f"the fuel is at {temperature_c} C; between {LEAST_C} and {MOST_C} C the curve is used"
        )
    root, log_rvp = sqrt(slope), log(rvp_pa / PSI_PA)
    a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log_rvp
    b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log_rvp
    return exp(a - b / (temperature_c * 1.8 + 32.0 + 459.6)) * PSI_PA


def boiling_margin(
    lowest_gauge_pa: float,
    rvp_pa: float,
    temperature_c: float,
    *,
    atmosphere_pa: float = ATMOSPHERE_PA,
) -> float:
    """How far the lowest pressure of a line stays above boiling.

    Parameters
    ----------
    lowest_gauge_pa : float
        Lowest gauge pressure anywhere in the line [Pa]; vacuum is negative.
    rvp_pa : float
        Reid vapor pressure [Pa].
    temperature_c : float
        Temperature of the fuel there [C]; in an engine space it exceeds that outside.
    atmosphere_pa : float, optional
        [Pa].

    Returns
    -------
    float
        Margin [Pa]; below zero the fuel boils.

    Raises
    ------
    ValueError
        As `true_vapor_pressure`.

    Valid for
    ---------
    As `true_vapor_pressure`.

    Source
    ------
    p_atm + gauge pressure - true vapor pressure.

    Examples
    --------
    RVP 9 at 115 F boils under 4.96 inHg of vacuum, RVP 13.5 at 100 F under 0.55:

    >>> round(boiling_margin(0.0, 9 * PSI_PA, 415 / 9) / 3386.39, 2)
    4.96
    >>> round(boiling_margin(0.0, 13.5 * PSI_PA, 340 / 9) / 3386.39, 2)
    0.55
    """
    return atmosphere_pa + lowest_gauge_pa - true_vapor_pressure(rvp_pa, temperature_c)
