"""Steady outflow at a cut: how fast a tank empties through what lies between."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp, log

from fuelsys.hydraulics.friction import G_M_S2, HOSE_ROUGHNESS_M, bore_area, friction_factor

# Sharp-edged entrance: Crane TP-410 and most textbooks (Rennels and Hudson have 0.57).
ENTRANCE_K = 0.5
EXIT_K = 1.0  # the velocity head leaves with the jet
LOG_HEAD_TOLERANCE = 1e-10
MOST_ROUNDS = 100


def outflow(
    head_m: float,
    runs: Sequence[tuple[float, float]],
    *,
    viscosity_m2_s: float,
    cut_diameter_m: float,
    entrance_diameter_m: float | None = None,
    roughness_m: float = HOSE_ROUGHNESS_M,
) -> float:
    """Flow Q out of a clean full-bore cut under a steady head.

    sum (f L/D + K) v^2/(2 g) + v_cut^2/(2 g) = head, with K 0.5 where the fuel enters.

    Parameters
    ----------
    head_m : float
        Head at the cut less the opening head of a valve [m of the fuel].
    runs : sequence of (float, float)
        Inside diameter [m] and length [m] of each bore from the pick-up to the cut.
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].
    cut_diameter_m : float
        Bore of the cut end [m].
    entrance_diameter_m : float, optional
        Bore at which the fuel enters [m]; that of the cut by default.
    roughness_m : float, optional
        [m].

    Returns
    -------
    float
        Flow [m3/s]; 0 where the head is not above 0.

    Raises
    ------
    ValueError
        A bore that is not above zero.
    ArithmeticError
        No flow was found; bores or lengths are out of all proportion.

    Valid for
    ---------
    Hose full of one liquid; start-up (under a second) and the drop of a boat tank's surface
    are ignored. Valves, filters and bulbs without a figure are not credited with a loss.

    Source
    ------
    Energy equation with Darcy-Weisbach; friction as in `friction_factor`.

    Examples
    --------
    A plain straight drain, 2.5 m of 3/8 in hose under 0.30 m of gasoline:

    >>> round(outflow(0.30, [(0.009525, 2.5)], viscosity_m2_s=0.55e-6,
    ...     cut_diameter_m=0.009525) * 1e6, 1)
    57.6

    Without a hose it is the short tube, 0.8165 A sqrt(2 g H):

    >>> from math import sqrt
    >>> q = outflow(0.30, [], viscosity_m2_s=0.55e-6, cut_diameter_m=0.01)
    >>> round(q / (bore_area(0.01) * sqrt(2 * G_M_S2 * 0.30)), 4)
    0.8165
    """
    entrance = cut_diameter_m if entrance_diameter_m is None else entrance_diameter_m
    if min([cut_diameter_m, entrance, *(bore for bore, _ in runs)]) <= 0.0:
        raise ValueError("a bore is not above 0 m; correct the inside diameter")
    if head_m <= 0.0:
        return 0.0
    two_g = 2.0 * G_M_S2
    at_cut = bore_area(cut_diameter_m)
    fixed = (ENTRANCE_K / bore_area(entrance) ** 2 + EXIT_K / at_cut**2) / two_g
    hoses = [
        (
            bore / (bore_area(bore) * viscosity_m2_s),  # Reynolds number of each m3/s
            roughness_m / bore,
            length / (bore * two_g * bore_area(bore) ** 2),  # head lost by f = 1 at 1 m3/s
        )
        for bore, length in runs
    ]

    def excess(log_flow: float) -> float:
        flow = exp(log_flow)
        resistance = fixed
        for reynolds, roughness, loss in hoses:
            resistance += friction_factor(reynolds * flow, roughness) * loss
        return log(resistance * flow * flow / head_m)

    return exp(root_below(excess, 0.5 * log(head_m / fixed)))


def root_below(excess: Callable[[float], float], upper: float) -> float:
    """Root of a rising function of slope about 1 (laminar) to 3, at or below `upper`.

    Regula falsi with the Illinois weight: the bracket never opens, so it cannot wander.
    """
    high, high_value = upper, excess(upper)
    if high_value <= LOG_HEAD_TOLERANCE:
        return high
    low = high - high_value
    while (low_value := excess(low)) > 0.0:
        low -= low_value + LOG_HEAD_TOLERANCE
    side = 0  # which end of the bracket the last round moved
    for _ in range(MOST_ROUNDS):
        middle = (low * high_value - high * low_value) / (high_value - low_value)
        value = excess(middle)
        if abs(value) <= LOG_HEAD_TOLERANCE or high - low <= LOG_HEAD_TOLERANCE:
            return middle
        if value > 0.0:
            high, high_value = middle, value
            low_value *= 0.5 if side > 0 else 1.0
            side = 1
        else:
            low, low_value = middle, value
            high_value *= 0.5 if side < 0 else 1.0
            side = -1
    raise ArithmeticError(f"no flow found in {MOST_ROUNDS} rounds; check the bores and lengths")
