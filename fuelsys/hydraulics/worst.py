"""The worst cut of a segment: solved at the places where it can lie, not searched on a grid.

Between two neighboring candidates the contents change linearly with the place of the cut
and the tank's flow rises or falls throughout, so the contents are greatest at a candidate.
Where a flow falls while contents rise (or the other way about) the greatest of their sum may
lie between two: such an interval is halved until its bound shows that it cannot be worse.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from itertools import pairwise
from math import inf, isfinite
from operator import attrgetter, itemgetter
from typing import NamedTuple

from fuelsys.graph.geometry import LEVEL_TOLERANCE_M
from fuelsys.hydraulics.cuts import Cut, Section
from fuelsys.hydraulics.result import LIMIT_M3
from fuelsys.hydraulics.runs import Piece

BY_PLACE = itemgetter(0)
BY_PLACE_AND_CUT = itemgetter(0, 1)  # of a cut, which begins with its distance
BY_HEIGHT = attrgetter("height_m")
ONE_SIDED_M = 1e-6  # how near to a jump its limit is taken
TIE_SHARE = 1e-9  # of the greatest volume
CLOSE_SHARE = 1e-3  # of the greatest: far more than rounding, so that no tie is missed
HALVING_SHARE = 1e-5  # what a flow found by halving may fall short of the greatest
SHORTEST_INTERVAL_M = 1e-3
_new = tuple.__new__  # a named tuple from all its fields, without matching names


class Place(NamedTuple):
    """A place to cut: in piece number `piece`, standing for the candidate at `nominal_m`."""

    at_m: float
    height_m: float
    piece: int
    nominal_m: float


class Worst(NamedTuple):
    """The worst cut and the interval over which it ties."""

    cut: Cut
    first_m: float
    last_m: float
    upper_bound_m3: float


def candidates(section: Section) -> list[list[Place]]:
    """For each piece, the places in order: ends, crossings of levels, limits at jumps."""
    levels, jumps = _levels(section)
    return [_on_piece(section, index, levels, jumps) for index in range(len(section.pieces))]


def _on_piece(section: Section, index: int, levels: list[float], jumps: list[float]) -> list[Place]:
    start, end, near, far, _ = section.pieces[index]
    low, high = (near, far) if near < far else (far, near)
    places = [_new(Place, (start, near, index, start)), _new(Place, (end, far, index, end))]
    for level in levels[bisect_right(levels, low) : bisect_left(levels, high)]:
        at = _crossing(section, index, level)
        places.append(_new(Place, (at, level, index, at)))
    for level in jumps:
        if low <= level <= high and high > low:
            places += _beside(section, index, _crossing(section, index, level))
    places.sort(key=BY_PLACE)
    return places


def _levels(section: Section) -> tuple[list[float], list[float]]:
    """Heights at which contents bend or step, and those at which a tank's flow sets in."""
    levels: set[float] = set()
    jumps: set[float] = set()
    for half in (section.tank, section.far):
        levels.update(half.heights)
        levels.add(half.side.air_m)
        for near_m, far_m, _, floor_m, _, air_m in half.side.ponds:
            levels.update((floor_m, near_m, far_m, air_m))
        for source in half.side.sources:
            jumps.update((source.surface_m, source.surface_m - source.opening_m))
    jumps = {level for level in jumps if isfinite(level)}
    return sorted(level for level in levels | jumps if isfinite(level)), sorted(jumps)


def _crossing(section: Section, index: int, level: float) -> float:
    piece = section.pieces[index]
    rise = piece.end_height_m - piece.start_height_m
    at = piece.start_m + (piece.end_m - piece.start_m) * (level - piece.start_height_m) / rise
    if at < piece.start_m:
        return piece.start_m
    return at if at < piece.end_m else piece.end_m


def _beside(section: Section, index: int, at: float) -> Iterator[Place]:
    piece = section.pieces[index]
    for side in (at - ONE_SIDED_M, at + ONE_SIDED_M):
        if piece.start_m < side < piece.end_m:
            yield _new(Place, (side, section.height_at(side, index), index, at))


def worst_cut(section: Section) -> Worst:
    """The place of the greatest discharge, and a bound that no cut exceeds."""
    search = _Search(section)
    if section.stays_still:
        search.still()
    else:
        for places in candidates(section):
            search.piece(places)
    return search.result()


def _lows(pieces: list[Piece]) -> list[int]:
    """The corners of a route, by number, that have no lower neighbor; of a level both ends."""
    heights = [inf, pieces[0].start_height_m, *(piece.end_height_m for piece in pieces), inf]
    return [
        corner
        for corner, here in enumerate(heights[1:-1])
        if heights[corner] >= here - LEVEL_TOLERANCE_M <= heights[corner + 2]
    ]


def _corner(pieces: list[Piece], number: int) -> Place:
    if number == 0:
        return Place(pieces[0].start_m, pieces[0].start_height_m, 0, pieces[0].start_m)
    piece = pieces[number - 1]
    return Place(piece.end_m, piece.end_height_m, number - 1, piece.end_m)


def _strictly_between(places: list[Place], start: int, end: int) -> list[Place]:
    first_m, last_m = places[start].at_m, places[end].at_m
    return [place for place in places[start + 1 : end] if first_m < place.at_m < last_m]


class _Search:
    def __init__(self, section: Section) -> None:
        self.section = section
        self.cuts: list[tuple[float, Cut]] = []  # (candidate's place, cut)
        self.greatest = 0.0

    def take(self, place: Place) -> Cut:
        at, height, piece, nominal = place
        cut = self.section.cut(at, height, piece)
        volume = cut.volume_m3
        self.cuts.append((nominal, cut))
        if volume > self.greatest:
            self.greatest = volume
        return cut

    def _ends(self, places: list[Place]) -> list[tuple[int, Cut]]:
        """The solved places of a piece, by number: its ends and both limits at each jump."""
        last = len(places) - 1
        return [
            (index, self.take(place))
            for index, place in enumerate(places)
            if index in (0, last) or place.nominal_m != place.at_m
        ]

    def still(self) -> None:
        """Of a section in which nothing flows and nothing falls back into a tank.

        Downhill the contents of both halves then only grow: the way out of the cut is lower, and
        the half uphill of it longer. So the worst cut lies at a low of the route, and what lies
        uphill of a low can tie with the worst only as far as the contents stay close to it.
        """
        pieces = self.section.pieces
        lows = _lows(pieces)
        at_lows = [self.take(_corner(pieces, low)).volume_m3 for low in lows]
        close_m3 = self.greatest * (1.0 - CLOSE_SHARE)
        levels, jumps = _levels(self.section)
        for low, volume_m3 in zip(lows, at_lows, strict=True):
            if volume_m3 < close_m3:
                continue
            for way in (range(low, len(pieces)), range(low - 1, -1, -1)):
                for index in way:
                    places = _on_piece(self.section, index, levels, jumps)
                    if not self._close(places if index >= low else places[::-1], close_m3):
                        break
        self.cuts.sort(key=BY_PLACE_AND_CUT)

    def _close(self, places: list[Place], close_m3: float) -> bool:
        """Take places one after the other while the contents are close; whether all are."""
        return all(self.take(place).volume_m3 >= close_m3 for place in places[1:])

    def piece(self, places: list[Place]) -> None:
        """Ends and jumps are solved; what lies between, only where a bound lets it be worst."""
        for (start, cut_a), (end, cut_b) in pairwise(self._ends(places)):
            between = _strictly_between(places, start, end)
            if cut_a.flowing or cut_b.flowing:
                self._flowing_between([places[start], *between, places[end]], cut_a, cut_b)
            else:
                for place in between:
                    self.take(place)

    def _flowing_between(self, places: list[Place], first: Cut, last: Cut) -> None:
        flows = (
            max(first.tank_flow_m3, last.tank_flow_m3),
            max(first.far_flow_m3, last.far_flow_m3),
        )
        bounds = [self._bound(places[0], flows)]
        for place in places[1:-1]:
            bounds.append(self._bound(place, flows))
            if bounds[-1] >= self.greatest:
                self.take(place)
        bounds.append(self._bound(places[-1], flows))
        for (a, b), of_ends in zip(pairwise(places), pairwise(bounds), strict=True):
            if max(of_ends) > self.greatest:
                self._halve(a, b, flows)

    def _bound(self, place: Place, flows: tuple[float, float]) -> float:
        return self.section.volume(place.at_m, place.height_m, place.piece, flows)

    def _halve(self, a: Place, b: Place, flows: tuple[float, float]) -> None:
        waiting = [(a, self._solved(a), b, self._solved(b))]
        while waiting:
            a, cut_a, b, cut_b = waiting.pop()
            # Contents are bounded by the ends, a flow by the ends of the interval it is solved in.
            near = (
                min(flows[0], max(cut_a.tank_flow_m3, cut_b.tank_flow_m3)),
                min(flows[1], max(cut_a.far_flow_m3, cut_b.far_flow_m3)),
            )
            bound = max(self._bound(a, near), self._bound(b, near))
            short = b.at_m - a.at_m < SHORTEST_INTERVAL_M
            if short or bound <= self.greatest * (1.0 + HALVING_SHARE):
                continue
            at = 0.5 * (a.at_m + b.at_m)
            middle = Place(at, self.section.height_at(at, a.piece), a.piece, at)
            cut = self.take(middle)
            waiting += [(a, cut_a, middle, cut), (middle, cut, b, cut_b)]

    def _solved(self, place: Place) -> Cut:
        return self.section.cut(place.at_m, place.height_m, place.piece)

    def result(self) -> Worst:
        least = self.greatest * (1.0 - TIE_SHARE)
        ties = [tie for tie in self.cuts if tie[1].volume_m3 >= least]
        first = min(ties, key=itemgetter(0))
        last = max(at for at, _ in ties)
        return Worst(first[1], first[0], last, self._upper_bound(first[1]))

    def _upper_bound(self, worst: Cut) -> float:
        """All liquid at or above the lowest place of the segment, and what flows at most."""
        lowest = min([cut for _, cut in self.cuts], key=BY_HEIGHT)
        index = self._index_of(lowest)
        contents = sum(self.section.above(lowest.distance_m, lowest.height_m, index))
        if worst.flowing and worst.volume_m3 > LIMIT_M3:
            index = self._index_of(worst)
            tank, far = self.section.above(worst.distance_m, worst.height_m, index)
            flows = self.section.flow_at_most(worst)
            return max(worst.tank_side_m3, tank, flows[0]) + max(worst.far_side_m3, far, flows[1])
        flow = 0.0
        if self.section.ever_flows:
            flow = max(sum(self.section.flow_at_most(cut)) for _, cut in self.cuts)
        return max(contents + flow, worst.volume_m3)

    def _index_of(self, cut: Cut) -> int:
        pieces = self.section.pieces
        return next(i for i, p in enumerate(pieces) if p.start_m <= cut.distance_m <= p.end_m)
