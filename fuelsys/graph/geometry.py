"""The run of one segment: heights along it, its pieces, and the dips that hold fuel.

Distances and heights are metres, floats. The height is linear in the hose's length
between two surveyed points (33 CFR 183.505 gives the attitude: static floating position).
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from fuelsys.document.model import Segment
from fuelsys.units import as_float

LEVEL_TOLERANCE_M = 1e-9  # far below a survey, far above the rounding of floats


@dataclass(frozen=True)
class Pocket:
    """A dip that holds liquid up to `level_m`, between two distances from the start."""

    start_m: float
    end_m: float
    level_m: float


@dataclass(frozen=True)
class Polyline:
    """Distances from the `from` end and heights there, both in metres."""

    distances_m: tuple[float, ...]
    heights_m: tuple[float, ...]

    @classmethod
    def of(cls, segment: Segment) -> Polyline | None:
        """The surveyed run; None where fewer than two points were taken.

        Where the measured length differs from the route's last distance, the hose's length
        governs and the points keep their share of it.
        """
        route = segment.route
        if route is None or len(route) < 2:
            return None
        start, last = route[0][0], route[-1][0]
        run = last - start if start else last
        if run <= 0:
            return None
        if not start and segment.length_m in (None, run):
            distances = tuple([as_float(distance) for distance, _ in route])
        else:
            share = (run if segment.length_m is None else segment.length_m) / run
            distances = tuple([as_float((distance - start) * share) for distance, _ in route])
        return cls(distances, tuple([as_float(height) for _, height in route]))

    @property
    def length_m(self) -> float:
        return self.distances_m[-1]

    @cached_property
    def pieces(self) -> tuple[tuple[float, float, float], ...]:
        """(length, height at its start, height at its end) of each straight piece."""
        points = zip(self.distances_m, self.heights_m, strict=True)
        return tuple((b[0] - a[0], a[1], b[1]) for a, b in pairwise(points))

    def height_at(self, distance_m: float) -> float:
        """The height at a distance from the start; beyond an end, the height of that end."""
        if distance_m <= 0.0:
            return self.heights_m[0]
        if distance_m >= self.length_m:
            return self.heights_m[-1]
        index = bisect_right(self.distances_m, distance_m)
        s0, s1 = self.distances_m[index - 1], self.distances_m[index]
        z0, z1 = self.heights_m[index - 1], self.heights_m[index]
        return z0 + (z1 - z0) * (distance_m - s0) / (s1 - s0)

    @cached_property
    def lowest_m(self) -> float:
        """Height of the lowest point."""
        return min(self.heights_m)

    @cached_property
    def highest_m(self) -> float:
        """Height of the highest point."""
        return max(self.heights_m)

    def lowest(self) -> tuple[float, float]:
        """(distance, height) of the lowest point, the first where several tie."""
        height = min(self.heights_m)
        return self.distances_m[self.heights_m.index(height)], height

    def highest(self) -> tuple[float, float]:
        """(distance, height) of the highest point, the first where several tie."""
        height = max(self.heights_m)
        return self.distances_m[self.heights_m.index(height)], height

    def pockets(
        self, *, start_rim_m: float | None = None, end_rim_m: float | None = None
    ) -> tuple[Pocket, ...]:
        """Stretches that hold liquid when each end spills at its rim.

        Parameters
        ----------
        start_rim_m, end_rim_m : float, optional
            Level at which liquid leaves past that end [m]: the surface of the tank where
            the end is submerged, a crest further on. The height of the end by default.

        Returns
        -------
        tuple of Pocket
            In order from the start; distances and level in [m].

        Raises
        ------
        Nothing.

        Valid for
        ---------
        A hose left to drain by gravity to both ends; capillary films are ignored.

        Source
        ------
        The project's own geometry (communicating vessels).

        Examples
        --------
        A sag of 3 between two rims at 9 holds liquid from end to end of it:

        >>> run = Polyline((0.0, 20.0, 40.0, 84.0), (9.0, 6.0, 9.0, 31.0))
        >>> run.pockets()
        (Pocket(start_m=0.0, end_m=40.0, level_m=9.0),)
        """
        levels = self.levels(start_rim_m=start_rim_m, end_rim_m=end_rim_m)
        found: list[Pocket] = []
        for index, level in enumerate(levels):
            wet = self._wet_part(index, level)
            if wet is None:
                continue
            last = found[-1] if found else None
            if last and last.end_m == wet[0] and last.level_m == level:
                found[-1] = Pocket(last.start_m, wet[1], level)
            else:
                found.append(Pocket(wet[0], wet[1], level))
        return tuple(found)

    def levels(
        self, *, start_rim_m: float | None = None, end_rim_m: float | None = None
    ) -> tuple[float, ...]:
        """For each piece, the level to which liquid stands in it (a dry piece is above)."""
        heights = self.heights_m
        before = _running_rims(heights, start_rim_m)
        after = _running_rims(heights[::-1], end_rim_m)[::-1]
        # Within a piece the rim on each side is the one outside the piece's own slope.
        return tuple(min(before[i], after[i + 1]) for i in range(len(heights) - 1))

    def _wet_part(self, index: int, level: float) -> tuple[float, float] | None:
        s0, s1 = self.distances_m[index], self.distances_m[index + 1]
        z0, z1 = self.heights_m[index], self.heights_m[index + 1]
        if min(z0, z1) >= level - LEVEL_TOLERANCE_M or s1 <= s0:
            return None
        if max(z0, z1) <= level:
            return (s0, s1)
        crossing = s0 + (level - z0) * (s1 - s0) / (z1 - z0)
        return (s0, crossing) if z0 < level else (crossing, s1)


def _running_rims(heights: tuple[float, ...], rim: float | None) -> list[float]:
    highest = heights[0] if rim is None else max(rim, heights[0])
    rims = []
    for height in heights:
        highest = max(highest, height)
        rims.append(highest)
    return rims
