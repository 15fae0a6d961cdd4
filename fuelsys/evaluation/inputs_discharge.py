"""The facts that a severed-hose discharge was worked out from, each with its part."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.document.model import Component, Tank
from fuelsys.evaluation.computed import in_unit
from fuelsys.graph import Graph
from fuelsys.hydraulics.elements import TANK_FITTINGS
from fuelsys.hydraulics.runs import bore, hose_length
from fuelsys.hydraulics.sides import WITH_CONTENTS
from fuelsys.hydraulics.ways import Reach, reaches
from fuelsys.text import Figure

Named = tuple[str, Figure]


def discharge_inputs(graph: Graph, segment_id: str, *, crest: bool = False) -> dict[str, Figure]:
    """By name, and after a space the part where there may be several: "bore S1".

    The cut hose first, then what can reach the cut from either end: hoses, valves and pick-ups,
    contents, tanks; last the fuel, its vapor pressure only where a crest stands on the way.
    Answers of yes and no, such as a check valve's, are told by the assumptions.
    """
    ends = reaches(graph, segment_id)
    hoses = dict.fromkeys((segment_id, *(name for end in ends for name in end.segments)))
    parts = dict.fromkeys(name for end in ends for name in end.parts)
    found: list[Named] = [each for name in hoses for each in _hose(graph, name)]
    for name in parts:
        found += _part(graph, graph.component(name))
    for name in _tanks(graph, ends):
        found += _tank(graph.tank(name))
    return dict([*found, *_fuel(graph, crest=crest)])


def _hose(graph: Graph, segment_id: str) -> Iterator[Named]:
    segment, run = graph.segment(segment_id), graph.polyline(segment_id)
    width, length = bore(segment), hose_length(graph, segment)
    if width is not None:
        yield f"bore {segment_id}", in_unit(width, "in")
    if length is not None:
        yield f"length {segment_id}", in_unit(length, "in")
    if run is not None:
        yield f"lowest_point {segment_id}", in_unit(run.lowest_m, "in")
        yield f"highest_point {segment_id}", in_unit(run.highest_m, "in")


def _part(graph: Graph, part: Component) -> Iterator[Named]:
    with_height = part.kind in WITH_CONTENTS or (
        part.kind in TANK_FITTINGS and part.kind != "withdrawal"
    )
    if part.height_m is not None and with_height:
        yield f"part_height {part.id}", in_unit(part.height_m, "in")
    if part.opening_head_m is not None:
        yield f"opening_head {part.id}", in_unit(part.opening_head_m, "in")
    if part.opening_pa is not None:
        yield f"opening_pressure {part.id}", in_unit(part.opening_pa, "psi")
    if part.dip_tube_inside_diameter_m is not None and part.dip_tube_length_m is not None:
        yield f"tube_bore {part.id}", in_unit(part.dip_tube_inside_diameter_m, "in")
        yield f"tube_length {part.id}", in_unit(part.dip_tube_length_m, "in")
    if part.kind in WITH_CONTENTS and part.contents_m3 is not None:
        yield f"part_contents {part.id}", in_unit(part.contents_m3, "ml")
        if part.kind == "filter" and part.drains_pct is not None:
            yield f"drains {part.id}", in_unit(part.drains_pct, "pct")


def _tanks(graph: Graph, ends: tuple[Reach, Reach]) -> dict[str, None]:
    tanks = (graph.component(part).tank for end in ends for part in end.parts)
    return dict.fromkeys(tank for tank in tanks if tank is not None)


def _tank(tank: Tank) -> Iterator[Named]:
    level = tank.level_at_capacity_m
    if level is not None:
        yield f"surface {tank.id}", in_unit(level, "in")
    if tank.relief_pa is not None:
        yield f"relief {tank.id}", in_unit(tank.relief_pa, "psi")
    if tank.plan_area_m2 is not None:
        yield f"plan_area {tank.id}", in_unit(tank.plan_area_m2, "in2")
        if tank.bottom_m is not None:
            yield f"tank_bottom {tank.id}", in_unit(tank.bottom_m, "in")


def _fuel(graph: Graph, *, crest: bool) -> Iterator[Named]:
    facts = graph.document.fuel
    if facts.temperature_c is not None:
        yield "temperature", in_unit(facts.temperature_c, "f")
    fuels = {tank.fuel for tank in graph.document.tanks}
    fuels |= {engine.fuel for engine in graph.document.engines}
    if facts.ethanol_pct is not None and "gasoline" in fuels:
        yield "ethanol", in_unit(facts.ethanol_pct, "pct")
    if crest and facts.rvp_pa is not None:
        yield "rvp", in_unit(facts.rvp_pa, "psi")
