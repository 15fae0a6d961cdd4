"""Parts one behind the other: their flow is known, so one pass gives every loss and head."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from operator import sub
from typing import NamedTuple

from fuelsys.hydraulics.friction import G_M_S2, HOSE_ROUGHNESS_M, bore_area, friction_factor
from fuelsys.hydraulics.links import NO_FLOW_M3_S, Link, link_loss

TWO_G_M_S2 = 2.0 * G_M_S2
_new = tuple.__new__  # a named tuple from all its fields, without matching names


class Series(NamedTuple):
    """What each part takes, and the head at each joint: one more than there are parts. [m]"""

    losses_m: list[float]
    heads_m: list[float]


def in_series(
    links: Sequence[Link], flow_m3_s: float, *, head_m: float, viscosity_m2_s: float
) -> Series:
    """Losses and heads along parts that one flow passes, from the head before the first.

    Parameters
    ----------
    links : sequence of Link
        Each from where the one before it ends.
    flow_m3_s : float
        Through all of them [m3/s]; negative where it runs back.
    head_m : float
        Where the first begins [m of the liquid].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    Series
        Each loss as `fuelsys.hydraulics.links.link_loss` gives it; the friction of a bore is
        worked out once.

    Raises
    ------
    Nothing.

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

    >>> from fuelsys.hydraulics.links import Run
    >>> line = [Link("T", "A", (Run(0.009525, 3.0, 2.0),)),
    ...     Link("A", "IN", (Run(0.0079375, 2.0, 1.5),))]
    >>> found = in_series(line, 25.8e-6, head_m=0.0, viscosity_m2_s=0.55e-6)
    >>> [round(loss, 4) for loss in found.losses_m], [round(head, 4) for head in found.heads_m]
    ([0.0883, 0.139], [0.0, -0.0883, -0.2273])
    """
    losses = losses_of_one_flow(links, flow_m3_s, viscosity_m2_s)
    return _new(Series, (losses, list(accumulate(losses, sub, initial=head_m))))


def losses_along(
    links: Sequence[Link], flows_m3_s: Sequence[float], viscosity_m2_s: float
) -> list[float]:
    """The loss of each link at its own flow [m]; of each stretch without a branch in one pass.

    >>> from fuelsys.hydraulics.links import Run
    >>> hose = Link("A", "B", (Run(0.009525, 3.0),))
    >>> [round(loss, 4) for loss in losses_along([hose] * 3, [25.8e-6, 25.8e-6, -1e-5], 0.55e-6)]
    [0.0749, 0.0749, -0.0092]
    """
    losses: list[float] = []
    start, count = 0, len(links)
    while start < count:
        flow, end = flows_m3_s[start], start + 1
        while end < count and flows_m3_s[end] == flow:
            end += 1
        losses += losses_of_one_flow(links[start:end], flow, viscosity_m2_s)
        start = end
    return losses


def losses_of_one_flow(
    links: Sequence[Link], flow_m3_s: float, viscosity_m2_s: float
) -> list[float]:
    """The loss of each link at one flow through all [m], which is negative where it runs back.

    >>> losses_of_one_flow([Link("T", "E", opening_m=0.25)], -1e-6, 0.55e-6)
    [-0.25]
    """
    size = abs(flow_m3_s)
    if size <= NO_FLOW_M3_S:
        return [link_loss(link, flow_m3_s, viscosity_m2_s) for link in links]
    known: dict[float, tuple[float, float]] = {}
    losses: list[float] = []
    for _, _, runs, slope, opening, _ in links:
        lost = 0.0
        for bore_m, length_m, fittings_k in runs:
            if bore_m not in known:
                known[bore_m] = speed_and_friction(size, bore_m, viscosity_m2_s)
            speed, f = known[bore_m]
            lost += (f * length_m / bore_m + fittings_k) * speed * speed
        losses.append(lost / TWO_G_M_S2 + slope * size + opening)
    return losses if flow_m3_s >= 0.0 else [-lost for lost in losses]


def speed_and_friction(
    flow_m3_s: float, bore_m: float, viscosity_m2_s: float
) -> tuple[float, float]:
    """Speed [m/s] and friction factor [-] of a flow above zero in a bore.

    >>> speed, f = speed_and_friction(25.8e-6, 0.009525, 0.55e-6)
    >>> round(speed, 4), round(f, 4)
    (0.3621, 0.0356)
    """
    speed = flow_m3_s / bore_area(bore_m)
    reynolds = speed * bore_m / viscosity_m2_s
    return speed, friction_factor(reynolds, HOSE_ROUGHNESS_M / bore_m)
