"""Fuel an engine burns at its rated power, where its maker gives no flow."""

from __future__ import annotations

POUND_KG = 0.45359237
HORSEPOWER_HOUR_J = 550.0 * 0.3048 * POUND_KG * 9.80665 * 3600.0
POUND_PER_GALLON_KG_M3 = POUND_KG / 3.785411784e-3
# Brake specific consumption [lb/(hp h)] and weight [lb/gal] of a boating magazine's article
# "Calculating Fuel Consumption": gasoline 0.50 and 6.1, diesel 0.40 and 7.2.
SPECIFIC_LB_HP_H = {"gasoline": 0.50, "diesel": 0.40}
WEIGHT_LB_GAL = {"gasoline": 6.1, "diesel": 7.2}


def burned_flow(power_w: float, fuel: str) -> float:
    """Fuel burned at rated power: Q = BSFC P / w.

    Parameters
    ----------
    power_w : float
        Rated power [W].
    fuel : str
        "gasoline" or "diesel".

    Returns
    -------
    float
        Flow [m3/s] burned; a diesel draws more than it burns and returns the rest.

    Raises
    ------
    ValueError
        Another fuel, or a power that is not above zero.

    Valid for
    ---------
    Four-stroke engines at rated power. Two-stroke outboards burn more; no figure was found.
    Other published figures: 6.2 and 6.9 lb/gal; marine diesels 0.325 to 0.450 lb/(hp h).

    Source
    ------
    "Calculating Fuel Consumption", boating magazine: 0.50 lb/(hp h) and 6.1 lb/gal of
    gasoline, 0.40 and 7.2 of diesel.

    Examples
    --------
    The article's 300 hp engines, published 24.5 and 16.6 gal/h (cut off, not rounded):

    >>> per_gph = 3.785411784e-3 / 3600
    >>> [round(burned_flow(300 * 745.69987, fuel) / per_gph, 2) for fuel in ("gasoline", "diesel")]
    [24.59, 16.67]
    """
    if fuel not in SPECIFIC_LB_HP_H:
        raise ValueError(f"no consumption for the fuel {fuel!r}; gasoline and diesel are known")
    if power_w <= 0.0:
        raise ValueError(f"the rated power is {power_w} W; give one above 0")
    burned_kg_j = SPECIFIC_LB_HP_H[fuel] * POUND_KG / HORSEPOWER_HOUR_J
    return burned_kg_j * power_w / (WEIGHT_LB_GAL[fuel] * POUND_PER_GALLON_KG_M3)
