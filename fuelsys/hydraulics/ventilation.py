"""Sizes that the ventilation rules ask of a compartment, 33 CFR 183 Subpart K."""

from __future__ import annotations

from math import log

FOOT_M = 0.3048
FT3_M3 = FOOT_M**3
CFM_M3_S = FT3_M3 / 60.0
IN2_M2 = 0.0254**2
# 33 CFR 183.630 as it stands today; a rule hands in what its own day holds.
MORE_THAN_M2 = 3.0 * IN2_M2  # each opening
AREA_FACTOR_M2 = 5.0 * IN2_M2
AREA_VOLUME_M3 = 5.0 * FT3_M3
EDGE_FT3 = 1e-9
ABOVE_ZERO = "the net volume is {} m3; give one above 0"


def blower_capacity(volume_m3: float) -> tuple[float, float]:
    """Rated capacity and installed output of the blowers of an engine compartment.

    Parameters
    ----------
    volume_m3 : float
        Net volume [m3].

    Returns
    -------
    tuple of float
        Rated and installed [m3/s]; several blowers count together.

    Raises
    ------
    ValueError
        A volume that is not above zero.

    Valid for
    ---------
    Compartments of a gasoline engine with a cranking motor that are not open to the air.

    Source
    ------
    33 CFR 183.610, table (secondary copy): below 34 ft3 50 and 20 cfm, to 100 ft3 1.5 V and
    0.6 V, above V/2 + 100 and 0.2 V + 40.

    Examples
    --------
    At 100 ft3 both rows of the table give 150 and 60:

    >>> [round(flow / CFM_M3_S, 1) for flow in blower_capacity(100 * FT3_M3)]
    [150.0, 60.0]
    """
    volume = _ft3(volume_m3)
    if volume < 34.0 - EDGE_FT3:
        rated, output = 50.0, 20.0
    elif volume <= 100.0 + EDGE_FT3:
        rated, output = 1.5 * volume, 0.6 * volume
    else:
        rated, output = volume / 2.0 + 100.0, 0.2 * volume + 40.0
    return rated * CFM_M3_S, output * CFM_M3_S


def natural_area(
    volume_m3: float,
    *,
    factor_m2: float = AREA_FACTOR_M2,
    by_m3: float = AREA_VOLUME_M3,
    over_m2: float = MORE_THAN_M2,
) -> float:
    """Least area of the supply and of the exhaust of natural ventilation: A = 5 ln(V/5) in2.

    Parameters
    ----------
    volume_m3 : float
        Net volume [m3].
    factor_m2, by_m3 : float
        The two fives of the formula, 5 in2 and 5 ft3 [m2], [m3].
    over_m2 : float
        What each opening exceeds besides, 3.0 in2 [m2].

    Returns
    -------
    float
        [m2], each; an opening must besides be larger than 3.0 in2, which governs below 9.1 ft3.

    Raises
    ------
    ValueError
        A volume that is not above zero.

    Valid for
    ---------
    Compartments that 33 CFR 183.620(a) names.

    Source
    ------
    33 CFR 183.630(d).

    Examples
    --------
    50 ft3, 5 ln 10:

    >>> round(natural_area(50 * FT3_M3) / IN2_M2, 2)
    11.51
    """
    if volume_m3 <= 0.0:
        raise ValueError(ABOVE_ZERO.format(volume_m3))
    return max(factor_m2 * log(volume_m3 / by_m3), over_m2)


def _ft3(volume_m3: float) -> float:
    if volume_m3 <= 0.0:
        raise ValueError(ABOVE_ZERO.format(volume_m3))
    return volume_m3 / FT3_M3
