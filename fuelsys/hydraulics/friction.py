"""Darcy friction of a round hose: one continuous function for every flow."""

from __future__ import annotations

from math import log, log10

G_M_S2 = 9.80665  # standard gravity
# Drawn tubing and plastic, the usual handbook figure; for fuel hose none was found published.
HOSE_ROUGHNESS_M = 0.0015e-3
LAMINAR_RE = 2000.0
TURBULENT_RE = 4000.0
Y2_REYNOLDS_TERM: float = 5.74 / TURBULENT_RE**0.9  # constant 4000^0.9, as the program has it


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor, continuous from laminar through transition to turbulent flow.

    64/Re up to Re 2000, Swamee-Jain from Re 4000, Dunlop's cubic between the two.

    Parameters
    ----------
    reynolds : float
        Reynolds number v D/nu [-], above zero.
    relative_roughness : float
        Roughness over inside diameter [-].

    Returns
    -------
    float
        Darcy friction factor [-].

    Raises
    ------
    ValueError
        `reynolds` is not above zero.

    Valid for
    ---------
    Full round pipe. Between Re 2000 and 4000 published correlations differ by up to 60 %:
    figures there are a wide band. Swamee-Jain is within about 1.5 % of Colebrook for
    relative roughness 1e-6 to 0.05.

    Source
    ------
    EPANET 2.2 User Manual, analysis algorithms: Hagen-Poiseuille, Swamee and Jain, and the
    cubic interpolation of Dunlop (1991). Two printings show the Reynolds number of the case
    in Y2 where the program has 4000; the program is followed.

    Examples
    --------
    The program itself gives 0.03062, 0.02913, 0.03310, 0.03867 and 0.04077 in the transition:

    >>> [round(friction_factor(re, 5e-5), 4) for re in (2100, 2500, 3000, 3500, 3900)]
    [0.0306, 0.0291, 0.0331, 0.0387, 0.0408]
    >>> friction_factor(1000.0, 0.0)
    0.064
    """
    if reynolds <= 0.0:
        raise ValueError(f"the Reynolds number is {reynolds}; friction needs one above 0")
    if reynolds <= LAMINAR_RE:
        return 64.0 / reynolds
    if reynolds >= TURBULENT_RE:
        return 0.25 / log10(relative_roughness / 3.7 + 5.74 / reynolds**0.9) ** 2
    return _transition(reynolds, relative_roughness)


def _transition(reynolds: float, relative_roughness: float) -> float:
    y2 = relative_roughness / 3.7 + Y2_REYNOLDS_TERM
    y3 = -0.86859 * log(y2)
    fa = 1.0 / (y3 * y3)
    fb = fa * (2.0 - 0.00514215 / (y2 * y3))
    r = reynolds / 2000.0
    x1 = 7.0 * fa - fb
    x2 = 0.128 - 17.0 * fa + 2.5 * fb
    x3 = -0.128 + 13.0 * fa - 2.0 * fb
    x4 = r * (0.032 - 3.0 * fa + 0.5 * fb)
    return x1 + r * (x2 + r * (x3 + x4))


def in_transition(flow_m3_s: float, inside_diameter_m: float, viscosity_m2_s: float) -> bool:
    """Whether a flow lies between laminar and turbulent, where its friction is a wide band.

    >>> in_transition(12.3e-6, 0.009525, 0.55e-6), in_transition(57.6e-6, 0.009525, 0.55e-6)
    (True, False)
    """
    speed = flow_m3_s / bore_area(inside_diameter_m)
    return LAMINAR_RE < speed * inside_diameter_m / viscosity_m2_s < TURBULENT_RE


def head_loss(
    flow_m3_s: float,
    *,
    length_m: float,
    inside_diameter_m: float,
    viscosity_m2_s: float,
    fittings_k: float = 0.0,
    roughness_m: float = HOSE_ROUGHNESS_M,
) -> float:
    """Head lost in one run of hose: (f L/D + K) v^2/(2 g).

    Parameters
    ----------
    flow_m3_s : float
        Flow [m3/s], zero or more.
    length_m, inside_diameter_m : float
        Hose [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].
    fittings_k : float, optional
        Sum of the loss coefficients K on this bore [-].
    roughness_m : float, optional
        [m].

    Returns
    -------
    float
        Head [m of the liquid].

    Raises
    ------
    ValueError
        A negative flow.

    Valid for
    ---------
    Steady flow of one liquid in a full round hose; the transition as in `friction_factor`.

    Source
    ------
    Darcy-Weisbach; checked by Crane TP-410, 2018, examples 7.9 and 7.13.

    Examples
    --------
    Crane TP-410 example 7.9, SAE 30 oil: laminar, Re 1676, with valves, elbow and 50 ft of
    rise 26.06 psi in all.

    >>> loss_m = head_loss(400 * 3.785411784e-3 / 60, length_m=91.44,
    ...     inside_diameter_m=5.047 * 0.0254, viscosity_m2_s=0.130 / 869.1,
    ...     fittings_k=178 * 0.01544)
    >>> round(869.1 * G_M_S2 * (loss_m + 15.24) / 6894.757, 1)
    26.1
    """
    if flow_m3_s < 0.0:
        raise ValueError(f"the flow is {flow_m3_s} m3/s; give its size, without a sign")
    if flow_m3_s == 0.0:
        return 0.0
    area_m2 = bore_area(inside_diameter_m)
    velocity = flow_m3_s / area_m2
    reynolds = velocity * inside_diameter_m / viscosity_m2_s
    f = friction_factor(reynolds, roughness_m / inside_diameter_m)
    return (f * length_m / inside_diameter_m + fittings_k) * velocity**2 / (2.0 * G_M_S2)


def bore_area(inside_diameter_m: float) -> float:
    """Area of a round bore [m2] from its inside diameter [m].

    >>> round(bore_area(0.009525) * 1e6, 2)  # 3/8 in holds 71.26 mL in each metre
    71.26
    """
    return 0.785398163397448309616 * inside_diameter_m * inside_diameter_m
