"""The crest that fuel must pass on its way to a cut, against that at which it would boil."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from fuelsys.document.model import Fuel
from fuelsys.evaluation.computed import in_unit
from fuelsys.graph import Graph
from fuelsys.hydraulics.boiling import (
    COLDEST_C,
    LEAST_C,
    LEAST_RVP_PA,
    MOST_C,
    MOST_RVP_PA,
    WARMEST_C,
)
from fuelsys.hydraulics.crest import crest_limit
from fuelsys.hydraulics.liquids import DEFAULT_TEMPERATURE_C
from fuelsys.hydraulics.reading import Reading
from fuelsys.hydraulics.result import Discharge
from fuelsys.hydraulics.sources import fuel_liquid, fuel_of
from fuelsys.hydraulics.ways import Way, crest_of, reaches
from fuelsys.text import Text

CREST = Text(
    "To reach the cut fuel passes {crest} above the tank's surface. At {temperature} it boils at a"
    " crest from {limit}: reported, never the ground of a pass."
)
ABOVE = Text("The siphon may break there; what runs out is counted as if it did not.")
NO_RVP = Text(
    "To reach the cut fuel passes {crest} above the tank's surface. Its Reid vapor pressure is not"
    " on file, so that the crest at which it boils is not known."
)
DIESEL = Text(
    "To reach the cut fuel passes {crest} above the tank's surface. Of diesel no vapor pressure is"
    " used here, so that the crest at which it boils is not worked out."
)
OUTSIDE = Text("The fuel's temperature on file lies outside {low} to {high}. Check its unit.")
EXTRAPOLATED = Text("Vapor pressure outside {low} to {high} is extrapolated.")
BAD_RVP = Text("A Reid vapor pressure outside {low} to {high} is not gasoline's. Check it.")
VAPOR_SOURCE = (
    "crest of a siphon: hydrostatics; vapor pressure: AP-42 chapter 7.1 (secondary copy;"
    " distillation slope 3.0 unverified)"
)
RVP_PATH = "fuel.rvp_psi"


@dataclass(frozen=True, slots=True)
class CrestFigure:
    """How far the way to a cut goes above the tank's surface, and the most it could [m]."""

    crest_m: float
    limit_m: float | None
    said: tuple[Text, ...]
    missing: tuple[str, ...]


def crest_figure(graph: Graph, found: Discharge) -> CrestFigure | None:
    """The crest of the siphon to a segment's worst cut that comes nearest to boiling.

    None where fuel reaches the cut over no crest, or not at all; it changes no outcome.
    """
    place = _place(graph, found)
    if place is None:
        return None
    crests = []
    for reach in reaches(graph, found.segment_id):
        for way in reach.ways:
            crest = _crest(graph, way, found.segment_id, place)
            if crest is not None:
                crests.append(_figure(graph, way, found.segment_id, *crest))
    return min(crests, key=_spare, default=None)


def _spare(figure: CrestFigure) -> float:
    return -figure.crest_m if figure.limit_m is None else figure.limit_m - figure.crest_m


def _place(graph: Graph, found: Discharge) -> float | None:
    """The worst cut; the lowest point of the run, where which is worst is not known."""
    cut, run = found.worst_cut_m, graph.polyline(found.segment_id)
    if cut is not None:
        return cut[0] if isinstance(cut, tuple) else cut
    if run is None or found.volume_m3 is not None:
        return None
    return min(zip(run.heights_m, run.distances_m, strict=True))[1]


def _crest(graph: Graph, way: Way, own_id: str, place: float) -> tuple[float, float] | None:
    """Height above the tank's surface, and the opening head of valves before it [m]."""
    run, source = graph.polyline(own_id), way.source
    if run is None or not source.primed or abs(source.surface_m) == inf:
        return None
    crest = crest_of(graph, way, own_id, at_m=place)
    if crest is None or not source.flows(run.height_at(place)):
        return None
    above_m = crest.height_m - source.surface_m
    return (above_m, crest.opening_m) if above_m > 0.0 else None


def _figure(graph: Graph, way: Way, own_id: str, crest_m: float, opening_m: float) -> CrestFigure:
    facts, reading = graph.document.fuel, Reading(most=True)
    crest = {"crest": in_unit(crest_m, "in", computed=True)}
    tank = graph.tank_of(way.source.component)
    fuel = fuel_of(graph, tank, graph.segment(own_id).engine, reading)
    if fuel == "diesel":
        return CrestFigure(crest_m, None, (Text(DIESEL.msgid, crest),), ())
    missing = [*reading.asked, *([] if facts.rvp_pa is not None else [RVP_PATH])]
    if missing:
        return CrestFigure(crest_m, None, (Text(NO_RVP.msgid, crest),), tuple(missing))
    return _against_boiling(graph, fuel, crest_m, opening_m)


def _against_boiling(graph: Graph, fuel: str, crest_m: float, opening_m: float) -> CrestFigure:
    facts = graph.document.fuel
    unfit = _unfit(facts)
    if unfit is not None or facts.rvp_pa is None:
        return CrestFigure(crest_m, None, () if unfit is None else (unfit,), ())
    at_c = _temperature_c(facts)
    density = fuel_liquid(graph, fuel).density_kg_m3
    limit_m = crest_limit(float(facts.rvp_pa), at_c, density_kg_m3=density, opening_m=opening_m)
    figures = {
        "crest": in_unit(crest_m, "in", computed=True),
        "limit": in_unit(limit_m, "in", computed=True),
        "temperature": in_unit(at_c, "f"),
    }
    said = [Text(CREST.msgid, figures)]
    if crest_m > limit_m:
        said.append(ABOVE)
    if not COLDEST_C <= at_c <= WARMEST_C:
        ends = {"low": in_unit(COLDEST_C, "f"), "high": in_unit(WARMEST_C, "f")}
        said.append(Text(EXTRAPOLATED.msgid, ends))
    return CrestFigure(crest_m, limit_m, tuple(said), ())


def _temperature_c(facts: Fuel) -> float:
    return DEFAULT_TEMPERATURE_C if facts.temperature_c is None else float(facts.temperature_c)


def _unfit(facts: Fuel) -> Text | None:
    """A fact on file that no vapor pressure can be worked out from."""
    if facts.rvp_pa is not None and not LEAST_RVP_PA <= facts.rvp_pa <= MOST_RVP_PA:
        ends = {"low": in_unit(LEAST_RVP_PA, "psi"), "high": in_unit(MOST_RVP_PA, "psi")}
        return Text(BAD_RVP.msgid, ends)
    if not LEAST_C <= _temperature_c(facts) <= MOST_C:
        ends = {"low": in_unit(LEAST_C, "c"), "high": in_unit(MOST_C, "c")}
        return Text(OUTSIDE.msgid, ends)
    return None
