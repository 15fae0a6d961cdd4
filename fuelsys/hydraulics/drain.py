"""Tanks that empty: falling head in closed form, and the height a siphon may reach."""

from __future__ import annotations

from math import sqrt

from fuelsys.hydraulics.friction import G_M_S2


def drain_time(
    start_m: float,
    end_m: float,
    *,
    plan_area_m2: float,
    opening_area_m2: float,
    coefficient: float,
    gravity_m_s2: float = G_M_S2,
) -> float:
    """Time for the level to fall: t = 2 A_T (sqrt h1 - sqrt h2)/(C a sqrt(2 g)).

    Parameters
    ----------
    start_m, end_m : float
        Level above the opening at first and at last [m].
    plan_area_m2 : float
        Area of the tank in plan, the same at every level [m2].
    opening_area_m2 : float
        [m2].
    coefficient : float
        Discharge coefficient [-]: 1 for Torricelli's ideal, 0.61 to 0.62 for a sharp
        orifice (standard textbook value).
    gravity_m_s2 : float, optional
        [m/s2].

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    ValueError
        A level below the opening, or an end above the start.

    Valid for
    ---------
    Vertical walls, open vent, no hose; an opening small beside the tank's plan.

    Source
    ------
    Torricelli's law integrated. Practice problem 435, "Time to Drain", engineeringprep.com.

    Examples
    --------
    That problem: a 4 ft tank, a nozzle of 5 in2, from 6 ft to 2 ft; published 94 s.

    >>> round(drain_time(6, 2, plan_area_m2=3.14159265 * 2**2, opening_area_m2=5 / 144,
    ...     coefficient=1.0, gravity_m_s2=32.2), 1)  # feet throughout
    93.4
    """
    _check_levels(start_m, end_m)
    fall = 2.0 * plan_area_m2 * (sqrt(start_m) - sqrt(end_m))
    return fall / (coefficient * opening_area_m2 * sqrt(2.0 * gravity_m_s2))


def level_after(
    time_s: float,
    start_m: float,
    *,
    plan_area_m2: float,
    opening_area_m2: float,
    coefficient: float,
    gravity_m_s2: float = G_M_S2,
) -> float:
    """Level left after a time: sqrt h = sqrt h0 - (C a/A_T) sqrt(g/2) t, and 0 once empty.

    Parameters
    ----------
    time_s : float
        [s].
    start_m : float
        Level above the opening at first [m].
    plan_area_m2, opening_area_m2 : float
        [m2].
    coefficient : float
        Discharge coefficient [-].
    gravity_m_s2 : float, optional
        [m/s2].

    Returns
    -------
    float
        Level above the opening [m].

    Raises
    ------
    ValueError
        A start below the opening.

    Valid for
    ---------
    As `drain_time`.

    Source
    ------
    Torricelli's law integrated.

    Examples
    --------
    >>> level_after(39908.7, 2.0, plan_area_m2=19.63495, opening_area_m2=3.141593e-4,
    ...     coefficient=1.0, gravity_m_s2=9.81) < 1e-6
    True
    """
    _check_levels(start_m, 0.0)
    fallen = coefficient * opening_area_m2 / plan_area_m2 * sqrt(gravity_m_s2 / 2.0) * time_s
    return max(0.0, sqrt(start_m) - fallen) ** 2


def siphon_crest(
    outlet_below_m: float, vapor_pressure_pa: float, *, atmosphere_pa: float, weight_n_m3: float
) -> float:
    """Height above the surface at which a running siphon's crest begins to boil.

    H = (p_atm - p_v)/gamma - (depth of the outlet below the surface), without friction.

    Parameters
    ----------
    outlet_below_m : float
        Outlet below the tank's surface [m].
    vapor_pressure_pa, atmosphere_pa : float
        Absolute [Pa].
    weight_n_m3 : float
        Specific weight of the liquid [N/m3].

    Returns
    -------
    float
        Height of the crest above the surface [m].

    Raises
    ------
    Nothing.

    Valid for
    ---------
    A siphon of one bore, friction ignored. A limit for information: cold fuel has little
    vapor pressure, so no discharge result leans on it.

    Source
    ------
    Munson and others, Fundamentals of Fluid Mechanics, example 3.10.

    Examples
    --------
    Water at 60 F, outlet 5 ft below the bottom of a tank 15 ft deep; published 28.2 ft:

    >>> crest_ft = siphon_crest(5, 0.256 * 144, atmosphere_pa=14.7 * 144, weight_n_m3=62.4)
    >>> round(crest_ft, 1)  # feet and pounds throughout, 14.444 psi not rounded to 14.4
    28.3
    """
    return (atmosphere_pa - vapor_pressure_pa) / weight_n_m3 - outlet_below_m


def _check_levels(start_m: float, end_m: float) -> None:
    if end_m < 0.0 or start_m < end_m:
        raise ValueError(
            f"the level falls from {start_m} to {end_m} m above the opening; "
            "give a start at or above the end, and both at or above 0"
        )
