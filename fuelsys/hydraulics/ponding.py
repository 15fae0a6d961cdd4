"""What runs out of a stretch of hose by itself: the ponding rule and the falling plug.

Walking outward from the cut, a point drains if it stands at or above everything between it
and the cut: no barrier keeps it back. Where the far end is open to the air, the liquid can
also leave as a plug, back to the first point that lies no higher than the cut. Both can
happen one after the other; no stretch counts twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from typing import NamedTuple

from fuelsys.graph.geometry import LEVEL_TOLERANCE_M

BELOW_M = 2.0 * LEVEL_TOLERANCE_M  # a far side so much below a barrier drains nothing past it
Owner = int | str  # the step (a segment) or the component that holds the liquid


class Holding(NamedTuple):
    """Liquid in one straight piece of hose, or lumped at one height (near == far).

    `floor_m` is the highest point between the cut segment's end and the piece's far side,
    the piece's own near end included. `air_m` is the lowest point from the piece to the air
    at an open far end, -inf where that end is closed.
    """

    near_m: float
    far_m: float
    volume_m3: float
    floor_m: float
    owner: Owner
    air_m: float = -inf

    def drained(self, cut_m: float, barrier_m: float) -> float:
        """Volume that leaves [m3] for a cut at `cut_m` behind a barrier at `barrier_m`."""
        near_m, far_m, volume_m3, floor_m, _, air_m = self
        if air_m > cut_m:
            return volume_m3 * share_above(near_m, far_m, cut_m)
        if floor_m > barrier_m:
            barrier_m = floor_m
        if far_m < barrier_m - BELOW_M:
            return 0.0
        return volume_m3 * drained_share(near_m, far_m, barrier_m)

    def above(self, height_m: float) -> float:
        """Volume that stands at or above a height [m3]."""
        return self.volume_m3 * share_above(self.near_m, self.far_m, height_m)

    @property
    def can_pond(self) -> bool:
        """Whether any cut could drain it by ponding; a falling piece or a pocket never does."""
        near_m, far_m, _, floor_m, _, _ = self
        if far_m > near_m + LEVEL_TOLERANCE_M:
            return far_m > floor_m
        level = abs(far_m - near_m) <= LEVEL_TOLERANCE_M
        return level and near_m >= floor_m - LEVEL_TOLERANCE_M


def drained_of(holdings: Iterable[Holding], cut_m: float, barrier_m: float) -> float:
    """Volume that leaves several holdings [m3], none of them drained by a flow."""
    total_m3 = 0.0
    for near_m, far_m, volume_m3, floor_m, _, air_m in holdings:
        if air_m > cut_m:
            total_m3 += volume_m3 * share_above(near_m, far_m, cut_m)
            continue
        above_m = floor_m if floor_m > barrier_m else barrier_m
        if far_m > near_m + LEVEL_TOLERANCE_M:  # `drained_share` of a rising piece
            if far_m > above_m:
                start_m = near_m if near_m > above_m else above_m
                total_m3 += volume_m3 * ((far_m - start_m) / (far_m - near_m))
        elif far_m >= above_m - BELOW_M:
            total_m3 += volume_m3 * drained_share(near_m, far_m, above_m)
    return total_m3


def above_of(holdings: Iterable[Holding], height_m: float) -> float:
    """Volume of several holdings that stands at or above a height [m3]."""
    total_m3 = 0.0
    for near_m, far_m, volume_m3, *_ in holdings:
        total_m3 += volume_m3 * share_above(near_m, far_m, height_m)
    return total_m3


def drained_share(near_m: float, far_m: float, barrier_m: float) -> float:
    """Share of a straight piece that ponding drains past a barrier at its near side.

    Parameters
    ----------
    near_m, far_m : float
        Heights of the ends toward the cut and away from it [m].
    barrier_m : float
        Highest point between the cut and the piece, the cut included [m].

    Returns
    -------
    float
        Share of its length [-]: rising, what stands above the barrier; level, all of it
        at or above the barrier; falling, nothing.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Bores above 3.2 mm, in which air rises past gasoline (Bretherton's bubble criterion):
    a closed far end then does not hold the liquid up.

    Source
    ------
    33 CFR 183.558(b), severed at the point of maximum drainage; the project's own method.

    Examples
    --------
    >>> drained_share(0.0, 1.0, 0.25), drained_share(1.0, 1.0, 1.0), drained_share(1.0, 0.0, 0.0)
    (0.75, 1.0, 0.0)
    """
    if far_m <= near_m + LEVEL_TOLERANCE_M:
        level = abs(far_m - near_m) <= LEVEL_TOLERANCE_M
        return 1.0 if level and near_m >= barrier_m - LEVEL_TOLERANCE_M else 0.0
    start_m = near_m if near_m > barrier_m else barrier_m
    return (far_m - start_m) / (far_m - near_m) if far_m > start_m else 0.0


def share_above(a_m: float, b_m: float, height_m: float) -> float:
    """Share of a straight piece that stands at or above a height [-].

    >>> share_above(0.0, 1.0, 0.25), share_above(1.0, 0.0, 0.25), share_above(2.0, 2.0, 2.0)
    (0.75, 0.75, 1.0)
    """
    low, high = (a_m, b_m) if a_m < b_m else (b_m, a_m)
    if height_m <= low + LEVEL_TOLERANCE_M:
        return 1.0
    return (high - height_m) / (high - low) if high > height_m else 0.0
