"""The suction side as a network: feed lines from the tanks' pick-ups to the engines' inlets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from fuelsys.document.model import Component, Engine, Segment
from fuelsys.graph import Graph, Line
from fuelsys.hydraulics.flow import ENTRANCE_K
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.links import Link, Run
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.runs import bore, bore_fact, hose_length

# Where suction ends: at the first pump, or where the line enters the engine.
INLETS = frozenset(
    {"fuel_pump", "transfer_pump", "engine_inlet", "carburetor", "fuel_rail", "vapor_separator"}
)
UNCOUNTED = frozenset(
    {"shutoff_valve", "electric_stop_valve", "selector_valve", "tee", "connector"}
)
MEDIA = frozenset({"filter", "primer_bulb"})
# Of a valve or filter without a figure of its own: it keeps a loop solvable and is nothing, 30 nm
# of fuel at 30 mL/s.
LEAST_SLOPE_S_M2 = 1e-3
_new = tuple.__new__  # a named tuple from all its fields, without matching names


@dataclass(frozen=True, slots=True)
class Feed:
    """One way from a pick-up to an engine's inlet."""

    source: str
    inlet: str
    engine: str | None
    segments: tuple[str, ...]
    components: tuple[str, ...]


def feeds_of(graph: Graph) -> tuple[Feed, ...]:
    """Every way on which an engine draws, with all shut-offs open and selectors as recorded."""
    found: dict[tuple[str, ...], Feed] = {}
    for line in graph.lines:
        feed = _as_far_as_the_inlet(graph, line)
        if feed is not None:
            found.setdefault(feed.segments, feed)
    return tuple(found.values())


def _as_far_as_the_inlet(graph: Graph, line: Line) -> Feed | None:
    for index, component_id in enumerate(line.components[1:], start=1):
        component = graph.component(component_id)
        if component.kind in INLETS:
            segments = line.segments[:index]
            engine = _engine(graph, line, index)
            components = line.components[: index + 1]
            return Feed(line.source, component_id, engine, segments, components)
        if index < len(line.segments) and not _selected(
            component, line.segments[index - 1 : index + 1]
        ):
            return None
    return None


def _selected(component: Component, ports: tuple[str, ...]) -> bool:
    return component.open_to is None or all(port in component.open_to for port in ports)


def _engine(graph: Graph, line: Line, index: int) -> str | None:
    """The engine that the segment at the inlet names, else one further on or back, else the one."""
    nearest = [*line.segments[index - 1 :], *reversed(line.segments[: index - 1])]
    for segment_id in nearest:
        engine_id = graph.segment(segment_id).engine
        if engine_id is not None:
            return engine_id
    engines = graph.document.engines
    return engines[0].id if len(engines) == 1 else None


@dataclass(slots=True)
class Network:
    """Links for one fuel, what each stands for, and the facts that each lacks."""

    links: list[Link] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)  # segment or component
    lacking: list[tuple[str, ...]] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)  # of a part
    tanks: dict[str, str] = field(default_factory=dict)  # place of known head -> tank's id
    lengths_m: dict[str, float | None] = field(default_factory=dict)  # of a segment

    def add(self, part: str, kind: str, link: Link, lacking: tuple[str, ...] = ()) -> None:
        self.index[part] = len(self.links)
        self.links.append(link)
        self.kinds.append(kind)
        self.parts.append(part)
        self.lacking.append(lacking)

    def way(self, feed: Feed) -> list[int]:
        """The links of a feed from the tank on."""
        index, first = self.index, feed.components[0]
        found = [index[first]] if first in index else []
        for segment, component in zip(feed.segments, feed.components[1:], strict=True):
            found.append(index[segment])
            if component in index and component != feed.inlet:
                found.append(index[component])
        return found


def network_of(graph: Graph, feeds: tuple[Feed, ...], liquid: Liquid) -> Network:
    """The links of all feeds together, each part once."""
    network = Network()
    weight = liquid.density_kg_m3 * G_M_S2
    for feed in feeds:
        for segment_id in feed.segments:
            if segment_id not in network.index:
                _add_segment(graph, network, graph.segment(segment_id))
        for component_id in feed.components[:-1]:
            if component_id not in network.index:
                _add_component(graph, network, graph.component(component_id), weight)
    return network


def outlet_of(component: Component) -> str:
    """Where fuel leaves a component: its own place, or past what it takes from the pressure."""
    return f"{component.id} >" if _takes(component) else component.id


def _takes(component: Component) -> bool:
    return component.kind in MEDIA or component.kind in ("withdrawal", "anti_siphon_valve")


def _add_segment(graph: Graph, network: Network, segment: Segment) -> None:
    start = outlet_of(graph.component(segment.from_id))
    diameter, length = bore(segment), hose_length(graph, segment)
    network.lengths_m[segment.id] = length
    runs: tuple[Run, ...] = ()
    lacking: tuple[str, ...] = ()
    if diameter and length is not None:
        runs = (_new(Run, (diameter, length, 0.0)),)
    else:
        lacking = () if diameter else (bore_fact(segment),)
        lacking += () if length is not None else (f"segments[{segment.id}].length_in",)
    network.add(
        segment.id,
        "pipe",
        _new(Link, (start, segment.to_id, runs, 0.0, 0.0, False)),
        lacking,
    )


def _add_component(graph: Graph, network: Network, component: Component, weight: float) -> None:
    if not _takes(component):
        return
    place, beyond = component.id, outlet_of(component)
    if component.kind in MEDIA:
        slope, lacking = _slope(component, weight)
        one_way = component.kind == "primer_bulb" and component.arrow_toward_engine is not False
        kind = "filter" if component.kind == "filter" else "bulb"
        slope = max(slope, LEAST_SLOPE_S_M2)
        network.add(place, kind, Link(place, beyond, (), slope, 0.0, one_way), lacking)
        return
    opening, lacking = _opening(component, weight)
    runs: tuple[Run, ...] = ()
    if component.kind == "withdrawal":
        tank = graph.tank_of(component.id)
        if tank is None:
            lacking = (*lacking, f"components[{component.id}].tank")
        runs = _pickup_runs(graph, component)
        place = f"tank {tank.id}" if tank else component.id
        network.tanks[place] = tank.id if tank else ""
    one_way = opening > 0.0 or bool(lacking)
    network.add(
        component.id,
        "valve",
        Link(place, beyond, runs, LEAST_SLOPE_S_M2, opening, one_way),
        lacking,
    )


def _slope(component: Component, weight: float) -> tuple[float, tuple[str, ...]]:
    """Head for each m3/s through a medium whose drop is on file at one flow."""
    drop, flow = component.drop_pa, component.drop_flow_m3_s
    lacking = [] if drop is not None else [f"components[{component.id}].drop_psi"]
    if flow is None or flow <= 0:
        lacking.append(f"components[{component.id}].drop_flow_gph")
    if drop is None or not flow or lacking:
        return 0.0, tuple(lacking)
    return float(drop) / weight / float(flow), ()


def _opening(component: Component, weight: float) -> tuple[float, tuple[str, ...]]:
    if component.opening_head_m is not None:
        return float(component.opening_head_m), ()
    if component.opening_pa is not None:
        return float(component.opening_pa) / weight, ()
    if component.kind == "withdrawal" and component.anti_siphon is None:
        return 0.0, (f"components[{component.id}].anti_siphon",)
    if component.kind == "anti_siphon_valve" or component.anti_siphon == "spring_valve":
        return 0.0, (f"components[{component.id}].opening_head_in",)
    return 0.0, ()


def _pickup_runs(graph: Graph, component: Component) -> tuple[Run, ...]:
    """The dip tube, and the loss where fuel enters it or else the first hose."""
    tube = dip_tube(component)
    if tube is not None:
        return (tube,)
    hoses = [bore(s) for s in graph.segments_at(component.id) if s.from_id == component.id]
    known = [width for width in hoses if width]
    return (Run(min(known), 0.0, ENTRANCE_K),) if known else ()


def dip_tube(component: Component) -> Run | None:
    """The tube of a pick-up with the loss at its entrance; None where it is not on file."""
    diameter, length = component.dip_tube_inside_diameter_m, component.dip_tube_length_m
    if not diameter or length is None:
        return None
    return Run(float(diameter), float(length), ENTRANCE_K)


def has_return(graph: Graph, engine: Engine) -> bool:
    """Whether fuel comes back from an engine, so that it draws more than it burns."""
    alone = len(graph.document.engines) == 1
    return any(
        segment.engine == engine.id or (segment.engine is None and alone)
        for segment in graph.document.segments
        if segment.service == "return"
    )


def uncounted(graph: Graph, feed: Feed) -> Iterator[str]:
    """Components on a feed of which no loss is on file, nor could be."""
    for component_id in feed.components[1:-1]:
        if graph.component(component_id).kind in UNCOUNTED:
            yield component_id
