"""Vacuum at each engine's inlet at rated power, and what takes it: lift, hose, filter, valve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fuelsys.document.model import Engine
from fuelsys.graph import Graph
from fuelsys.hydraulics.consumption import burned_flow
from fuelsys.hydraulics.friction import (
    G_M_S2,
    in_transition,
)
from fuelsys.hydraulics.links import Link, fittings_loss, link_loss, runs_loss
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.network import Flows, NoFlowError, solve
from fuelsys.hydraulics.runs import end_height, port_height
from fuelsys.hydraulics.sources import fuel_liquid
from fuelsys.hydraulics.suction_bores import Drawn, with_choices
from fuelsys.hydraulics.suction_parts import (
    LEAST_SLOPE_S_M2,
    Feed,
    Network,
    dip_tube,
    feeds_of,
    has_return,
    network_of,
    uncounted,
)
from fuelsys.hydraulics.suction_result import SHARES, Suction


def rated_flow(graph: Graph, engine: Engine) -> tuple[float | None, bool, tuple[str, ...]]:
    """Flow an engine draws at rated power [m3/s], whether it is the maker's, and facts lacking.

    The maker's figure first. A diesel, and any engine with a return line, draws more than it
    burns: without that figure its flow is not known.
    """
    path = f"engines[{engine.id}]"
    if engine.supply_flow_m3_s:
        return float(engine.supply_flow_m3_s), True, ()
    if engine.fuel is None:
        return None, False, (f"{path}.fuel",)
    if engine.fuel == "diesel" or has_return(graph, engine):
        return None, False, (f"{path}.supply_flow_gph",)
    if not engine.rated_power_w or engine.rated_power_w <= 0:
        return None, False, (f"{path}.rated_power_hp",)
    return burned_flow(float(engine.rated_power_w), engine.fuel), False, ()


def suction(graph: Graph) -> dict[str, Suction]:
    """The suction of every engine, all of them at rated power at once.

    Parameters
    ----------
    graph : Graph
        The system; each tank at its lowest usable level.

    Returns
    -------
    dict
        By engine, in the order of the document.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    One liquid without vapor, open vents. As in `fuelsys.hydraulics.links`, the velocity head
    at the inlet is left out (0.015 inHg at 25 gal/h in 3/8 in hose). A filter's drop is taken
    in proportion to the flow, common practice. A spring valve takes its opening pressure.

    Source
    ------
    dp = rho g (sum (f L/D + K) v^2/2g + z_inlet - z_fuel) + valves + filters, with the friction
    of the EPANET 2.2 User Manual.

    Examples
    --------
    300 hp of gasoline on 2 m of 3/8 in hose, the inlet 0.3 m above the fuel:

    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Component, Document, Hose, Segment, Tank
    >>> from fuelsys.graph import build
    >>> graph = build(Document(
    ...     engines=(Engine("E", fuel="gasoline", rated_power_w=F(223710)),),
    ...     tanks=(Tank("T", fuel="gasoline", lowest_usable_m=F(0)),),
    ...     components=(Component("P", "withdrawal", tank="T", anti_siphon="none"),
    ...                 Component("IN", "engine_inlet", height_m=F("0.3"))),
    ...     segments=(Segment("S", "feed", "P", "IN", length_m=F(2),
    ...                       hose=Hose(inside_diameter_m=F("0.009525"))),)))
    >>> found = suction(graph)["E"]
    >>> round(found.vacuum_pa / 3386.39, 2), round(found.shares_pa["lift"] / 3386.39, 2)
    (0.76, 0.64)
    """
    feeds = feeds_of(graph)
    found: dict[str, Suction] = {}
    for group in _groups(feeds):
        for answer in _of_group(graph, group):
            found[answer.engine] = answer
    return {
        engine.id: found.get(engine.id) or _without_line(graph, engine)
        for engine in graph.document.engines
    }


def _without_line(graph: Graph, engine: Engine) -> Suction:
    flow, maker, missing = rated_flow(graph, engine)
    lacking = (*missing, "segments")
    return Suction(engine.id, flow_m3_s=flow, maker_flow=maker, missing=lacking)


def _groups(feeds: Sequence[Feed]) -> list[list[Feed]]:
    """Feeds that share hose, directly or through others, or an engine."""
    groups: list[tuple[set[str], list[Feed]]] = []
    for feed in feeds:
        keys = {*feed.segments, f"engine {feed.engine}"}
        joined = [group for group in groups if group[0] & keys]
        groups = [group for group in groups if not group[0] & keys]
        keys = keys.union(*(group[0] for group in joined))
        members = [member for group in joined for member in group[1]]
        groups.append((keys, [*members, feed]))
    return [members for _, members in groups]


def _of_group(graph: Graph, feeds: list[Feed]) -> list[Suction]:
    ids = tuple(dict.fromkeys(feed.engine for feed in feeds if feed.engine is not None))
    unnamed = tuple(
        dict.fromkeys(f"segments[{f.segments[-1]}].engine" for f in feeds if f.engine is None)
    )
    flows = {name: rated_flow(graph, graph.engine(name)) for name in ids}
    lacking = (*unnamed, *(path for name in ids for path in flows[name][2]))
    fuel = next((f for name in ids if (f := graph.engine(name).fuel) is not None), None)
    start = [
        Suction(
            name,
            flow_m3_s=flows[name][0],
            maker_flow=flows[name][1],
            shared_with=tuple(other for other in ids if other != name),
        )
        for name in ids
    ]
    if fuel is None or any(graph.engine(name).fuel not in (None, fuel) for name in ids):
        paths = tuple(f"engines[{name}].fuel" for name in ids)
        return [replace(one, missing=paths) for one in start]
    work = _Group(graph, feeds, fuel_liquid(graph, fuel), lacking)
    return [work.answer(one) for one in start]


class _Group:
    """Engines that draw through common hose, and the network they draw through."""

    def __init__(
        self, graph: Graph, feeds: list[Feed], liquid: Liquid, lacking: tuple[str, ...]
    ) -> None:
        self.graph = graph
        self.feeds = feeds
        self.liquid = liquid
        self.weight = liquid.density_kg_m3 * G_M_S2
        self.network: Network = network_of(graph, tuple(feeds), liquid)
        self.lacking_flows = lacking
        places = {n for link in self.network.links for n in (link.start, link.end)}
        one_source = len(self.network.tanks) == 1
        self.is_tree = one_source and len(self.network.links) == len(places) - 1

    def answer(self, start: Suction) -> Suction:
        feeds = [feed for feed in self.feeds if feed.engine == start.engine]
        inlets = {feed.inlet for feed in feeds}
        if len(inlets) > 1:
            return replace(start, undivided=True, missing=self.lacking_flows)
        found = replace(start, inlet=feeds[0].inlet)
        lacking = self._lacking(feeds)
        known_flows = self._flows_of_tree() if self.is_tree else self._solved(lacking)
        if known_flows is None:
            return replace(found, missing=lacking, unsolved=not lacking)
        feed = max(feeds, key=lambda one: self._carried(one, known_flows))
        return self._measured(found, feed, known_flows, lacking)

    def _lacking(self, feeds: list[Feed]) -> tuple[str, ...]:
        """Facts that decide an engine's vacuum: its own way's, or all of a loop's."""
        deciding = feeds if self.is_tree else self.feeds
        network, found = self.network, dict.fromkeys(self.lacking_flows)
        for feed in deciding:
            for part in (*feed.components[:-1], *feed.segments):
                if part in network.index:
                    found.update(dict.fromkeys(network.lacking[network.index[part]]))
            tank = self.graph.tank_of(feed.source)
            if tank is not None and tank.lowest_usable_m is None:
                found[f"tanks[{tank.id}].lowest_usable_in"] = None
        if port_height(self.graph, feeds[0].inlet) is None:
            found[f"components[{feeds[0].inlet}].height_in"] = None
        return tuple(found)

    def _drawn(self) -> dict[str, float]:
        drawn: dict[str, float] = {}
        for feed in self.feeds:
            if feed.engine is not None:
                flow, _, _ = rated_flow(self.graph, self.graph.engine(feed.engine))
                drawn[feed.inlet] = flow or 0.0
        return drawn

    def _heads(self) -> dict[str, float]:
        heads = {}
        for place, tank_id in self.network.tanks.items():
            level = self.graph.tank(tank_id).lowest_usable_m if tank_id else None
            heads[place] = 0.0 if level is None else float(level)
        return heads

    def _flows_of_tree(self) -> list[float] | None:
        return None if self.lacking_flows else self._solve(self.network.links)

    def _solved(self, lacking: tuple[str, ...]) -> list[float] | None:
        return None if lacking else self._solve(self.network.links)

    def _solve(self, links: Sequence[Link]) -> list[float] | None:
        try:
            found: Flows = solve(
                links,
                heads_m=self._heads(),
                drawn_m3_s=self._drawn(),
                viscosity_m2_s=self.liquid.viscosity_m2_s,
            )
        except NoFlowError:
            return None
        return list(found.flows_m3_s)

    def _carried(self, feed: Feed, flows: list[float]) -> float:
        return min(flows[index] for index in self.network.way(feed))

    def _measured(
        self, found: Suction, feed: Feed, flows: list[float], lacking: tuple[str, ...]
    ) -> Suction:
        tank = self.graph.tank_of(feed.source)
        shares = self._shares(feed, flows)
        known = [share for share in shares.values() if share is not None]
        complete = not lacking and len(known) == len(shares)
        lowest = self._lowest(feed, flows) if complete else None
        found = replace(
            found,
            tank=None if tank is None else tank.id,
            vacuum_pa=sum(known) if complete else None,
            least_pa=sum(known) if shares["lift"] is not None else None,
            shares_pa=shares,
            lowest_gauge_pa=lowest[0] if lowest else None,
            lowest_at=lowest[1] if lowest else None,
            segments=feed.segments,
            in_transition=self._in_transition(feed, flows),
            uncounted=tuple(uncounted(self.graph, feed)),
            without_tube=None if dip_tube(self.graph.component(feed.source)) else feed.source,
            missing=lacking,
        )
        group = Drawn(self.graph, self.network, self.liquid, flows, self.is_tree, self._solve)
        return with_choices(found, feed, group)

    def _shares(self, feed: Feed, flows: list[float]) -> dict[str, float | None]:
        """What each kind of part takes [Pa]; None where a fact about one of them is lacking."""
        shares: dict[str, float | None] = dict.fromkeys(SHARES, 0.0)
        shares["lift"] = self._lift_pa(feed)
        for index in self.network.way(feed):
            kind, link, flow = self.network.kinds[index], self.network.links[index], flows[index]
            fittings = fittings_loss(flow, link.runs)
            pipe = runs_loss(abs(flow), link.runs, self._nu) - fittings
            medium = link.slope_s_m2 * abs(flow) if link.slope_s_m2 > LEAST_SLOPE_S_M2 else 0.0
            rest = link.opening_m + medium
            for name, head in (("pipe", pipe), ("fittings", fittings), (kind, rest)):
                _add(shares, name, head * self.weight)
            if self.network.lacking[index]:
                shares[kind] = None
        return shares

    @property
    def _nu(self) -> float:
        return self.liquid.viscosity_m2_s

    def _lift_pa(self, feed: Feed) -> float | None:
        tank = self.graph.tank_of(feed.source)
        height = port_height(self.graph, feed.inlet)
        if tank is None or tank.lowest_usable_m is None or height is None:
            return None
        return (height - float(tank.lowest_usable_m)) * self.weight

    def _lowest(self, feed: Feed, flows: list[float]) -> tuple[float, str]:
        """Lowest gauge pressure along a feed [Pa] and the part where it is."""
        tank = self.graph.tank_of(feed.source)
        assert tank is not None
        assert tank.lowest_usable_m is not None
        head = float(tank.lowest_usable_m)
        inlet = port_height(self.graph, feed.inlet)
        assert inlet is not None
        lowest: list[tuple[float, str]] = []
        for index in self.network.way(feed):
            part, link = self.network.parts[index], self.network.links[index]
            loss = link_loss(link, flows[index], self._nu)
            if self.network.kinds[index] == "pipe":
                lowest += [(p, part) for p in self._along(part, head, loss)]
            head -= loss
        lowest.append((head - inlet, feed.inlet))
        gauge_m, part = min(lowest)
        return gauge_m * self.weight, part

    def _along(self, segment_id: str, head_m: float, loss_m: float) -> list[float]:
        """Pressure as a head at the points of a run; of its ends, where only they are known."""
        run = self.graph.polyline(segment_id)
        if run is not None:
            places = zip(run.distances_m, run.heights_m, strict=True)
            return [head_m - loss_m * s / run.length_m - z for s, z in places]
        segment = self.graph.segment(segment_id)
        start = _height(self.graph, segment_id, segment.from_id)
        end = _height(self.graph, segment_id, segment.to_id)
        found = [] if start is None else [head_m - start]
        return found if end is None else [*found, head_m - loss_m - end]

    def _in_transition(self, feed: Feed, flows: list[float]) -> tuple[str, ...]:
        found = []
        for segment_id in feed.segments:
            index = self.network.index[segment_id]
            for run in self.network.links[index].runs:
                if in_transition(abs(flows[index]), run.bore_m, self._nu):
                    found.append(segment_id)
        return tuple(found)


def _add(shares: dict[str, float | None], name: str, pressure_pa: float) -> None:
    before = shares[name]
    if before is not None:
        shares[name] = before + pressure_pa


def _height(graph: Graph, segment_id: str, component_id: str) -> float | None:
    height = end_height(graph, graph.segment(segment_id), component_id)
    return port_height(graph, component_id) if height is None else height
