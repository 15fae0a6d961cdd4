"""One side of a cut: the tanks that feed it, the liquid that stands there, the air behind it."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import NamedTuple

from fuelsys.document.model import Component, Number, Segment
from fuelsys.graph import Graph, Polyline
from fuelsys.graph.walk import AT_THE_CUT, Arrival, Step, Walk, outward
from fuelsys.hydraulics.elements import TANK_FITTINGS, Passage, passage
from fuelsys.hydraulics.ponding import Holding, Owner
from fuelsys.hydraulics.reading import UNBOUNDED_M3, Reading
from fuelsys.hydraulics.runs import (
    DRY_SERVICES,
    FAR_ABOVE_M,
    Stretch,
    bore_and_length,
    bore_fact,
    highest,
    liquid_area,
    pieces,
    port_height,
    stretches,
)
from fuelsys.hydraulics.sources import (
    Source,
    Valve,
    fuel_liquid,
    fuel_of,
    opening_head,
    pressure_head,
    tank_surface,
    withdrawal_valve,
)
from fuelsys.hydraulics.spill import spill_levels

DRAINS_PCT = 100.0  # of a filter's contents where no share is recorded, and of a bulb's
WITH_CONTENTS = frozenset({"filter", "primer_bulb"})
# Closed elements that can stand between a tank and the cut.
SHUT_OFFS = frozenset({"electric_stop_valve", "selector_valve", "withdrawal"})
_new = tuple.__new__  # a named tuple from all its fields, without matching names


class Side(NamedTuple):
    """What stands on one side of a cut segment, as one reading of the facts has it."""

    sources: tuple[Source, ...]
    holdings: tuple[Holding, ...]
    ponds: tuple[Holding, ...]  # those of the holdings that any cut can drain
    air_m: float  # lowest point from the cut segment's end to an open far end; -inf: closed
    closed_by: str | None  # a closed element between the cut and a tank, or past the end
    passed: tuple[str, ...]  # components on the way, for the wording
    loops: tuple[Segment, ...]
    air_ends: tuple[str, ...]
    closed: tuple[str, ...]
    pressed: bool  # the vapor space of a tank under pressure is behind the liquid


class _Way(NamedTuple):
    """What lies between the cut segment and the near end of one step."""

    opening_m: float = 0.0
    behind_valve: bool = False  # no contents come past a spring valve that holds
    check_at_near: bool = False


NOTHING_ON_THE_WAY = _Way()


@dataclass(slots=True)
class SideBuilder:
    """Walks one side and gathers it; used once."""

    graph: Graph
    own: Segment
    start: str
    reading: Reading
    walk: Walk = field(init=False)
    ways: list[_Way] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    holdings: list[Holding] = field(default_factory=list)
    air_ends: list[str] = field(default_factory=list)
    closed: list[str] = field(default_factory=list)
    levels: dict[str, float] = field(default_factory=dict)
    pressed: bool = False

    def build(self) -> Side:
        self.walk = outward(
            self.graph,
            self.own,
            self.start,
            passes=self._passes,
            highest=lambda segment: highest(self.graph, segment, self.reading),
        )
        self._measure_ways()
        for arrival in self.walk.arrivals:
            self._arrive(arrival)
        air = self._air_heights()
        for index, step in enumerate(self.walk.steps):
            # What a dip of a fill or vent traps hangs together with nothing that could fall.
            dry = step.segment.service in DRY_SERVICES
            self._hold_step(index, -inf if dry else air[index])
        for arrival in self.walk.arrivals:
            component = self.graph.component(arrival.component)
            if component.kind in WITH_CONTENTS:
                self._hold_component(component, arrival, air[arrival.step])
        return Side(
            sources=tuple(self.sources),
            holdings=tuple(self.holdings),
            ponds=tuple([h for h in self.holdings if h.air_m > -inf or h.can_pond]),
            air_m=air[AT_THE_CUT],
            closed_by=self._closed_by(),
            passed=tuple([a.component for a in self.walk.arrivals]),
            loops=self.walk.loops,
            air_ends=tuple(self.air_ends),
            closed=tuple(self.closed),
            pressed=self.pressed,
        )

    def _closed_by(self) -> str | None:
        """The valve that shuts a tank off: a check valve on an engine's branch is none."""
        for component_id in self.closed:
            if self.graph.component(component_id).kind in SHUT_OFFS:
                return component_id
        return None

    # The way through components.

    def _passes(self, component_id: str, entered: Segment, leaving: Segment) -> bool:
        through = passage(self.graph.component(component_id), entered, leaving, self.reading)
        if through is Passage.CLOSED:
            if component_id not in self.closed:
                self.closed.append(component_id)
            return False
        return True

    def _entered(self, step: int) -> Segment:
        return self.own if step == AT_THE_CUT else self.walk.steps[step].segment

    def _measure_ways(self) -> None:
        for step in self.walk.steps:
            before = self._way(step.before)
            component = self.graph.component(step.near)
            entered = self._entered(step.before)
            through = passage(component, entered, step.segment, self.reading)
            if through is Passage.SPRING_VALVE:
                opening = opening_head(component, self._density(None), self.reading)
                before = _Way(before.opening_m + opening, True, True)
            elif through is Passage.ONE_WAY or before.check_at_near:
                checked = through is Passage.ONE_WAY
                before = _Way(before.opening_m, before.behind_valve, checked)
            self.ways.append(before)

    def _way(self, step: int) -> _Way:
        return NOTHING_ON_THE_WAY if step == AT_THE_CUT else self.ways[step]

    def _density(self, component: Component | None) -> float:
        tank = None if component is None else self.graph.tank_of(component.id)
        fuel = fuel_of(self.graph, tank, self.own.engine, self.reading)
        return fuel_liquid(self.graph, fuel).density_kg_m3

    # Ends: tanks and air.

    def _arrive(self, arrival: Arrival) -> None:
        component = self.graph.component(arrival.component)
        if component.kind in TANK_FITTINGS:
            self._arrive_at_tank(component, arrival)
        elif not arrival.onward:
            entered = self._entered(arrival.step)
            through = passage(component, entered, None, self.reading)
            if through in (Passage.CLOSED, Passage.SPRING_VALVE):
                self.closed.append(component.id)
            else:
                self.air_ends.append(component.id)

    def _arrive_at_tank(self, component: Component, arrival: Arrival) -> None:
        tank = self.graph.tank_of(component.id)
        surface = tank_surface(tank, component.id, self.reading)
        if component.kind != "withdrawal" and not self._submerged(component, surface):
            self.pressed |= tank is not None and bool(tank.relief_pa)
            if not arrival.onward:
                self.air_ends.append(component.id)
            return
        density = self._density(component)
        valve, opening = withdrawal_valve(component, density, self.reading)
        if valve is Valve.STOP:
            self.closed.append(component.id)
            return
        self.sources.append(
            self._source(component, arrival, surface + pressure_head(tank, density), valve, opening)
        )

    def _submerged(self, component: Component, surface_m: float) -> bool:
        height = port_height(self.graph, component.id)
        if height is None:
            return self.reading.most(f"components[{component.id}].height_in")
        return height < surface_m

    def _source(
        self, component: Component, arrival: Arrival, surface_m: float, valve: Valve, opening: float
    ) -> Source:
        steps: list[Owner] = []
        falls_back: list[Owner] = []
        falling = True
        index = arrival.step
        while index != AT_THE_CUT:
            step = self.walk.steps[index]
            steps += [index, step.near]
            if falling:
                falls_back.append(index)
                falling = not self.ways[index].check_at_near
            if falling:
                falls_back.append(step.near)
            index = step.before
        steps.append(AT_THE_CUT)
        if falling:
            falls_back.append(AT_THE_CUT)
        way = self._way(arrival.step)
        tank = self.graph.tank_of(component.id)
        fuel = fuel_of(self.graph, tank, self.own.engine, self.reading)
        taken = [k for k in steps if isinstance(k, int) and k != AT_THE_CUT]
        runs, blocked, unresisted = self._resistance(taken)
        dip = self._dip_tube(component)
        first = dip[0] if dip else (runs[0][0] if runs else None)
        return Source(
            component=component.id,
            tank=None if tank is None else tank.id,
            surface_m=surface_m,
            opening_m=opening + way.opening_m,
            valve=Valve.SPRING if way.behind_valve else valve,
            checked=not falling,
            steps=frozenset([*steps, component.id]),
            falls_back=frozenset([*falls_back, component.id]),
            runs=tuple(runs + ([dip] if dip else [])),
            entrance_m=first,
            viscosity_m2_s=fuel_liquid(self.graph, fuel).viscosity_m2_s,
            blocked=blocked,
            unresisted=unresisted,
            primed=self._entered(arrival.step).service not in DRY_SERVICES,
            crest_m=arrival.barrier_m,
            hoses=tuple(self.walk.steps[k].segment.id for k in taken),
        )

    @staticmethod
    def _dip_tube(component: Component) -> tuple[float, float] | None:
        diameter, length = component.dip_tube_inside_diameter_m, component.dip_tube_length_m
        return None if diameter is None or length is None else (float(diameter), float(length))

    def _resistance(self, steps: list[int]) -> tuple[list[tuple[float, float]], bool, bool]:
        """(bore, length) from the tank on, and whether an unknown one blocks or frees the flow."""
        runs: list[tuple[float, float]] = []
        blocked = unresisted = False
        for index in steps:
            segment = self.walk.steps[index].segment
            diameter, length = bore_and_length(self.graph, segment)
            if diameter is not None and length is not None:
                runs.append((diameter, length))
                continue
            fact = bore_fact(segment) if diameter is None else f"segments[{segment.id}].route"
            if self.reading.most(fact):
                unresisted = True
            else:
                blocked = True
        return runs, blocked, unresisted

    # Air that lets a plug fall, and the liquid held.

    def _air_heights(self) -> list[float]:
        """For each step, the lowest point from its far end to open air; last, from the cut's end.

        Indexed by step, so that AT_THE_CUT (-1) finds the last.
        """
        air = [-inf] * (len(self.walk.steps) + 1)
        if self.own.service in DRY_SERVICES:
            return air
        for arrival in self.walk.arrivals:
            if arrival.component in self.air_ends:
                air[arrival.step] = inf
        for index in reversed(range(len(self.walk.steps))):
            step = self.walk.steps[index]
            if step.segment.service in DRY_SERVICES or self.ways[index].behind_valve:
                continue
            through = min(air[index], self._lowest(step.segment))
            air[step.before] = max(air[step.before], through)
        return air

    def _lowest(self, segment: Segment) -> float:
        run = self.graph.polyline(segment.id)
        if run is None:
            return FAR_ABOVE_M if self.reading.most(f"segments[{segment.id}].route") else -inf
        return run.lowest_m

    def _hold_step(self, index: int, air_m: float) -> None:
        step = self.walk.steps[index]
        if self.ways[index].behind_valve:
            return
        run = self.graph.polyline(step.segment.id)
        if run is None:
            self._hold_unknown_run(index)
            return
        barrier_m = step.barrier_m
        for near, far, volume, floor, lowest in self._stretches(step, run):
            above = floor if floor > barrier_m else barrier_m
            air = lowest if lowest < air_m else air_m
            self.holdings.append(_new(Holding, (near, far, volume, above, index, air)))

    def _stretches(self, step: Step, run: Polyline) -> tuple[Stretch, ...]:
        """What a step holds, whichever cut it is walked from, unless a fact is lacking."""
        segment = step.segment
        forward = step.near == segment.from_id

        def held() -> tuple[Stretch, ...]:
            rims = self._rims(segment)
            found = pieces(run, liquid_area(segment, self.reading), rims_m=rims)
            if not forward:
                found = [piece.reversed(run.length_m) for piece in reversed(found)]
            return stretches(found)

        if segment.service in DRY_SERVICES or segment.inside_diameter_m is None:
            return held()
        return self.graph.once(("stretches", segment.id, forward), held)

    def _hold_unknown_run(self, index: int) -> None:
        segment = self.walk.steps[index].segment
        if not self.reading.most(f"segments[{segment.id}].route"):
            return
        length = None if segment.length_m is None else float(segment.length_m)
        area = liquid_area(segment, self.reading)
        volume = UNBOUNDED_M3 if length is None else length * area
        self.holdings.append(Holding(FAR_ABOVE_M, FAR_ABOVE_M, volume, -inf, index))

    def _rims(self, segment: Segment) -> tuple[float, float] | None:
        if segment.service not in DRY_SERVICES:
            return None
        if segment.from_id not in self.levels:
            self.levels.update(spill_levels(self.graph, segment, self.reading))
        return self.levels[segment.from_id], self.levels[segment.to_id]

    def _hold_component(self, component: Component, arrival: Arrival, air_m: float) -> None:
        entered = self._entered(arrival.step)
        if self._way(arrival.step).behind_valve:
            return
        if passage(component, entered, None, self.reading) is Passage.CLOSED:
            return
        volume = self._lumped(component)
        height = port_height(self.graph, component.id)
        if height is None:
            most = self.reading.most(f"components[{component.id}].height_in")
            height = FAR_ABOVE_M if most else -FAR_ABOVE_M
        if volume > 0.0:
            air_m = min(air_m, height)
            self.holdings.append(
                Holding(height, height, volume, arrival.barrier_m, component.id, air_m)
            )

    def _lumped(self, component: Component) -> float:
        """Contents that can run out: all of a bulb's, the draining share of a filter's."""
        if component.contents_m3 is None:
            fact = f"components[{component.id}].contents_ml"
            return UNBOUNDED_M3 if self.reading.most(fact) else 0.0
        contents = component.contents_m3
        return self.graph.once(("contents", component.id), lambda: _draining(component, contents))


def _draining(component: Component, contents: Number) -> float:
    share = DRAINS_PCT
    if component.kind == "filter" and component.drains_pct is not None:
        share = float(component.drains_pct)
    return float(contents) * (share / 100.0)
