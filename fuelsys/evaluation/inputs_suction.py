"""The facts that an engine's suction was worked out from, each with the part it belongs to."""

from __future__ import annotations

from fuelsys.document.model import Component, Engine
from fuelsys.evaluation.computed import in_unit
from fuelsys.evaluation.fuel_words import fuel_inputs
from fuelsys.graph import Graph
from fuelsys.hydraulics.runs import bore, hose_length, port_height
from fuelsys.hydraulics.suction_parts import dip_tube
from fuelsys.hydraulics.suction_result import Suction
from fuelsys.text import Figure


def suction_inputs(graph: Graph, engine: Engine, found: Suction) -> dict[str, Figure]:
    """By name, and after a space the part where there may be several: "bore S1"."""
    inputs = _flow(engine, found, "")
    for other in found.shared_with:
        inputs |= _flow(graph.engine(other), None, f" {other}")
    if found.inlet and (height := port_height(graph, found.inlet)) is not None:
        inputs["inlet_height"] = in_unit(height, "in")
    level = graph.tank(found.tank).lowest_usable_m if found.tank else None
    if level is not None:
        inputs["lowest_usable"] = in_unit(level, "in")
    for segment_id in found.segments:
        inputs |= _run(graph, segment_id)
    for component_id in _passed(graph, found.segments):
        inputs |= _part(graph.component(component_id))
    if found.lowest_gauge_pa is not None:
        runs = [run for name in found.segments if (run := graph.polyline(name)) is not None]
        if runs:
            inputs["line_highest"] = in_unit(max(run.highest_m for run in runs), "in")
    facts = graph.document.fuel
    if facts.rvp_pa is not None and engine.fuel == "gasoline":
        inputs["rvp"] = in_unit(facts.rvp_pa, "psi")
    return inputs | fuel_inputs(facts, engine.fuel)


def _flow(engine: Engine, found: Suction | None, part: str) -> dict[str, Figure]:
    maker = bool(engine.supply_flow_m3_s) if found is None else found.maker_flow
    if maker and engine.supply_flow_m3_s is not None:
        return {f"supply_flow{part}": in_unit(engine.supply_flow_m3_s, "gph")}
    if engine.rated_power_w is not None:
        return {f"rated_power{part}": in_unit(engine.rated_power_w, "hp")}
    return {}


def _run(graph: Graph, segment_id: str) -> dict[str, Figure]:
    segment, inputs = graph.segment(segment_id), {}
    if (width := bore(segment)) is not None:
        inputs[f"bore {segment_id}"] = in_unit(width, "in")
    if (length := hose_length(graph, segment)) is not None:
        inputs[f"length {segment_id}"] = in_unit(length, "in")
    return inputs


def _passed(graph: Graph, segments: tuple[str, ...]) -> dict[str, None]:
    """The components of a line in its order, the inlet left out."""
    ends = [graph.segment(name) for name in segments]
    named = dict.fromkeys(part for run in ends for part in (run.from_id, run.to_id))
    named.pop(ends[-1].to_id, None) if ends else None
    return named


def _part(component: Component) -> dict[str, Figure]:
    """Drop of a filter or bulb, opening of a valve, tube of a pick-up."""
    name, inputs = component.id, {}
    if component.drop_pa is not None:
        inputs[f"drop {name}"] = in_unit(component.drop_pa, "psi")
    if component.drop_flow_m3_s is not None:
        inputs[f"drop_flow {name}"] = in_unit(component.drop_flow_m3_s, "gph")
    if component.opening_head_m is not None:
        inputs[f"opening_head {name}"] = in_unit(component.opening_head_m, "in")
    elif component.opening_pa is not None:
        inputs[f"opening_pressure {name}"] = in_unit(component.opening_pa, "psi")
    tube = dip_tube(component)
    if tube is not None:
        inputs[f"tube_bore {name}"] = in_unit(tube.bore_m, "in")
        inputs[f"tube_length {name}"] = in_unit(tube.length_m, "in")
    return inputs
