"""What a discharge figure takes for granted, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fuelsys.document.model import Component, Segment, Tank
from fuelsys.graph import Graph
from fuelsys.hydraulics.elements import PUMPS, TANK_FITTINGS
from fuelsys.hydraulics.friction import HOSE_ROUGHNESS_M
from fuelsys.hydraulics.liquids import COLDEST_C, DEFAULT_TEMPERATURE_C, WARMEST_C
from fuelsys.hydraulics.reading import Reading
from fuelsys.hydraulics.result import LIMIT_M3, US_FLUID_OUNCE_M3
from fuelsys.hydraulics.runs import DRY_SERVICES, bore
from fuelsys.hydraulics.sides import Side
from fuelsys.hydraulics.sources import fuel_liquid, fuel_of
from fuelsys.text import Figure, Text

DOUBTS = {
    "?loop": "The hoses here form a loop. The least is computed; no greatest figure is claimed.",
    "?tanks": "More than one tank can reach this cut and one may run into another: "
    "the discharge is bounded from below and above, not solved.",
    "?air": "Air may enter beside the siphon and break it, or not: both are computed.",
    "?pressure": "A sealed tank's pressure reaches this hose through its vapor space: "
    "no greatest figure is claimed.",
}
READING_OF_THE_RULE = (
    Text(
        "The rule says ounces; US fluid ounces are used, so the limit is {limit}.",
        {"limit": Figure(LIMIT_M3 / US_FLUID_OUNCE_M3, "floz")},
    ),
    Text("What runs out of both cut ends counts, the fuel standing in the hose included."),
    Text(
        "The boat lies still, the fuel does not warm, and the cut ends stay where they were"
        " surveyed: motion, heat or a sagging end let out more."
    ),
    Text("A level run drains wholly where the cut lies no higher than it."),
)
TOGETHER = Text(
    "More than one tank reaches this cut: their flow is solved as one network; the upper bound has"
    " each of them run alone."
)
ONLY_IN_DIPS = Text("Fills and vents hold fuel only at the tank's surface and in dips.")
FLOW = (
    Text(
        "Steady flow through a clean full-bore cut, hose roughness {roughness}, no loss "
        "credited to valves, filters and bulbs.",
        {"roughness": Figure(HOSE_ROUGHNESS_M * 1000, "mm")},
    ),
    Text("Vapor at a crest is not counted on to stop the flow."),
)
CLOSED_END = "The far end is closed by {part}."
OPEN_END = "The far end at {part} is open to the air."
TRANSITION = Text(
    "Flow in {parts} lies between laminar and turbulent; published friction there differs by up"
    " to 60 %."
)
# Twice 0.918 sqrt(sigma/(rho g)), 3.2 mm for gasoline: Bretherton's bubble criterion, from memory.
BUBBLE_BORE_M = 0.0032
THIN = Text(
    "The bore of {parts} is {bore} or less: air may not rise past the fuel there. The method holds"
    " for wider hose; what stands above the cut is counted as if it ran out."
)
RESEATS = Text(
    "The head uses {share} of the valve's opening head; a valve that closes again at less than it"
    " opens may let fuel run."
)


def assumptions(
    graph: Graph, segment: Segment, sides: tuple[Side, Side], state: str, doubts: tuple[str, ...]
) -> tuple[Text, ...]:
    """What the figure of a segment rests on beside the survey, each once and in this order."""
    engine = segment.engine
    found = list(graph.once(("words of the rule", engine), lambda: _words_of_rule(graph, engine)))
    for tank_id in dict.fromkeys([s.tank for side in sides for s in side.sources]):
        if tank_id is not None:
            found += _of_tank(graph, tank_id)
    for side in sides:
        for component_id in side.passed:
            found += _of_component(graph, component_id)
    if segment.service in DRY_SERVICES:
        found += _keyed([ONLY_IN_DIPS])
    elif segment.service == "feed":
        found += _far_end(graph, sides[1])
    if state == "open":
        found += _keyed(FLOW)
        if "?tanks" not in doubts and any(_several_tanks(side) for side in sides):
            found += _keyed([TOGETHER])
    found += _keyed(Text(DOUBTS[doubt]) for doubt in doubts)
    return tuple(dict(found).values())


def reseats(share: float) -> Text:
    """That a valve holds narrowly: it may close again only at less than it opens."""
    return Text(RESEATS.msgid, {"share": Figure(100.0 * share, "pct", computed=True)})


def about_limits(
    graph: Graph, segment: Segment, sides: tuple[Side, Side], in_transition: tuple[str, ...]
) -> tuple[Text, ...]:
    """Where the method reaches its limits: transition flow, and bores that may hold the fuel."""
    said = []
    if in_transition:
        said.append(Text(TRANSITION.msgid, {"parts": ", ".join(in_transition)}))
    narrow = _thin(graph, segment, sides)
    if narrow:
        widest = Figure(1000.0 * BUBBLE_BORE_M, "mm")
        said.append(Text(THIN.msgid, {"parts": ", ".join(narrow), "bore": widest}))
    return tuple(said)


def _thin(graph: Graph, segment: Segment, sides: tuple[Side, Side]) -> list[str]:
    """The cut hose, and those joined to it, whose bore may hold the fuel up."""
    narrow = graph.once("thin bores", lambda: _all_thin(graph))
    if not narrow:
        return []
    reached = {segment.from_id, segment.to_id}.union(*(side.passed for side in sides))
    return [
        each.id for each in narrow if each.id == segment.id or {each.from_id, each.to_id} <= reached
    ]


def _all_thin(graph: Graph) -> tuple[Segment, ...]:
    runs = [(each, bore(each)) for each in graph.document.segments]
    return tuple([each for each, width in runs if width is not None and width <= BUBBLE_BORE_M])


def _several_tanks(side: Side) -> bool:
    return len({source.tank for source in side.sources}) > 1


Said = tuple[tuple[object, ...], Text]  # a sentence, and what it says of which part


def _keyed(texts: Iterable[Text]) -> tuple[Said, ...]:
    """Sentences are alike where they say the same of the same part."""
    return tuple(
        [((text.msgid, text.params.get("part"), text.params.get("tank")), text) for text in texts]
    )


def _words_of_rule(graph: Graph, engine: str | None) -> tuple[Said, ...]:
    return _keyed([*READING_OF_THE_RULE, *_liquid(graph, engine)])


def _liquid(graph: Graph, engine: str | None) -> Iterator[Text]:
    facts = graph.document.fuel
    reading = Reading(most=True)
    fuel = fuel_of(graph, None, engine, reading)
    if reading.asked:
        return
    used = fuel_liquid(graph, fuel)
    temperature = DEFAULT_TEMPERATURE_C if facts.temperature_c is None else facts.temperature_c
    params: dict[str, object] = {
        "density": Figure(used.density_kg_m3, "kg/m3"),
        "viscosity": Figure(used.viscosity_m2_s * 1e6, "mm2/s"),
        "temperature": Figure(temperature, "c"),
    }
    if fuel == "diesel":
        yield Text("Diesel at {temperature}: {density}, {viscosity}.", params)
    else:
        params["ethanol"] = Figure(facts.ethanol_pct or 0, "pct")
        yield Text(
            "Gasoline with {ethanol} ethanol at {temperature}: {density}, {viscosity}.", params
        )
    if not COLDEST_C <= temperature <= WARMEST_C:
        yield Text(
            "The viscosity is that of the nearest temperature from {coldest} to {warmest}.",
            {"coldest": Figure(COLDEST_C, "c"), "warmest": Figure(WARMEST_C, "c")},
        )


def _of_tank(graph: Graph, tank_id: str) -> tuple[Said, ...]:
    """What is taken for granted of a tank, whichever segment is cut."""
    return graph.once(("words of tank", tank_id), lambda: _keyed(_tank(graph.tank(tank_id))))


def _tank(tank: Tank) -> Iterator[Text]:
    params: dict[str, object] = {"tank": tank.id}
    yield Text("Tank {tank} is full to its label capacity, the boat afloat at rest.", params)
    if tank.surface_m is None and tank.top_m is not None:
        yield Text("The surface in tank {tank} is taken at the tank's top.", params)
    if tank.relief_pa is None:
        yield Text("Tank {tank} is taken as open to the air, without pressure.", params)


def _of_component(graph: Graph, component_id: str) -> tuple[Said, ...]:
    """What is taken for granted of a component, whichever segment is cut."""
    return graph.once(
        ("words of component", component_id),
        lambda: _keyed(_component(graph.component(component_id))),
    )


def _component(component: Component) -> Iterator[Text]:
    params: dict[str, object] = {"part": component.id}
    if component.kind == "shutoff_valve":
        yield Text("Hand valve {part} is taken as open.", params)
    elif component.kind == "selector_valve" and component.open_to is None:
        yield Text("Every port of selector valve {part} is taken as open.", params)
    elif component.kind == "primer_bulb":
        yield Text(
            "Primer bulb {part} passes fuel toward the engine only, and gives up all its contents.",
            params,
        )
    elif component.kind in PUMPS and component.check_valve:
        yield Text("The check valve of pump {part} holds against backward flow.", params)
    elif component.kind == "electric_stop_valve" or component.anti_siphon == "electric_stop_valve":
        if component.opens_only_with_ignition:
            yield Text("The engine is stopped, so electric stop valve {part} is closed.", params)
    elif component.kind == "anti_siphon_valve" or component.anti_siphon == "spring_valve":
        yield Text("The siphon valve at {part} is sound and opens at its recorded head.", params)
    elif component.kind == "filter":
        yield from _filter(component)


def _filter(component: Component) -> Iterator[Text]:
    share = component.drains_pct
    params: dict[str, object] = {
        "part": component.id,
        "share": Figure(100 if share is None else share, "pct"),
    }
    if share is None:
        yield Text("Filter {part} gives up all its contents, no share being recorded.", params)
    else:
        yield Text("Filter {part} gives up {share} of its contents where it drains.", params)


def _far_end(graph: Graph, side: Side) -> Iterator[Said]:
    for component_id in side.closed:
        yield from _of_end(graph, component_id, CLOSED_END)
    for component_id in side.air_ends:
        if graph.component(component_id).kind not in TANK_FITTINGS:
            yield from _of_end(graph, component_id, OPEN_END)


def _of_end(graph: Graph, component_id: str, said: str) -> tuple[Said, ...]:
    return graph.once((said, component_id), lambda: _keyed([Text(said, {"part": component_id})]))
