"""What runs out of one cut, at any place of a segment."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from fuelsys.graph.geometry import LEVEL_TOLERANCE_M
from fuelsys.hydraulics.ponding import Owner, above_of, drained_of, drained_share, share_above
from fuelsys.hydraulics.reading import Reading
from fuelsys.hydraulics.runs import Piece
from fuelsys.hydraulics.sides import Side
from fuelsys.hydraulics.sources import Source

# What several tanks give together at a cut, by its distance from the `from` end and whether the
# side toward the `to` end is asked for [m3]; None where that cannot be solved.
Solved = Callable[[float, bool], float | None]
OWN = -1  # the cut segment among the owners of liquid
NOTHING: frozenset[Owner] = frozenset()
NO_SOURCES: tuple[Source, ...] = ()
_new = tuple.__new__  # a named tuple from all its fields, without matching names


class Cut(NamedTuple):
    """What one cut lets out; `state` is that of the tank's side."""

    distance_m: float
    height_m: float
    tank_side_m3: float
    far_side_m3: float
    state: str
    tank_flow_m3: float
    far_flow_m3: float

    @property
    def volume_m3(self) -> float:
        return self.tank_side_m3 + self.far_side_m3

    @property
    def flowing(self) -> bool:
        return self.tank_flow_m3 > 0.0 or self.far_flow_m3 > 0.0


class Stand(NamedTuple):
    """What one half gives at a place before any flow is solved, and what flows there."""

    still_m3: float  # on the way of a flow, which counts where it is the greater
    dead_m3: float  # on branches, on top of a flow
    state: str
    flowing: Sequence[Source]
    barrier_m: float  # highest point between the cut and the segment's end
    joined_m3: float | None = None  # flow of tanks that share a way, where it could be solved


class Half:
    """One side together with the part of the cut segment that lies on it.

    Distances here run from the cut segment's far end for this half, so that they grow
    outward; `pieces` are in that order.
    """

    def __init__(
        self,
        side: Side,
        pieces: list[Piece],
        bore_m: float | None,
        reading: Reading,
        solved: Callable[[float], float | None],
    ) -> None:
        self.side = side
        self.solved = solved  # by the distance as it runs here
        self.reading = reading
        self.pieces = pieces
        self.bore_m = bore_m
        self.length_m = pieces[-1].end_m
        self.heights = [pieces[0].start_height_m, *(p.end_height_m for p in pieces)]
        air = self._air_heights()[1:]
        self._outward = [
            (piece.end_m, piece.end_height_m, piece.area_m2, air_m)
            for piece, air_m in zip(pieces, air, strict=True)
        ]
        self.ever_flows = False  # whether a tank flows at any place asked for
        # One place is asked for as a candidate, as an end of its neighbors and for bounds.
        self._stands: dict[tuple[float, float], Stand] = {}
        self._flows: dict[tuple[float, float], float] = {}
        self._alone: dict[tuple[str, float, float], float] = {}  # of one tank, by place

    @property
    def lowest_m(self) -> float:
        return min(self.heights)

    def stays_still(self, lowest_m: float) -> bool:
        """Whether each tank is held back at every cut down to a height."""
        return all(s.always_holds and not s.flows(lowest_m) for s in self.side.sources)

    def _air_heights(self) -> list[float]:
        """For each vertex, the lowest point from it to open air."""
        lowest = self.side.air_m
        found = []
        for height in reversed(self.heights):
            lowest = min(lowest, height)
            found.append(lowest)
        return found[::-1]

    def drained(self, at: float, height: float, index: int) -> tuple[float, float]:
        """Own liquid that leaves toward the cut [m3], and the highest point to the end [m]."""
        volume, barrier = 0.0, height
        start, near = at, height
        for end, far, area, air in self._outward[index:]:
            length = end - start
            if area and length > 0.0:
                if air > height:
                    volume += share_above(near, far, height) * length * area
                elif far > near + LEVEL_TOLERANCE_M:  # `drained_share` of a rising piece
                    if far > barrier:  # which its near end never overtops
                        volume += (far - barrier) / (far - near) * length * area
                elif near >= barrier - LEVEL_TOLERANCE_M:
                    volume += drained_share(near, far, barrier) * length * area
            if far > barrier:
                barrier = far
            start, near = end, far
        return volume, barrier

    def above(self, at: float, height: float, index: int) -> float:
        """All liquid of this half that stands at or above the cut [m3]."""
        volume = above_of(self.side.holdings, height)
        start, near = at, height
        for piece in self.pieces[index:]:
            length = piece.end_m - start
            if piece.area_m2 and length > 0.0:
                volume += share_above(near, piece.end_height_m, height) * length * piece.area_m2
            start, near = piece.end_m, piece.end_height_m
        return volume

    def volume(
        self, at: float, height: float, index: int, flow_m3: float | None = None
    ) -> tuple[float, str, float]:
        """What leaves through this half's cut end [m3], its state, and the part that flows.

        `flow_m3` given stands for the flow instead of solving it. A flow already holds what
        stands on its way: the greater of the two counts. What hangs on branches comes on top.
        """
        place = (at, height)
        stand = self._stands.get(place)
        if stand is None:
            stand = self._stands[place] = self._stand(at, height, index)
        still, dead, state, flowing, barrier, joined_m3 = stand
        if not flowing:
            return still + dead, state, 0.0
        if flow_m3 is None:
            flow_m3 = self._flows.get(place)
        if flow_m3 is None:
            flow_m3 = self._flow(flowing, height, self.length_m - at, barrier, joined_m3)
            self._flows[place] = flow_m3
        return max(flow_m3, still) + dead, state, flow_m3

    def flowing(self, at: float, height: float) -> Sequence[Source]:
        """The tanks that flow at a place that was cut."""
        stand = self._stands.get((at, height))
        return NO_SOURCES if stand is None else stand.flowing

    def flow_at_most(self, at: float, height: float) -> float:
        """What the tanks that flow at a place give, each by itself, added up [m3]."""
        flowing, own = self.flowing(at, height), self.length_m - at
        return sum([self._flow_alone(source, height, own) for source in flowing])

    def _flow_alone(self, source: Source, height: float, own_length: float) -> float:
        """What a tank gives by itself at a place, solved for the cut and for its bound once."""
        key = (source.component, height, own_length)
        flow_m3 = self._alone.get(key)
        if flow_m3 is None:
            flow_m3 = source.volume(source.head(height), self.bore_m, own_length)
            self._alone[key] = flow_m3
        return flow_m3

    def _stand(self, at: float, height: float, index: int) -> Stand:
        own, barrier = self.drained(at, height, index)
        flowing, held, falling = self._sort_sources(height, barrier)
        if not flowing and not falling:
            dead = drained_of(self.side.ponds, height, barrier)
            state = self._unfed_state(held, False)
            return _new(Stand, (own, dead, state, NO_SOURCES, barrier, None))
        self.ever_flows = self.ever_flows or bool(flowing)
        joined_m3 = None
        if flowing and (falling or len(flowing) > 1):
            joined_m3 = self.solved(at)
        if flowing and falling and joined_m3 is None and not self.reading.doubt("tanks"):
            return Stand(0.0, 0.0, "open", (), barrier)  # a lower tank may take all of it
        on_the_way = flowing[0].steps if flowing else NOTHING
        for source in flowing[1:]:
            on_the_way |= source.steps
        still = own if flowing or OWN not in falling else 0.0
        dead = 0.0
        for holding in self.side.ponds:
            if holding.owner in on_the_way:
                still += holding.drained(height, barrier)
            elif holding.owner not in falling:
                dead += holding.drained(height, barrier)
        state = "open" if flowing else self._unfed_state(held, bool(falling))
        return _new(Stand, (still, dead, state, flowing, barrier, joined_m3))

    def _sort_sources(
        self, height: float, barrier: float
    ) -> tuple[list[Source], bool, frozenset[Owner]]:
        """Tanks that flow, whether a valve holds, and what falls back into a tank."""
        flowing: list[Source] = []
        held = False
        falling = NOTHING
        for source in self.side.sources:
            if not source.reaches(barrier):
                continue
            if source.flows(height):
                flowing.append(source)
            elif source.holds(height):
                held = True
            else:
                falling |= source.falls_back
        return flowing, held, falling

    def _unfed_state(self, held: bool, falling: bool) -> str:
        if held:
            return "held_valve"
        if falling:
            return "pull_back"
        return "indeterminate" if self.side.closed_by is None else "held_closed"

    def _flow(
        self,
        flowing: Sequence[Source],
        height: float,
        own_length: float,
        crest: float,
        joined_m3: float | None,
    ) -> float:
        """Fuel that the tanks give in the time of the test [m3].

        Several tanks on one side share what lies between them and the cut, and one may run
        into another: `joined_m3` is their flow where all on the way is known. Where not, each by
        itself, added up, is more than flows; the best of them at the lowest head of all is less.
        No one figure is claimed then.
        """
        if self._air_may_enter(flowing, crest) and not self.reading.doubt("air"):
            return 0.0
        if joined_m3 is not None:
            return joined_m3
        if len(flowing) == 1:
            return self._flow_alone(flowing[0], height, own_length)
        if self.reading.doubt("tanks"):
            return sum([self._flow_alone(source, height, own_length) for source in flowing])
        lowest = min(source.head(height) for source in flowing)
        return max(source.volume(lowest, self.bore_m, own_length) for source in flowing)

    def _air_may_enter(self, flowing: Sequence[Source], crest: float) -> bool:
        """Whether a siphon over a crest has an open end beside it, which may break it."""
        if not self.side.air_ends:
            return False
        return any(max(crest, source.crest_m) > source.surface_m for source in flowing)


def _from_side(solved: Solved, length_m: float) -> Callable[[float], float | None]:
    """Of the half at the `from` end, whose distances run from the `to` end."""
    return lambda at: solved(length_m - at, False)


def _to_side(solved: Solved) -> Callable[[float], float | None]:
    return lambda at: solved(at, True)


class Section:
    """The cut segment between its two halves, cut at any place."""

    def __init__(
        self,
        pieces: list[Piece],
        tank: tuple[Side, bool],
        far: Side,
        bore_m: float | None,
        reading: Reading,
        solved: Solved,
    ) -> None:
        """`tank` is the side and whether it lies at the segment's `from` end."""
        length = pieces[-1].end_m
        backward = [piece.reversed(length) for piece in reversed(pieces)]
        side, self.tank_first = tank
        self.pieces = pieces
        self.length_m = length
        outward = (backward, pieces) if self.tank_first else (pieces, backward)
        self._cuts: dict[tuple[float, float], Cut] = {}
        # By the length alone: a half that knew its section would be left to the collector.
        ways = (_from_side(solved, length), _to_side(solved))
        own, other = ways if self.tank_first else ways[::-1]
        self.tank = Half(side, outward[0], bore_m, reading, own)
        self.far = Half(far, outward[1], bore_m, reading, other)

    def cut(self, at: float, height: float, index: int) -> Cut:
        """What runs out of a cut in piece `index`; where two pieces meet, either is named."""
        place = (at, height)
        cut = self._cuts.get(place)
        if cut is None:
            (tank_at, tank_index), (far_at, far_index) = self._places(at, index)
            tank, state, tank_flow = self.tank.volume(tank_at, height, tank_index)
            far, far_state, far_flow = self.far.volume(far_at, height, far_index)
            if far_state == "open":
                state = "open"
            cut = _new(Cut, (at, height, tank, far, state, tank_flow, far_flow))
            self._cuts[place] = cut
        return cut

    @property
    def stays_still(self) -> bool:
        """Whether no tank flows at any cut, and whatever is cut, nothing falls back into one."""
        lowest = min(self.tank.lowest_m, self.far.lowest_m)
        return self.tank.stays_still(lowest) and self.far.stays_still(lowest)

    @property
    def ever_flows(self) -> bool:
        """Whether a tank flows at any cut looked at so far."""
        return self.tank.ever_flows or self.far.ever_flows

    def volume(self, at: float, height: float, index: int, flows: tuple[float, float]) -> float:
        """What would run out of a cut with these flows for those of the two sides [m3]."""
        (tank_at, tank_index), (far_at, far_index) = self._places(at, index)
        tank = self.tank.volume(tank_at, height, tank_index, flows[0])[0]
        return tank + self.far.volume(far_at, height, far_index, flows[1])[0]

    def _places(self, at: float, index: int) -> tuple[tuple[float, int], tuple[float, int]]:
        """The cut as (distance, piece) for the tank's half and for the far half."""
        forward = (at, index)
        backward = (self.length_m - at, len(self.pieces) - 1 - index)
        return (backward, forward) if self.tank_first else (forward, backward)

    def above(self, at: float, height: float, index: int) -> tuple[float, float]:
        """All liquid at or above the cut on the tank's side and on the far side [m3]."""
        (tank_at, tank_index), (far_at, far_index) = self._places(at, index)
        return (
            self.tank.above(tank_at, height, tank_index),
            self.far.above(far_at, height, far_index),
        )

    def flow_at_most(self, cut: Cut) -> tuple[float, float]:
        """Flow of each side were every tank alone on its way; as solved, where one flows [m3]."""
        tank_at, far_at = self._outward(cut)
        return (
            max(cut.tank_flow_m3, self.tank.flow_at_most(tank_at, cut.height_m)),
            max(cut.far_flow_m3, self.far.flow_at_most(far_at, cut.height_m)),
        )

    def flowing(self, cut: Cut) -> tuple[Sequence[Source], Sequence[Source]]:
        """The tanks that flow toward a cut, on the tank's side and on the far side."""
        tank_at, far_at = self._outward(cut)
        return (
            self.tank.flowing(tank_at, cut.height_m),
            self.far.flowing(far_at, cut.height_m),
        )

    def own_lengths(self, cut: Cut) -> tuple[float, float]:
        """Hose of the cut segment that leads to the cut on either side [m]."""
        tank_at, far_at = self._outward(cut)
        return self.length_m - tank_at, self.length_m - far_at

    def _outward(self, cut: Cut) -> tuple[float, float]:
        """The place of a cut as the tank's half and the far half count it."""
        forward, backward = cut.distance_m, self.length_m - cut.distance_m
        return (backward, forward) if self.tank_first else (forward, backward)

    def height_at(self, at: float, index: int) -> float:
        piece = self.pieces[index]
        if at >= piece.end_m:
            return piece.end_height_m
        share = (at - piece.start_m) / (piece.end_m - piece.start_m)
        return piece.start_height_m + (piece.end_height_m - piece.start_height_m) * share
