"""Several tanks that reach one cut: the flow solved as a network of junctions.

Where every part between the tanks and the cut is known and nothing lets air in, the flow itself
is solved and is the best estimate of the severed-hose computation. Each tank by itself, added up,
stays its upper bound: a tank that is to take what another gives may refuse it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from fuelsys.document.model import Component, Segment
from fuelsys.graph import Graph
from fuelsys.hydraulics.elements import PUMPS, TANK_FITTINGS
from fuelsys.hydraulics.flow import ENTRANCE_K, EXIT_K
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.links import Link, Run
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.network import NoFlowError, solve
from fuelsys.hydraulics.result import TEST_TIME_S
from fuelsys.hydraulics.runs import DRY_SERVICES, bore, hose_length
from fuelsys.hydraulics.sources import fuel_liquid, pressure_head

CUT = "the cut"
LEAST_SLOPE_S_M2 = 1e-3  # of a valve without a curve: it keeps the network solvable


@dataclass(frozen=True, slots=True)
class Joined:
    """Flow out of one end of a cut, and what each tank gives to it (below zero: takes) [m3/s]."""

    flow_m3_s: float
    tanks_m3_s: dict[str, float]
    links_m3_s: tuple[float, ...] = ()  # of the cut segment, then of each link on the side

    @property
    def volume_m3(self) -> float:
        """In the time of the test."""
        return self.flow_m3_s * TEST_TIME_S


def joined_outflow(graph: Graph, segment_id: str, *, at_m: float, toward_to: bool) -> Joined | None:
    """Steady flow out of one end of a severed segment that one or more tanks feed.

    Parameters
    ----------
    graph : Graph
        All tanks at label capacity.
    segment_id : str
        The segment that is cut.
    at_m : float
        Distance of the cut from the `from` end [m].
    toward_to : bool
        Whether the part beyond the cut, at the `to` end, is asked for, or the part before it.

    Returns
    -------
    Joined or None
        None where it cannot be solved soundly: a fact lacking, an end open to the air beside the
        cut, two fuels, or a valve whose way is not known.

    Raises
    ------
    KeyError
        The graph has no such segment.

    Valid for
    ---------
    Lines full of liquid. The greatest crest is not looked at: siphons run on, as they do in the
    severed-hose computation.

    Source
    ------
    `fuelsys.hydraulics.network`, with the friction of the EPANET 2.2 User Manual.

    Examples
    --------
    Two tanks, one hose each to a tee, and a cut 1 m beyond it:

    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Document, Hose, Tank
    >>> from fuelsys.graph import build
    >>> hose = Hose(inside_diameter_m=F("0.009525"))
    >>> def run(name, start, end, low):
    ...     route = ((F(0), F(0)), (F(2), F(low)))
    ...     return Segment(name, "feed", start, end, hose=hose, route=route)
    >>> graph = build(Document(
    ...     tanks=(Tank("T1", fuel="gasoline", surface_m=F(0)),
    ...            Tank("T2", fuel="gasoline", surface_m=F(0))),
    ...     components=(Component("P1", "withdrawal", tank="T1", anti_siphon="none"),
    ...                 Component("P2", "withdrawal", tank="T2", anti_siphon="none"),
    ...                 Component("TEE", "tee"), Component("E", "engine_inlet")),
    ...     segments=(run("S1", "P1", "TEE", "0"), run("S2", "P2", "TEE", "0"),
    ...               run("S3", "TEE", "E", "-0.6"))))
    >>> found = joined_outflow(graph, "S3", at_m=1.0, toward_to=False)
    >>> round(found.flow_m3_s * 1e6, 1), round(found.tanks_m3_s["T1"] / found.flow_m3_s, 3)
    (72.7, 0.5)
    """
    side = _gathered(graph, segment_id, toward_to)
    return None if side is None else side.solved(at_m)


def joined_volume(graph: Graph, segment_id: str, *, at_m: float, toward_to: bool) -> float | None:
    """What `joined_outflow` gives in the time of the test [m3], or None.

    None too where the tanks draw air in at the cut, one of them taking more than the others give:
    the column breaks then, and what stands in the hose may go either way.

    Along a straight piece it rises or falls throughout. With h(Q) the head that the tanks leave
    at the segment's end, z + s c the height of the cut and R(Q) the loss over a length,
    h(Q) = z + s c + R(Q) c; so Q grows with c where R(Q) < -s and falls where it is more, and
    at R(Q) = -s it stands still: it cannot pass from one to the other.
    """
    found = joined_outflow(graph, segment_id, at_m=at_m, toward_to=toward_to)
    return None if found is None or found.flow_m3_s <= 0.0 else found.volume_m3


def joined_hoses(
    graph: Graph, segment_id: str, *, at_m: float, toward_to: bool
) -> dict[str, float]:
    """Flow in each hose between the tanks and a cut [m3/s]; empty where it is not solved."""
    side = _gathered(graph, segment_id, toward_to)
    found = None if side is None else side.solved(at_m)
    if side is None or found is None:
        return {}
    flows = found.links_m3_s[1:]
    return {name: abs(flow) for name, flow in zip(side.hoses, flows, strict=True) if name} | {
        segment_id: found.flow_m3_s
    }


def _gathered(graph: Graph, segment_id: str, toward_to: bool) -> _Side | None:
    """One side's network, the same for every cut of the segment."""

    def gather() -> _Side | None:
        side = _Side(graph, graph.segment(segment_id), toward_to)
        return side if side.gather() else None

    return graph.once(("joined", segment_id, toward_to), gather)


@dataclass(slots=True)
class _Side:
    graph: Graph
    own: Segment
    toward_to: bool
    links: list[Link] = field(default_factory=list)
    hoses: list[str] = field(default_factory=list)  # of each link its segment; "" for a part
    heads_m: dict[str, float] = field(default_factory=dict)
    tanks: dict[str, str] = field(default_factory=dict)  # place -> tank
    fuels: set[str] = field(default_factory=set)

    def gather(self) -> bool:
        """Collect the links on this side; false where the network would not be sound."""
        if self.graph.polyline(self.own.id) is None or not bore(self.own):
            return False
        return self._walk(self._end) and bool(self.tanks) and len(self.fuels) == 1

    @property
    def _end(self) -> str:
        return self.own.to_id if self.toward_to else self.own.from_id

    def _exit(self, at_m: float) -> tuple[Link, float]:
        """The stretch up to the cut, and the height of the cut [m]."""
        run, width = self.graph.polyline(self.own.id), bore(self.own)
        assert run is not None
        assert width
        stretch = run.length_m - at_m if self.toward_to else at_m
        runs = (Run(width, max(stretch, 0.0), EXIT_K),)
        # The cut is a side of the segment's end: flow to it enters by the other port.
        return Link(self._port(self._end, self.own), CUT, runs), run.height_at(at_m)

    def solved(self, at_m: float) -> Joined | None:
        (fuel,) = self.fuels
        liquid: Liquid = fuel_liquid(self.graph, fuel)
        weight = liquid.density_kg_m3 * G_M_S2
        last, height_m = self._exit(at_m)
        links = [last, *(_in_heads(link, weight) for link in self.links)]
        heads = self.heads_m | {CUT: height_m}
        for place, tank_id in self.tanks.items():
            heads[place] += pressure_head(self.graph.tank(tank_id), liquid.density_kg_m3)
        try:
            found = solve(links, heads_m=heads, drawn_m3_s={}, viscosity_m2_s=liquid.viscosity_m2_s)
        except NoFlowError:
            return None
        given: dict[str, float] = {}
        for link, flow in zip(links, found.flows_m3_s, strict=True):
            if link.start in self.tanks:
                tank = self.tanks[link.start]
                given[tank] = given.get(tank, 0.0) + flow
        return Joined(max(0.0, found.flows_m3_s[0]), given, found.flows_m3_s)

    # The walk.

    def _walk(self, start: str) -> bool:
        waiting, met = [start], {start}
        seen = {self.own.id}
        while waiting:
            name = waiting.pop()
            component = self.graph.component(name)
            joined = [s for s in self.graph.segments_at(name) if s.id not in seen]
            if not self._part(component, joined):
                return False
            if component.kind in TANK_FITTINGS:
                continue
            for segment in joined:
                seen.add(segment.id)
                if not self._hose(segment):
                    return False
                beyond = self.graph.neighbor(segment.id, name)
                if beyond not in met:
                    met.add(beyond)
                    waiting.append(beyond)
        return True

    def _hose(self, segment: Segment) -> bool:
        width, length = bore(segment), hose_length(self.graph, segment)
        if segment.service in DRY_SERVICES or not width or length is None:
            return False
        ends = (self._port(segment.from_id, segment), self._port(segment.to_id, segment))
        self._add(Link(*ends, (Run(width, length),)), segment.id)
        return True

    def _add(self, link: Link, hose: str = "") -> None:
        self.links.append(link)
        self.hoses.append(hose)

    def _port(self, name: str, segment: Segment) -> str:
        """The side of a component at which a segment ends: fuel enters at its own name."""
        component = self.graph.component(name)
        return f"{name} >" if _one_way(component) and segment.from_id == name else name

    def _part(self, component: Component, joined: Sequence[Segment]) -> bool:
        """Whether a component can stand in a sound network; what it adds is added."""
        if component.kind in TANK_FITTINGS:
            return self._tank(component)
        if component.kind in PUMPS and component.check_valve is None:
            return False
        if component.kind == "electric_stop_valve" or (
            component.kind == "selector_valve" and component.open_to is not None
        ):
            return False
        if _one_way(component):
            opening, known = _opening(component)
            link = Link(
                component.id, f"{component.id} >", (), LEAST_SLOPE_S_M2, opening, one_way=True
            )
            self._add(link)
            return known and (bool(joined) or self._closes(component))
        return bool(joined)

    def _closes(self, component: Component) -> bool:
        """Whether a one-way part at the end of a branch keeps the air out."""
        return all(s.to_id == component.id for s in self.graph.segments_at(component.id))

    def _tank(self, component: Component) -> bool:
        tank = self.graph.tank_of(component.id)
        surface = None if tank is None else tank.level_at_capacity_m
        if tank is None or surface is None or tank.fuel is None:
            return False
        if component.kind != "withdrawal" or component.anti_siphon in (None, "electric_stop_valve"):
            return False
        opening, known = _opening(component)
        place = f"tank {tank.id}"
        self.tanks[place] = tank.id
        self.heads_m[place] = float(surface)
        self.fuels.add(tank.fuel)
        held = component.anti_siphon == "spring_valve"
        runs = self._pickup(component)
        self._add(Link(place, component.id, runs, LEAST_SLOPE_S_M2, opening, one_way=held))
        return known

    def _pickup(self, component: Component) -> tuple[Run, ...]:
        width, length = component.dip_tube_inside_diameter_m, component.dip_tube_length_m
        if width and length is not None:
            return (Run(float(width), float(length), ENTRANCE_K),)
        hoses = [bore(segment) for segment in self.graph.segments_at(component.id)]
        known = [each for each in hoses if each]
        return (Run(min(known), 0.0, ENTRANCE_K),) if known else ()


def _one_way(component: Component) -> bool:
    if component.kind in PUMPS:
        return component.check_valve is True
    return component.kind in ("anti_siphon_valve", "primer_bulb")


def _opening(component: Component) -> tuple[float, bool]:
    """Opening head [m], or pressure [Pa] as a negative number, and whether it is known."""
    if component.opening_head_m is not None:
        return float(component.opening_head_m), True
    if component.opening_pa is not None:
        return -float(component.opening_pa), True
    sprung = component.kind == "anti_siphon_valve" or component.anti_siphon == "spring_valve"
    return 0.0, not sprung


def _in_heads(link: Link, weight: float) -> Link:
    if link.opening_m >= 0.0:
        return link
    opening = -link.opening_m / weight
    return Link(link.start, link.end, link.runs, link.slope_s_m2, opening, link.one_way)
