"""The vacuum at each engine's inlet, judged by its maker's limit where that is on file."""

from __future__ import annotations

from dataclasses import replace

from fuelsys.document.model import Engine, Fuel
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.figures_permeation import segment_grams_a_day
from fuelsys.evaluation.fuel_words import (
    TEMPERATURE,
    is_too_cold,
    liquid_words,
    temperature_c,
    without_density,
)
from fuelsys.evaluation.inputs_suction import suction_inputs
from fuelsys.graph import Graph
from fuelsys.hydraulics.boiling import (
    COLDEST_C,
    LEAST_RVP_PA,
    MOST_RVP_PA,
    NEAR_BOILING_PA,
    WARMEST_C,
    boiling_margin,
)
from fuelsys.hydraulics.friction import bore_area
from fuelsys.hydraulics.runs import bore
from fuelsys.hydraulics.sources import fuel_liquid
from fuelsys.hydraulics.suction import suction
from fuelsys.hydraulics.suction_result import BoreChoice, Suction
from fuelsys.hydraulics.wording import TRANSITION
from fuelsys.rules.context import engine_path
from fuelsys.text import Figure, Text

METHOD = Text(
    "lift from the lowest usable level to the inlet, with friction of hose and fittings, filter,"
    " bulb and valve at the flow of rated power"
)
SOURCE = (
    "energy equation with Darcy-Weisbach, friction of the EPANET 2.2 User Manual; burned flow:"
    " boating magazine, Calculating Fuel Consumption; vapor pressure: AP-42 chapter 7.1 (secondary"
    " copy; distillation slope 3.0 unverified)"
)
BURNED = Text("The flow is that burned at rated power; a two-stroke outboard burns more.")
MAKER = Text("The flow is the maker's at rated power.")
GENERATOR = Text("The rated power of {engine} is taken as that of its shaft.")
SHARED = Text("Drawn at once through common hose: {others}, each at rated power.")
VENTED = Text("The tank stands open to the air; a blocked vent adds to the vacuum.")
FILTER = Text("The drop of filters and bulbs grows with the flow in proportion: common practice.")
VALVE = Text("A spring valve takes its opening pressure, which is the least it takes.")
UNCOUNTED = Text("No loss is counted for {parts}: none is on file.")
VELOCITY = Text("The velocity head at the inlet is left out, {head} at this flow.")
NO_TUBE = Text("The tube of pick-up {part} is not on file; its friction is not counted.")
UNDIVIDED = Text("More than one line feeds {engine}; how its flow divides is not on file.")
UNSOLVED = Text("The flows that reach {engine} by several ways could not be solved.")
NO_LIMIT = Text("No vacuum limit of the engine's maker is on file: recorded, not judged.")
NO_MINIMUM = Text("The maker's least bore is not on file; the smallest bore may lie below it.")
NEAR_BOILING = Text("Within {margin} of boiling, or beyond, at {part}.")
EXTRAPOLATED = Text("Vapor pressure outside {low} to {high} is extrapolated.")
BAD_RVP = Text("A Reid vapor pressure outside {low} to {high} is not gasoline's. Check it.")
WARMER = Text("Fuel in an engine space is warmer than the air outside.")


def suctions(graph: Graph) -> dict[str, Computed]:
    """The figure of every engine, in the order of the document.

    Parameters
    ----------
    graph : Graph

    Returns
    -------
    dict
        [inHg] by engine; pass or fail only against a limit on file. A fact that is lacking can
        only add, so what the known parts take may already be too much.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    As `fuelsys.hydraulics.suction.suction`.

    Source
    ------
    The same.

    Examples
    --------
    >>> from fuelsys.document.model import Document
    >>> found = suctions(Graph(Document(engines=(Engine("E", fuel="diesel"),))))["E"]
    >>> found.value, found.missing[0]
    (None, 'engines[E].supply_flow_gph')
    """
    return {
        engine_id: _figure(graph, graph.engine(engine_id), found)
        for engine_id, found in suction(graph).items()
    }


def _figure(graph: Graph, engine: Engine, found: Suction) -> Computed:
    facts, limit_pa = graph.document.fuel, engine.inlet_vacuum_limit_pa
    refused = without_density(facts)
    if refused is not None:
        return _refused(graph, engine, found, refused)
    boils_pa = _boils_pa(facts, engine)
    margin_pa = None
    if boils_pa is not None and found.lowest_gauge_pa is not None:
        margin_pa = boils_pa + found.lowest_gauge_pa
    return Computed(
        found.vacuum_pa,
        "inhg",
        METHOD,
        SOURCE,
        suction_inputs(graph, engine, found),
        _assumptions(graph, engine, found, margin_pa),
        _missing(facts, engine, found),
        in_unit(limit_pa, "inhg") if limit_pa is not None else None,
        _outcome(facts, engine, found),
        details=_details(found, boils_pa, margin_pa),
        choices=tuple(_choice(graph, found, choice) for choice in found.choices),
    )


def _missing(facts: Fuel, engine: Engine, found: Suction) -> tuple[str, ...]:
    missing = [*found.missing]
    if engine.inlet_vacuum_limit_pa is None:
        missing.append(engine_path(engine.id, "inlet_vacuum_limit_inhg"))
    if engine.fuel == "gasoline" and facts.rvp_pa is None:
        missing.append("fuel.rvp_psi")
    if is_too_cold(facts) and found.vacuum_pa is not None:
        missing.append(TEMPERATURE)
    return tuple(missing)


def _refused(graph: Graph, engine: Engine, found: Suction, why: Text) -> Computed:
    """No figure at a temperature that is none of a fuel aboard."""
    limit_pa = engine.inlet_vacuum_limit_pa
    return Computed(
        None,
        "inhg",
        METHOD,
        SOURCE,
        suction_inputs(graph, engine, found),
        (why,),
        (*_missing(graph.document.fuel, engine, replace(found, vacuum_pa=None)), TEMPERATURE),
        in_unit(limit_pa, "inhg") if limit_pa is not None else None,
        None if limit_pa is None else "cannot_tell",
    )


def _outcome(facts: Fuel, engine: Engine, found: Suction) -> str | None:
    """None without a limit: the figure is recorded, not judged.

    Fuel colder than its viscosities draws harder than the figure says: it may fail, never pass.
    """
    limit_pa = engine.inlet_vacuum_limit_pa
    if limit_pa is None:
        return None
    if found.least_pa is not None and found.least_pa > limit_pa and found.flow_m3_s is not None:
        return "fail"
    return "cannot_tell" if found.vacuum_pa is None or is_too_cold(facts) else "pass"


def _boils_pa(facts: Fuel, engine: Engine) -> float | None:
    """The vacuum at which the gasoline aboard boils; below zero it boils without one."""
    rvp_pa = facts.rvp_pa
    if engine.fuel != "gasoline" or rvp_pa is None:
        return None
    if not LEAST_RVP_PA <= rvp_pa <= MOST_RVP_PA:
        return None
    return boiling_margin(0.0, float(rvp_pa), temperature_c(facts))


def _details(
    found: Suction, boils_pa: float | None, margin_pa: float | None
) -> dict[str, Figure | None]:
    details = {"flow": _maybe(found.flow_m3_s, "gph"), "at_least": _maybe(found.least_pa, "inhg")}
    for name, share_pa in (found.shares_pa or {}).items():
        details[name] = _maybe(share_pa, "inhg")
    details["lowest_pressure"] = _maybe(found.lowest_gauge_pa, "inhg")
    details["boils_at"] = _maybe(boils_pa, "inhg")
    details["boiling_margin"] = _maybe(margin_pa, "psi")
    details["smallest_bore"] = _maybe(found.smallest_bore_m, "in")
    return details


def _maybe(value: float | None, unit: str) -> Figure | None:
    return None if value is None else in_unit(value, unit, computed=True)


def _choice(graph: Graph, found: Suction, choice: BoreChoice) -> dict[str, Figure | None]:
    grams = [segment_grams_a_day(graph, graph.segment(s), choice.bore_m) for s in found.segments]
    known = [each for each in grams if each is not None]
    return {
        "bore": in_unit(choice.bore_m, "in"),
        "vacuum": in_unit(choice.vacuum_pa, "inhg", computed=True),
        "contents": in_unit(choice.contents_m3, "ml", computed=True),
        "permeation": _maybe(sum(known) if len(known) == len(grams) else None, "g_day"),
    }


def _assumptions(
    graph: Graph, engine: Engine, found: Suction, margin_pa: float | None
) -> tuple[Text, ...]:
    said = []
    if found.flow_m3_s is not None:
        said.append(MAKER if found.maker_flow else BURNED)
        if engine.use == "generator" and not found.maker_flow:
            said.append(Text(GENERATOR.msgid, {"engine": engine.id}))
    if found.shared_with:
        said.append(Text(SHARED.msgid, {"others": ", ".join(found.shared_with)}))
    if found.undivided:
        said.append(Text(UNDIVIDED.msgid, {"engine": engine.id}))
    if found.unsolved:
        said.append(Text(UNSOLVED.msgid, {"engine": engine.id}))
    if found.shares_pa is not None:
        said += _about_the_way(graph, engine, found)
    if engine.inlet_vacuum_limit_pa is None:
        said.append(NO_LIMIT)
    elif found.smallest_bore_m is not None and engine.minimum_bore_m is None:
        said.append(NO_MINIMUM)
    if engine.fuel == "gasoline" and graph.document.fuel.rvp_pa is not None:
        said += _about_boiling(graph.document.fuel, found, margin_pa)
    return tuple(said)


def _about_the_way(graph: Graph, engine: Engine, found: Suction) -> list[Text]:
    assert found.shares_pa is not None
    fuel = engine.fuel or "gasoline"
    said = [*liquid_words(graph.document.fuel, fuel, fuel_liquid(graph, fuel)), VENTED]
    said += _velocity(graph, fuel, found)
    if found.shares_pa["filter"] or found.shares_pa["bulb"]:
        said.append(FILTER)
    valve_pa = found.shares_pa["valve"]
    if valve_pa is not None and valve_pa > 1.0:
        said.append(VALVE)
    if found.uncounted:
        said.append(Text(UNCOUNTED.msgid, {"parts": ", ".join(found.uncounted)}))
    if found.without_tube:
        said.append(Text(NO_TUBE.msgid, {"part": found.without_tube}))
    if found.in_transition:
        said.append(Text(TRANSITION.msgid, {"parts": ", ".join(found.in_transition)}))
    return said


def _velocity(graph: Graph, fuel: str, found: Suction) -> list[Text]:
    """What the fuel's speed at the inlet would add, which the figure leaves out."""
    width = bore(graph.segment(found.segments[-1])) if found.segments else None
    if width is None or found.flow_m3_s is None:
        return []
    speed = found.flow_m3_s / bore_area(width)
    head_pa = fuel_liquid(graph, fuel).density_kg_m3 * speed * speed / 2.0
    return [Text(VELOCITY.msgid, {"head": in_unit(head_pa, "inhg", computed=True)})]


def _about_boiling(facts: Fuel, found: Suction, margin_pa: float | None) -> list[Text]:
    assert facts.rvp_pa is not None
    if not LEAST_RVP_PA <= facts.rvp_pa <= MOST_RVP_PA:
        ends = {"low": in_unit(LEAST_RVP_PA, "psi"), "high": in_unit(MOST_RVP_PA, "psi")}
        return [Text(BAD_RVP.msgid, ends)]
    if margin_pa is None:
        return []
    said = [WARMER]
    if margin_pa < NEAR_BOILING_PA:
        near = {"margin": in_unit(NEAR_BOILING_PA, "psi"), "part": found.lowest_at}
        said.append(Text(NEAR_BOILING.msgid, near))
    if not COLDEST_C <= temperature_c(facts) <= WARMEST_C:
        ends = {"low": in_unit(COLDEST_C, "f"), "high": in_unit(WARMEST_C, "f")}
        said.append(Text(EXTRAPOLATED.msgid, ends))
    return said
