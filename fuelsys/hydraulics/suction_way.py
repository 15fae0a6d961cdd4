"""One engine's way from its tank: what each part takes, and where the pressure is lowest."""

from __future__ import annotations

from itertools import accumulate
from operator import sub

from fuelsys.graph import Graph
from fuelsys.hydraulics.friction import G_M_S2, in_transition
from fuelsys.hydraulics.links import Link, fittings_loss, runs_loss
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.runs import port_height
from fuelsys.hydraulics.series import losses_along
from fuelsys.hydraulics.suction_parts import LEAST_SLOPE_S_M2, Feed, Network
from fuelsys.hydraulics.suction_result import SHARES


class Way:
    """The parts of a feed with the flow through each and the head that each takes.

    A loss is below zero where the fuel runs back, as it may in a loop.
    """

    def __init__(
        self, graph: Graph, network: Network, feed: Feed, flows_m3_s: list[float], liquid: Liquid
    ) -> None:
        self.graph = graph
        self.network = network
        self.feed = feed
        self.nu = liquid.viscosity_m2_s
        self.weight = liquid.density_kg_m3 * G_M_S2
        self.indices = network.way(feed)
        self.links = [network.links[index] for index in self.indices]
        self.flows_m3_s = [flows_m3_s[index] for index in self.indices]
        self.losses_m = losses_along(self.links, self.flows_m3_s, self.nu)
        self.tank = graph.tank_of(feed.source)
        level = None if self.tank is None else self.tank.lowest_usable_m
        self.level_m = None if level is None else float(level)
        self.inlet_m = port_height(graph, feed.inlet)

    @property
    def lift_m(self) -> float | None:
        """From the lowest usable level to the inlet, where both are known."""
        if self.level_m is None or self.inlet_m is None:
            return None
        return self.inlet_m - self.level_m

    def shares_pa(self) -> dict[str, float | None]:
        """What each kind of part takes [Pa]; None where a fact about one of them is lacking."""
        weight = self.weight
        shares: dict[str, float | None] = dict.fromkeys(SHARES, 0.0)
        shares["lift"] = None if self.lift_m is None else self.lift_m * weight
        for position, index in enumerate(self.indices):
            kind = self.network.kinds[index]
            if kind == "pipe":  # a hose has no fittings, medium or valve of its own
                _add(shares, "pipe", abs(self.losses_m[position]) * weight)
            else:
                self._add_part(shares, kind, self.links[position], self.flows_m3_s[position])
            if self.network.lacking[index]:
                shares[kind] = None
        return shares

    def _add_part(
        self, shares: dict[str, float | None], kind: str, link: Link, flow_m3_s: float
    ) -> None:
        """A valve, filter or bulb, and the tube of a pick-up."""
        size = abs(flow_m3_s)
        if link.runs:
            fittings = fittings_loss(size, link.runs)
            _add(shares, "pipe", (runs_loss(size, link.runs, self.nu) - fittings) * self.weight)
            _add(shares, "fittings", fittings * self.weight)
        medium = link.slope_s_m2 * size if link.slope_s_m2 > LEAST_SLOPE_S_M2 else 0.0
        _add(shares, kind, (link.opening_m + medium) * self.weight)

    def lowest(self) -> tuple[float, str]:
        """Lowest gauge pressure along the way [Pa] and the part where it is.

        ValueError where the level of the tank or the height of the inlet is not known.
        """
        if self.level_m is None or self.inlet_m is None:
            raise ValueError("the lowest pressure needs the tank's level and the inlet's height")
        heads = list(accumulate(self.losses_m, sub, initial=self.level_m))
        lowest: list[tuple[float, str]] = []
        for position, index in enumerate(self.indices):
            if self.network.kinds[index] == "pipe":
                part = self.network.parts[index]
                along = self._along(part, heads[position], self.losses_m[position])
                lowest += [(pressure, part) for pressure in along]
        lowest.append((heads[-1] - self.inlet_m, self.feed.inlet))
        gauge_m, part = min(lowest)
        return gauge_m * self.weight, part

    def _along(self, segment_id: str, head_m: float, loss_m: float) -> list[float]:
        """Pressure as a head at the points of a run; of its ends, where only they are known."""
        run = self.graph.polyline(segment_id)
        if run is not None:
            places = zip(run.distances_m, run.heights_m, strict=True)
            return [head_m - loss_m * s / run.length_m - z for s, z in places]
        segment = self.graph.segment(segment_id)
        start = port_height(self.graph, segment.from_id)
        end = port_height(self.graph, segment.to_id)
        found = [] if start is None else [head_m - start]
        return found if end is None else [*found, head_m - loss_m - end]

    def in_transition(self) -> tuple[str, ...]:
        """Hoses whose flow lies between laminar and turbulent."""
        known: dict[tuple[float, float], bool] = {}
        found = []
        for position, index in enumerate(self.indices):
            if self.network.kinds[index] != "pipe":
                continue
            size = abs(self.flows_m3_s[position])
            for run in self.links[position].runs:
                at = (size, run.bore_m)
                if at not in known:
                    known[at] = in_transition(size, run.bore_m, self.nu)
                if known[at]:
                    found.append(self.network.parts[index])
        return tuple(found)


def _add(shares: dict[str, float | None], name: str, pressure_pa: float) -> None:
    before = shares[name]
    if before is not None:
        shares[name] = before + pressure_pa
