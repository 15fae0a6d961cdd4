"""What one length of line takes from the pressure of the fuel that flows through it."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, pi, sqrt
from typing import NamedTuple

from fuelsys.hydraulics.flow import root_below
from fuelsys.hydraulics.friction import G_M_S2, HOSE_ROUGHNESS_M, bore_area, friction_factor

NO_FLOW_M3_S = 1e-15
NO_LOSS_M = 1e-300  # keeps the logarithm of a loss below the least flow a number


class NoResistanceError(ArithmeticError):
    """A link without any resistance has no flow of its own; the message names it."""


class Run(NamedTuple):
    """A bore with its length [m] and the sum K of the fittings on it."""

    bore_m: float
    length_m: float
    fittings_k: float = 0.0


class Link(NamedTuple):
    """One part between two places: runs of bore, a linear drop, a spring valve.

    Heads are meters of the fuel. `slope_s_m2` is the head lost by each m3/s in a medium such as
    a filter's; `opening_m` is what a spring valve takes; `one_way` stops flow from end to start.
    """

    start: str
    end: str
    runs: tuple[Run, ...] = ()
    slope_s_m2: float = 0.0
    opening_m: float = 0.0
    one_way: bool = False


def runs_loss(flow_m3_s: float, runs: Sequence[Run], viscosity_m2_s: float) -> float:
    """Head lost in runs of bore in series: sum (f L/D + K) v^2/(2 g).

    Parameters
    ----------
    flow_m3_s : float
        Flow [m3/s], zero or more.
    runs : sequence of Run
        Bores above zero [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].

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
    As `fuelsys.hydraulics.friction.head_loss`.

    Source
    ------
    Darcy-Weisbach; friction of the EPANET 2.2 User Manual.

    Examples
    --------
    Two pipes in series, 25.8 mL/s of gasoline; a program with the same friction model gives
    0.08822 and 0.13884 m:

    >>> line = (Run(0.009525, 3.0, 2.0), Run(0.0079375, 2.0, 1.5))
    >>> [round(runs_loss(25.8e-6, [run], 0.55e-6), 4) for run in line]
    [0.0883, 0.139]
    """
    if flow_m3_s < 0.0:
        raise ValueError(f"the flow is {flow_m3_s} m3/s; give its size, without a sign")
    if flow_m3_s < NO_FLOW_M3_S:
        return 0.0
    loss = 0.0
    for bore_m, length_m, fittings_k in runs:
        velocity = flow_m3_s / bore_area(bore_m)
        f = friction_factor(velocity * bore_m / viscosity_m2_s, HOSE_ROUGHNESS_M / bore_m)
        loss += (f * length_m / bore_m + fittings_k) * velocity * velocity
    return loss / (2.0 * G_M_S2)


def fittings_loss(flow_m3_s: float, runs: Sequence[Run]) -> float:
    """The part of `runs_loss` that the coefficients K take [m].

    >>> round(fittings_loss(25.8e-6, [Run(0.009525, 3.0, 2.0)]), 5)
    0.01337
    """
    speeds = ((run.fittings_k, flow_m3_s / bore_area(run.bore_m)) for run in runs)
    return sum(k * speed * speed for k, speed in speeds) / (2.0 * G_M_S2)


def link_loss(link: Link, flow_m3_s: float, viscosity_m2_s: float) -> float:
    """Head from a link's start to its end at a flow, which is negative where it runs back.

    >>> valve = Link("T", "E", opening_m=0.25)
    >>> link_loss(valve, 1e-6, 0.55e-6), link_loss(valve, 0.0, 0.55e-6)
    (0.25, 0.0)
    """
    size = abs(flow_m3_s)
    loss = runs_loss(size, link.runs, viscosity_m2_s) + link.slope_s_m2 * size
    if size > NO_FLOW_M3_S:
        loss += link.opening_m
    return loss if flow_m3_s >= 0.0 else -loss


def link_flow(link: Link, drop_m: float, viscosity_m2_s: float) -> float:
    """Flow that a difference in head between a link's ends drives; the reverse of its loss.

    Parameters
    ----------
    link : Link
        With any resistance at all.
    drop_m : float
        Head at its start less head at its end [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    float
        Flow from start to end [m3/s]; 0 through a valve that does not open.

    Raises
    ------
    NoResistanceError
        Nothing in the link resists the flow.

    Valid for
    ---------
    As `runs_loss`.

    Source
    ------
    The root of `link_loss`, below the flow of laminar loss.

    Examples
    --------
    >>> hose = Link("A", "B", (Run(0.009525, 3.0),))
    >>> lost = link_loss(hose, 25.8e-6, 0.55e-6)
    >>> round(link_flow(hose, lost, 0.55e-6) * 1e6, 6)
    25.8
    """
    if drop_m < 0.0:
        return 0.0 if link.one_way else -link_flow(_turned(link), -drop_m, viscosity_m2_s)
    wanted = drop_m - link.opening_m
    if wanted <= 0.0:
        return 0.0

    upper = _most_flow(link, wanted, viscosity_m2_s)
    if upper <= NO_FLOW_M3_S:
        return 0.0

    def excess(log_flow: float) -> float:
        flow = exp(log_flow)
        lost = runs_loss(flow, link.runs, viscosity_m2_s) + link.slope_s_m2 * flow
        return log(max(lost, NO_LOSS_M) / wanted)

    return exp(root_below(excess, log(upper)))


def _most_flow(link: Link, wanted_m: float, viscosity_m2_s: float) -> float:
    """No flow loses less than a laminar one, nor less than its fittings alone."""
    laminar, fittings = link.slope_s_m2, 0.0
    for bore_m, length_m, fittings_k in link.runs:
        laminar += 128.0 * viscosity_m2_s * length_m / (pi * G_M_S2 * bore_m**4)
        fittings += fittings_k / (2.0 * G_M_S2 * bore_area(bore_m) ** 2)
    bounds = [wanted_m / laminar] if laminar > 0.0 else []
    bounds += [sqrt(wanted_m / fittings)] if fittings > 0.0 else []
    if not bounds:
        raise NoResistanceError(
            f"nothing between {link.start} and {link.end} resists the flow; check its bores"
        )
    return min(bounds)


def _turned(link: Link) -> Link:
    return Link(link.end, link.start, link.runs, link.slope_s_m2, link.opening_m)
