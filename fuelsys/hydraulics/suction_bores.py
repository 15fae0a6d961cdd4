"""An engine's line with its hoses in each standard bore, and the smallest bore that is enough."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from fuelsys.document.model import Engine, Segment
from fuelsys.hydraulics.friction import bore_area
from fuelsys.hydraulics.links import NO_FLOW_M3_S, Link, Run, link_loss
from fuelsys.hydraulics.runs import bore_fact
from fuelsys.hydraulics.series import TWO_G_M_S2, losses_along, speed_and_friction
from fuelsys.hydraulics.suction_parts import dip_tube
from fuelsys.hydraulics.suction_result import BoreChoice
from fuelsys.hydraulics.suction_way import Way

INCH_M = 0.0254
# Bores of feed hose as it is sold: common practice, no source. The narrowest first.
STANDARD_BORES_M = tuple(inches * INCH_M for inches in (0.25, 0.3125, 0.375, 0.5, 0.625))
BORE_TOLERANCE_M = 1e-9
_new = tuple.__new__  # a named tuple from all its fields, without matching names

Solve = Callable[[Sequence[Link]], list[float] | None]


def bore_choices(
    way: Way, missing: Sequence[str], *, solve: Solve | None
) -> tuple[BoreChoice, ...]:
    """The way in each standard bore; none, where a fact other than the bores is lacking.

    `solve` gives the flows of the whole network with other hoses. None where there is no loop:
    the flows then stay as they are, and with them all that is no hose.
    """
    segments = [way.graph.segment(segment_id) for segment_id in way.feed.segments]
    hoses = [segment for segment in segments if segment.metal_line is None]
    lift_m = way.lift_m
    if not hoses or lift_m is None or _lacks_more(missing, hoses, solve):
        return ()
    lengths = {hose.id: way.network.lengths_m[hose.id] or 0.0 for hose in hoses}
    losses = _lost_in_each(way, lengths) if solve is None else _solved(way, lengths, solve)
    hosed_m = sum(lengths.values())
    return tuple(
        _new(BoreChoice, (bore, (loss_m + lift_m) * way.weight, hosed_m * bore_area(bore)))
        for bore, loss_m in losses
    )


def _lacks_more(missing: Sequence[str], hoses: list[Segment], solve: Solve | None) -> bool:
    """Whether more is missing than the bores of hoses without a loop."""
    if not missing:
        return False
    return solve is not None or bool(set(missing) - {bore_fact(hose) for hose in hoses})


def smallest_bore(choices: Sequence[BoreChoice], engine: Engine) -> float | None:
    """The smallest bore whose vacuum the engine's maker allows, never below the maker's own.

    The narrowest choice stands first. None without a limit, and where no bore is enough.

    >>> from fractions import Fraction as F
    >>> choices = [BoreChoice(0.00635, 9e3, 0.0), BoreChoice(0.009525, 6e3, 0.0)]
    >>> smallest_bore(choices, Engine("E", inlet_vacuum_limit_pa=F(6773)))
    0.009525
    """
    limit_pa = engine.inlet_vacuum_limit_pa
    if limit_pa is None:
        return None
    least_m = float(engine.minimum_bore_m or 0) - BORE_TOLERANCE_M
    enough = (c.bore_m for c in choices if c.bore_m >= least_m and c.vacuum_pa <= limit_pa)
    return next(enough, None)


def _lost_in_each(way: Way, lengths_m: dict[str, float]) -> Iterator[tuple[float, float]]:
    """Each bore with the head lost on the way [m]; only what changes is worked out again."""
    parts = way.network.parts
    at = [position for position, index in enumerate(way.indices) if parts[index] in lengths_m]
    lengths = [lengths_m[parts[way.indices[position]]] for position in at]
    flows = [way.flows_m3_s[position] for position in at]
    entered = _first_bore_is_entrance(way, lengths_m)
    losses = list(way.losses_m)
    for bore_m in STANDARD_BORES_M:
        for position, lost in zip(at, _hoses(lengths, flows, bore_m, way.nu), strict=True):
            losses[position] = lost
        if entered:
            losses[0] = link_loss(_entrance(way.links[0], bore_m), way.flows_m3_s[0], way.nu)
        yield bore_m, sum(losses)


def _hoses(
    lengths_m: list[float], flows_m3_s: list[float], bore_m: float, viscosity_m2_s: float
) -> Iterator[float]:
    """What hoses of one bore lose; the friction is worked out where the flow changes."""
    at_m3_s = speed = f = 0.0
    for length_m, flow in zip(lengths_m, flows_m3_s, strict=True):
        if flow < NO_FLOW_M3_S:
            yield link_loss(Link("", "", (Run(bore_m, length_m),)), flow, viscosity_m2_s)
            continue
        if flow != at_m3_s:
            at_m3_s = flow
            speed, f = speed_and_friction(flow, bore_m, viscosity_m2_s)
        yield f * length_m / bore_m * speed * speed / TWO_G_M_S2


def _solved(way: Way, lengths_m: dict[str, float], solve: Solve) -> Iterator[tuple[float, float]]:
    """Each bore with the head lost on the way [m], where other hoses turn flows aside."""
    network = way.network
    for bore_m in STANDARD_BORES_M:
        links = list(network.links)
        for segment_id, length_m in lengths_m.items():
            index = network.index[segment_id]
            links[index] = links[index]._replace(runs=(Run(bore_m, length_m),))
        if _first_bore_is_entrance(way, lengths_m):
            index = network.index[way.feed.source]
            links[index] = _entrance(links[index], bore_m)
        flows = solve(links)
        if flows is not None:
            on_way = [links[index] for index in way.indices]
            losses = losses_along(on_way, [flows[index] for index in way.indices], way.nu)
            yield bore_m, sum(losses)


def _first_bore_is_entrance(way: Way, lengths_m: dict[str, float]) -> bool:
    """Whether fuel enters by the first hose: its pick-up has no tube on file."""
    tube = dip_tube(way.graph.component(way.feed.source))
    return tube is None and way.feed.segments[0] in lengths_m


def _entrance(link: Link, bore_m: float) -> Link:
    """A pick-up into a hose of another bore."""
    runs = tuple(_new(Run, (bore_m, 0.0, run.fittings_k)) for run in link.runs)
    return _new(Link, (*link[:2], runs, *link[3:]))
