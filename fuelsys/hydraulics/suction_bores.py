"""An engine's line with its hoses in each standard bore, and the smallest bore that is enough."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fuelsys.document.model import Engine
from fuelsys.graph import Graph
from fuelsys.hydraulics.friction import G_M_S2, bore_area
from fuelsys.hydraulics.links import Link, Run, link_loss
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.runs import bore_fact, hose_length, port_height
from fuelsys.hydraulics.suction_parts import Feed, Network, dip_tube
from fuelsys.hydraulics.suction_result import BoreChoice, Suction

INCH_M = 0.0254
# Bores of feed hose as it is sold: common practice, no source.
STANDARD_BORES_M = tuple(inches * INCH_M for inches in (0.25, 0.3125, 0.375, 0.5, 0.625))
BORE_TOLERANCE_M = 1e-9


@dataclass(frozen=True, slots=True)
class Drawn:
    """A network with the flows in it, and how to solve it with other hoses."""

    graph: Graph
    network: Network
    liquid: Liquid
    flows_m3_s: list[float]
    is_tree: bool  # no loop: other hoses leave the flows as they are
    solve: Callable[[Sequence[Link]], list[float] | None]


def with_choices(found: Suction, feed: Feed, drawn: Drawn) -> Suction:
    """Add the choices of bore; none, where a fact other than the bores themselves is lacking."""
    segments = [drawn.graph.segment(segment_id) for segment_id in feed.segments]
    hoses = [segment for segment in segments if segment.metal_line is None]
    lacking = set(found.missing) - {bore_fact(segment) for segment in hoses}
    if not hoses or lacking or (found.missing and not drawn.is_tree):
        return found
    lengths = {segment.id: hose_length(drawn.graph, segment) or 0.0 for segment in hoses}
    choices = [
        choice
        for bore_m in STANDARD_BORES_M
        if (choice := _choice(feed, lengths, bore_m, drawn)) is not None
    ]
    smallest = smallest_bore(choices, drawn.graph.engine(found.engine))
    return replace(found, choices=tuple(choices), smallest_bore_m=smallest)


def smallest_bore(choices: Sequence[BoreChoice], engine: Engine) -> float | None:
    """The smallest bore whose vacuum the engine's maker allows, never below the maker's own.

    None without a limit, and where no bore is enough.

    >>> from fractions import Fraction as F
    >>> choices = [BoreChoice(0.00635, 9e3, 0.0), BoreChoice(0.009525, 6e3, 0.0)]
    >>> smallest_bore(choices, Engine("E", inlet_vacuum_limit_pa=F(6773)))
    0.009525
    """
    limit_pa = engine.inlet_vacuum_limit_pa
    if limit_pa is None:
        return None
    least_m = float(engine.minimum_bore_m or 0) - BORE_TOLERANCE_M
    enough = [c.bore_m for c in choices if c.vacuum_pa <= limit_pa and c.bore_m >= least_m]
    return min(enough, default=None)


def _choice(
    feed: Feed, lengths_m: dict[str, float], bore_m: float, drawn: Drawn
) -> BoreChoice | None:
    links = list(drawn.network.links)
    for segment_id, length_m in lengths_m.items():
        index = drawn.network.index[segment_id]
        links[index] = replace(links[index], runs=(Run(bore_m, length_m),))
    if dip_tube(drawn.graph.component(feed.source)) is None and feed.segments[0] in lengths_m:
        index = drawn.network.index[feed.source]
        entrance = tuple(Run(bore_m, 0.0, run.fittings_k) for run in links[index].runs)
        links[index] = replace(links[index], runs=entrance)
    flows = drawn.flows_m3_s if drawn.is_tree else drawn.solve(links)
    tank, inlet_m = drawn.graph.tank_of(feed.source), port_height(drawn.graph, feed.inlet)
    if flows is None or tank is None or tank.lowest_usable_m is None or inlet_m is None:
        return None
    nu = drawn.liquid.viscosity_m2_s
    loss_m = sum(link_loss(links[i], flows[i], nu) for i in drawn.network.way(feed))
    lifted_m = inlet_m - float(tank.lowest_usable_m)
    weight = drawn.liquid.density_kg_m3 * G_M_S2
    contents_m3 = sum(lengths_m.values()) * bore_area(bore_m)
    return BoreChoice(bore_m, (loss_m + lifted_m) * weight, contents_m3)
