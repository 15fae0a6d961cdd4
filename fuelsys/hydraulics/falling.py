"""Outflow from a small tank whose surface falls while it runs."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.hydraulics.flow import outflow

STEP_S = 0.1
TEST_TIME_S = 150.0


def falling_outflow(
    head_m: float,
    runs: Sequence[tuple[float, float]],
    *,
    plan_area_m2: float,
    viscosity_m2_s: float,
    cut_diameter_m: float,
    entrance_diameter_m: float | None = None,
    depth_m: float | None = None,
    time_s: float = TEST_TIME_S,
    step_s: float = STEP_S,
) -> float:
    """Fuel that runs out of a cut in a time, the surface falling as it does.

    A_T dz/dt = -Q(z - z_cut), stepped by the midpoint rule.

    Parameters
    ----------
    head_m : float
        Head at the cut at first, less the opening head of a valve [m].
    runs : sequence of (float, float)
        Inside diameter and length of each bore from the pick-up to the cut [m].
    plan_area_m2 : float
        Area of the tank in plan [m2].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].
    cut_diameter_m : float
        [m].
    entrance_diameter_m : float, optional
        [m].
    depth_m : float, optional
        Fuel in the tank above its bottom [m]; the surface falls no further.
    time_s, step_s : float, optional
        [s].

    Returns
    -------
    float
        Volume [m3]; never more than the steady flow gives.

    Raises
    ------
    ValueError
        An area or a step that is not above zero.

    Valid for
    ---------
    A tank of one area at every level, its vent open. As `outflow` besides.

    Source
    ------
    Continuity; closed form in `fuelsys.hydraulics.drain` without a hose.

    Examples
    --------
    A wide tank hardly falls, a narrow one runs empty:

    >>> def run(area):
    ...     return falling_outflow(0.1, [(0.009525, 1.0)], plan_area_m2=area,
    ...         viscosity_m2_s=0.55e-6, cut_diameter_m=0.009525, step_s=1.0)
    >>> round(run(10.0) * 1e3, 2), round(run(0.01) * 1e3, 2)
    (6.9, 1.0)
    """
    if plan_area_m2 <= 0.0 or step_s <= 0.0:
        raise ValueError(
            f"a plan area of {plan_area_m2} m2 and steps of {step_s} s; give both above 0"
        )
    steps = max(1, round(time_s / step_s))
    step = time_s / steps
    head = head_m
    least = 0.0 if depth_m is None else max(0.0, head_m - depth_m)

    def flow(at_m: float) -> float:
        return outflow(
            at_m,
            runs,
            viscosity_m2_s=viscosity_m2_s,
            cut_diameter_m=cut_diameter_m,
            entrance_diameter_m=entrance_diameter_m,
        )

    for _ in range(steps):
        if head <= least:
            break
        halfway = head - flow(head) * step / (2.0 * plan_area_m2)
        if halfway <= least:
            # Twice what is left runs out in a step, so all of it does; at such a head nothing
            # flows, and the surface would hang where it is.
            head = least
            break
        head -= flow(halfway) * step / plan_area_m2
    return plan_area_m2 * (head_m - max(head, least)) if head_m > 0.0 else 0.0
