"""Vacuum at each engine's inlet at rated power, and what takes it: lift, hose, filter, valve."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from fuelsys.document.model import Engine
from fuelsys.graph import Graph
from fuelsys.hydraulics.consumption import burned_flow
from fuelsys.hydraulics.links import Link
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.network import NoFlowError, flows_only
from fuelsys.hydraulics.runs import port_height
from fuelsys.hydraulics.sources import fuel_liquid
from fuelsys.hydraulics.suction_bores import bore_choices, smallest_bore
from fuelsys.hydraulics.suction_parts import (
    Feed,
    Network,
    dip_tube,
    feeds_of,
    has_return,
    network_of,
    uncounted,
)
from fuelsys.hydraulics.suction_result import Suction
from fuelsys.hydraulics.suction_way import Way

Rated = tuple[float | None, bool, tuple[str, ...]]


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
    rated = {name: rated_flow(graph, graph.engine(name)) for name in ids}
    fuel = next((f for name in ids if (f := graph.engine(name).fuel) is not None), None)
    if fuel is None or any(graph.engine(name).fuel not in (None, fuel) for name in ids):
        paths = tuple(f"engines[{name}].fuel" for name in ids)
        return [_unmeasured(name, rated, missing=paths) for name in ids]
    work = _Group(graph, feeds, fuel_liquid(graph, fuel), rated)
    return [work.answer(name) for name in ids]


def _unmeasured(
    engine: str,
    rated: dict[str, Rated],
    *,
    missing: tuple[str, ...],
    inlet: str | None = None,
    undivided: bool = False,
    unsolved: bool = False,
) -> Suction:
    return Suction(
        engine,
        inlet=inlet,
        flow_m3_s=rated[engine][0],
        maker_flow=rated[engine][1],
        shared_with=_others(engine, rated),
        undivided=undivided,
        unsolved=unsolved,
        missing=missing,
    )


def _others(engine: str, rated: dict[str, Rated]) -> tuple[str, ...]:
    return tuple(other for other in rated if other != engine)


class _Group:
    """Engines that draw through common hose, and the network they draw through."""

    def __init__(
        self, graph: Graph, feeds: list[Feed], liquid: Liquid, rated: dict[str, Rated]
    ) -> None:
        self.graph = graph
        self.feeds = feeds
        self.liquid = liquid
        self.rated = rated
        self.network: Network = network_of(graph, tuple(feeds), liquid)
        unnamed = [f"segments[{f.segments[-1]}].engine" for f in feeds if f.engine is None]
        lacking = [path for _, _, paths in rated.values() for path in paths]
        self.lacking_flows = (*dict.fromkeys(unnamed), *lacking)
        places = {n for link in self.network.links for n in (link.start, link.end)}
        one_source = len(self.network.tanks) == 1
        self.is_tree = one_source and len(self.network.links) == len(places) - 1

    def answer(self, engine: str) -> Suction:
        feeds = [feed for feed in self.feeds if feed.engine == engine]
        if len({feed.inlet for feed in feeds}) > 1:
            return _unmeasured(engine, self.rated, undivided=True, missing=self.lacking_flows)
        lacking = self._lacking(feeds)
        unknown = self.lacking_flows if self.is_tree else lacking
        flows = None if unknown else self._flows
        if flows is None:
            inlet, unsolved = feeds[0].inlet, not lacking
            return _unmeasured(engine, self.rated, inlet=inlet, missing=lacking, unsolved=unsolved)
        feed = feeds[0]
        if len(feeds) > 1:
            feed = max(feeds, key=lambda one: self._carried(one, flows))
        return self._measured(Way(self.graph, self.network, feed, flows, self.liquid), lacking)

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

    @cached_property
    def _flows(self) -> list[float] | None:
        """The flow through each link with the hoses as they are; None where there is none.

        Every pick-up begins a feed of its own, so the parts of a single feed stand in line.
        """
        if len(self.feeds) == 1:
            return list(self._drawn.values()) * len(self.network.links)
        return self._solve(self.network.links)

    @cached_property
    def _drawn(self) -> dict[str, float]:
        flows = (
            (feed.inlet, self.rated[feed.engine][0])
            for feed in self.feeds
            if feed.engine is not None
        )
        return {inlet: flow or 0.0 for inlet, flow in flows}

    def _heads(self) -> dict[str, float]:
        heads = {}
        for place, tank_id in self.network.tanks.items():
            level = self.graph.tank(tank_id).lowest_usable_m if tank_id else None
            heads[place] = 0.0 if level is None else float(level)
        return heads

    def _solve(self, links: Sequence[Link]) -> list[float] | None:
        try:
            return flows_only(
                links,
                heads_m=self._heads(),
                drawn_m3_s=self._drawn,
                viscosity_m2_s=self.liquid.viscosity_m2_s,
            )
        except NoFlowError:
            return None

    def _carried(self, feed: Feed, flows: list[float]) -> float:
        return min(flows[index] for index in self.network.way(feed))

    def _measured(self, way: Way, lacking: tuple[str, ...]) -> Suction:
        feed, engine = way.feed, way.feed.engine
        assert engine is not None
        shares = way.shares_pa()
        known = [share for share in shares.values() if share is not None]
        complete = not lacking and len(known) == len(shares)
        lowest = way.lowest() if complete else (None, None)
        choices = bore_choices(way, lacking, solve=None if self.is_tree else self._solve)
        return Suction(
            engine,
            inlet=feed.inlet,
            tank=None if way.tank is None else way.tank.id,
            flow_m3_s=self.rated[engine][0],
            maker_flow=self.rated[engine][1],
            vacuum_pa=sum(known) if complete else None,
            least_pa=sum(known) if shares["lift"] is not None else None,
            shares_pa=shares,
            lowest_gauge_pa=lowest[0],
            lowest_at=lowest[1],
            segments=feed.segments,
            shared_with=_others(engine, self.rated),
            in_transition=way.in_transition(),
            uncounted=tuple(uncounted(self.graph, feed)),
            without_tube=None if dip_tube(self.graph.component(feed.source)) else feed.source,
            choices=choices,
            smallest_bore_m=smallest_bore(choices, self.graph.engine(engine)),
            missing=lacking,
        )
