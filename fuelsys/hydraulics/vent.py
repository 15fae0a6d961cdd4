"""Pressure in a tank while it is filled: gas through the vent, liquid in a dip, overfill."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.graph.geometry import Pocket, Polyline
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.links import Run, runs_loss

GALLON_M3_S = 3.785411784e-3 / 60.0  # one gal/min
# At fuel docks 9 to 12 gal/min, some more: Coast Guard boatbuilder handbook. The 10 gal/min of
# motor vehicles exempts boats (61 FR 33034). The project's default where none is on file.
DEFAULT_FILL_M3_S = 12.0 * GALLON_M3_S


def trap_pressure(depth_m: float, density_kg_m3: float) -> float:
    """Pressure that gas needs to pass liquid standing in a dip: rho g d.

    Parameters
    ----------
    depth_m : float
        Height of liquid to be held up [m].
    density_kg_m3 : float
        Of the fuel [kg/m3].

    Returns
    -------
    float
        [Pa].

    Raises
    ------
    ValueError
        A negative depth.

    Valid for
    ---------
    Any dip; friction is not in it.

    Source
    ------
    Hydrostatics.

    Examples
    --------
    >>> round(trap_pressure(0.150, 740.0))
    1089
    """
    if depth_m < 0.0:
        raise ValueError(f"the dip is {depth_m} m deep; give its depth without a sign")
    return density_kg_m3 * G_M_S2 * depth_m


def trap_depth(run: Polyline, pocket: Pocket) -> float:
    """Depth of a dip: from the level of its liquid to its lowest point [m].

    >>> run = Polyline((0.0, 0.2, 0.8), (0.1, 0.0, 0.5))
    >>> trap_depth(run, run.pockets()[0])
    0.1
    """
    places = zip(run.distances_m, run.heights_m, strict=True)
    return pocket.level_m - min(z for s, z in places if pocket.start_m <= s <= pocket.end_m)


def plug_height(run: Polyline, pocket: Pocket) -> float:
    """Greatest height of liquid that gas from the run's start must hold up to clear a dip.

    The liquid is pushed on as one plug: it leaves the near leg of the dip and stands in the far
    leg, so that more than the depth of the dip may have to be held. An upper bound.

    Parameters
    ----------
    run : Polyline
        From the tank to the outlet, one bore.
    pocket : Pocket
        The dip, full to its level.

    Returns
    -------
    float
        [m].

    Raises
    ------
    Nothing.

    Valid for
    ---------
    A bore in which gas pushes the liquid ahead of it; if it bubbles through, less is needed.

    Source
    ------
    The project's own geometry.

    Examples
    --------
    A dip of 0.1 m, equal legs, in a hose that rises on to 0.5 m:

    >>> run = Polyline((0.0, 0.2, 0.8), (0.1, 0.0, 0.5))
    >>> (pocket,) = run.pockets()
    >>> round(plug_height(run, pocket), 4)
    0.2667
    """
    length = pocket.end_m - pocket.start_m
    places = list(zip(run.distances_m, run.heights_m, strict=True))
    bends = [s for s in run.distances_m if pocket.start_m <= s]
    shifts = {0.0, *(s - pocket.start_m for s in bends), *(s - pocket.end_m for s in bends)}
    greatest = 0.0
    for shift in shifts:
        rear = pocket.start_m + shift
        if shift < 0.0 or rear > run.length_m:
            continue
        front = min(rear + length, run.length_m)  # what passes the outlet is gone
        # What runs down beyond a crest does not help to hold what stands before it.
        within = (z for s, z in places if rear < s < front)
        crest = max([run.height_at(front), *within])
        greatest = max(greatest, crest - run.height_at(rear))
    return greatest


def overfill_pressure(
    flow_m3_s: float,
    runs: Sequence[Run],
    *,
    rise_m: float,
    density_kg_m3: float,
    viscosity_m2_s: float,
) -> float:
    """Pressure in a full tank when liquid leaves through the vent at the fill rate.

    rho g rise + sum (f L/D + K) rho v^2/2.

    Parameters
    ----------
    flow_m3_s : float
        Fill rate [m3/s].
    runs : sequence of Run
        From the tank to the outlet.
    rise_m : float
        Highest point of the vent above its fitting on the tank [m].
    density_kg_m3, viscosity_m2_s : float
        Of the fuel [kg/m3], [m2/s].

    Returns
    -------
    float
        Gauge pressure [Pa].

    Raises
    ------
    ValueError
        A negative flow.

    Valid for
    ---------
    A nozzle that does not shut off: a warning of what a tank may then see.

    Source
    ------
    Darcy-Weisbach and hydrostatics.

    Examples
    --------
    10 gal/min up 2.5 m of 9/16 in hose, K 2.7, 0.60 m of rise:

    >>> pressure = overfill_pressure(10 * GALLON_M3_S, [Run(0.0142875, 2.5, 2.7)], rise_m=0.60,
    ...     density_kg_m3=740.0, viscosity_m2_s=0.55e-6)
    >>> round(pressure / 6894.757, 2)
    5.55
    """
    loss_m = runs_loss(flow_m3_s, runs, viscosity_m2_s)
    return density_kg_m3 * G_M_S2 * (max(0.0, rise_m) + loss_m)
