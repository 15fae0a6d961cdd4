"""How firmly a severed-hose verdict stands, and what would turn it; worked out when asked for.

It takes some thirty discharges, so no evaluation carries it: a page asks for one segment.
"""

from __future__ import annotations

from fuelsys.document.model import Tank
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.graph import Graph
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.falling import falling_outflow
from fuelsys.hydraulics.remedies import RESEATS_SHARE, OpeningNeeded, lift_needed, opening_needed
from fuelsys.hydraulics.result import LIMIT_M3, Discharge
from fuelsys.hydraulics.runs import bore, hose_length
from fuelsys.hydraulics.sources import fuel_liquid
from fuelsys.hydraulics.tolerance import SURVEY_M, Tolerance, survey_tolerance
from fuelsys.text import Figure, Text

METHOD = Text("the severed-hose discharge again, with every height out by {tolerance} either way")
SOURCE = "33 CFR 183.558(b); the tolerance is this project's own choice"
OUTCOMES = {"within": "pass", "over": "fail", "review": "review", "cannot_tell": "cannot_tell"}
TURNS = Text("±{tolerance} on the heights turn the verdict. Survey them again, against one level.")
STEADY = Text("±{tolerance} on the heights leave the verdict as it is.")
LIFTED = Text("It would be within the limit with no point lower than {level}: a lift of {rise}.")
NO_LIFT = Text("No lift of the low points alone brings it within the limit.")
VALVE = Text("A valve holds at every cut from an opening head of {head}.")
VALVE_ENOUGH = Text("With such a valve it would be within the limit.")
VALVE_SHORT = Text("Even with such a valve too much stands in the hose.")
RESEATS = Text(
    "The head uses {share} of the valve's opening head; a valve that closes again at less than it"
    " opens may let fuel run."
)
FALLING = Text("With the tank's surface falling as it runs, {volume}; the steady figure counts.")


def discharge_margin(graph: Graph, segment_id: str) -> Computed | None:
    """The tolerance of a segment's discharge, the lift and the valve that would turn it.

    Parameters
    ----------
    graph : Graph
    segment_id : str

    Returns
    -------
    Computed or None
        [mL]. Pass or fail only where every survey within the tolerance agrees, else review. None
        for a segment without a discharge.

    Raises
    ------
    KeyError
        The graph has no such segment.

    Valid for
    ---------
    As `fuelsys.hydraulics.tolerance` and `remedies`. For information: the segment's outcome is
    that of the discharge itself.

    Source
    ------
    33 CFR 183.558(b).

    Examples
    --------
    >>> from fuelsys.document.model import Component, Document, Segment
    >>> graph = Graph(Document(components=(Component("A", "tee"), Component("B", "tee")),
    ...     segments=(Segment("S", "return", "A", "B"),)))
    >>> discharge_margin(graph, "S") is None
    True
    """
    found, margin = discharge(graph, segment_id), survey_tolerance(graph, segment_id)
    if found is None or margin is None:
        return None
    valve = opening_needed(graph, segment_id)
    falling_m3 = _falling(graph, found)
    said = [_steadiness(margin), *_lift(graph, segment_id, found), *_valve(valve)]
    if falling_m3 is not None:
        said.append(Text(FALLING.msgid, {"volume": in_unit(falling_m3, "ml", computed=True)}))
    return Computed(
        found.volume_m3,
        "ml",
        Text(METHOD.msgid, {"tolerance": in_unit(SURVEY_M, "mm")}),
        SOURCE,
        {},
        tuple(said),
        found.missing,
        in_unit(LIMIT_M3, "ml"),
        OUTCOMES[found.verdict] if margin.steady else "review",
        details={
            "least": _ml(margin.least_m3),
            "most": _ml(margin.most_m3),
            "opening_head": None if valve is None else in_unit(valve.head_m, "in", computed=True),
            "falling_head": _ml(falling_m3),
        },
    )


def _ml(volume_m3: float | None) -> Figure | None:
    return None if volume_m3 is None else in_unit(volume_m3, "ml", computed=True)


def _steadiness(margin: Tolerance) -> Text:
    tolerance = {"tolerance": in_unit(SURVEY_M, "mm")}
    return Text((STEADY if margin.steady else TURNS).msgid, tolerance)


def _lift(graph: Graph, segment_id: str, found: Discharge) -> list[Text]:
    if found.verdict == "within":
        return []
    lift = lift_needed(graph, segment_id)
    if lift is None:
        return [NO_LIFT]
    figures = {
        "level": in_unit(lift.level_m, "in", computed=True),
        "rise": in_unit(lift.rise_m, "in", computed=True),
    }
    return [Text(LIFTED.msgid, figures)]


def _valve(valve: OpeningNeeded | None) -> list[Text]:
    if valve is None or valve.head_m <= 0.0:
        return []
    said = [Text(VALVE.msgid, {"head": in_unit(valve.head_m, "in", computed=True)})]
    said.append(VALVE_ENOUGH if valve.verdict == "within" else VALVE_SHORT)
    recorded = valve.recorded_m
    if recorded and RESEATS_SHARE * recorded < valve.head_m <= recorded:
        share = in_unit(100.0 * valve.head_m / recorded, "pct", computed=True)
        said.append(Text(RESEATS.msgid, {"share": share}))
    return said


def _falling(graph: Graph, found: Discharge) -> float | None:
    """Flow of one tank with a plan area on file through one line, its surface falling [m3]."""
    lines = graph.lines_of(found.segment_id)
    if found.state != "open" or len(lines) != 1 or found.worst_cut_m is None:
        return None
    (line,) = lines
    tank, run = graph.tank_of(line.source), graph.polyline(found.segment_id)
    if tank is None or run is None or tank.plan_area_m2 is None or tank.fuel is None:
        return None
    cut = found.worst_cut_m if isinstance(found.worst_cut_m, float) else found.worst_cut_m[0]
    runs = _runs_to(graph, line.segments, found.segment_id, cut)
    head = _head(graph, tank, line.source, run.height_at(cut))
    if runs is None or head is None:
        return None
    return falling_outflow(
        head,
        runs,
        plan_area_m2=float(tank.plan_area_m2),
        viscosity_m2_s=fuel_liquid(graph, tank.fuel).viscosity_m2_s,
        cut_diameter_m=runs[-1][0],
        entrance_diameter_m=runs[0][0],
    )


def _runs_to(
    graph: Graph, segments: tuple[str, ...], own_id: str, cut_m: float
) -> list[tuple[float, float]] | None:
    runs: list[tuple[float, float]] = []
    for name in segments[: segments.index(own_id) + 1]:
        segment = graph.segment(name)
        width, length = bore(segment), hose_length(graph, segment)
        if width is None or length is None:
            return None
        runs.append((width, cut_m if name == own_id else length))
    return runs


def _head(graph: Graph, tank: Tank, source: str, cut_height_m: float) -> float | None:
    """Head at a cut below the surface, where no valve or pressure stands in between."""
    surface = tank.level_at_capacity_m
    plain = graph.component(source).anti_siphon == "none" and not tank.relief_pa
    return float(surface) - cut_height_m if plain and surface is not None else None
