"""How high above its tank a siphon's crest may stand before the fuel boils there."""

from __future__ import annotations

from fuelsys.hydraulics.boiling import ATMOSPHERE_PA, true_vapor_pressure
from fuelsys.hydraulics.drain import siphon_crest
from fuelsys.hydraulics.friction import G_M_S2


def crest_limit(
    rvp_pa: float,
    temperature_c: float,
    *,
    density_kg_m3: float,
    opening_m: float = 0.0,
    atmosphere_pa: float = ATMOSPHERE_PA,
) -> float:
    """Greatest height of a crest above the tank's surface over which gasoline still siphons.

    (p_atm - p_v)/(rho g), less the opening head of the valves before the crest; at rest.

    Parameters
    ----------
    rvp_pa : float
        Reid vapor pressure of the finished blend [Pa].
    temperature_c : float
        Temperature of the fuel at the crest [C].
    density_kg_m3 : float
        [kg/m3].
    opening_m : float, optional
        Of valves between the tank and the crest [m of the fuel].
    atmosphere_pa : float, optional
        [Pa].

    Returns
    -------
    float
        [m]; below zero the fuel boils at the surface's own height.

    Raises
    ------
    ValueError
        As `fuelsys.hydraulics.boiling.true_vapor_pressure`.

    Valid for
    ---------
    Gasoline. For information: colder fuel has less vapor pressure, so that no discharge leans
    on it, and a crest above the limit is never the ground of a pass.

    Source
    ------
    Munson and others, Fundamentals of Fluid Mechanics, example 3.10, at rest; vapor pressure as
    in `fuelsys.hydraulics.boiling`.

    Examples
    --------
    RVP 11.5 at 90 F, 740 kg/m3:

    >>> round(crest_limit(11.5 * 6894.757, 290 / 9, density_kg_m3=740.0), 1)
    4.1
    """
    vapor_pa = true_vapor_pressure(rvp_pa, temperature_c)
    weight = density_kg_m3 * G_M_S2
    at_rest = siphon_crest(0.0, vapor_pa, atmosphere_pa=atmosphere_pa, weight_n_m3=weight)
    return at_rest - opening_m
