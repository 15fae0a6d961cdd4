"""How firmly a severed-hose verdict stands, and what would turn it; worked out when asked for.

It takes some thirty discharges, so no evaluation carries it: a page asks for one segment.
"""

from __future__ import annotations

from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.figures_crest import VAPOR_SOURCE, CrestFigure, crest_figure
from fuelsys.evaluation.inputs_discharge import discharge_inputs
from fuelsys.graph import Graph
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.emptying import emptying
from fuelsys.hydraulics.remedies import OpeningNeeded, lift_needed, opening_needed
from fuelsys.hydraulics.result import LIMIT_M3, Discharge
from fuelsys.hydraulics.tolerance import PATTERNS, SURVEY_M, Tolerance, survey_tolerance
from fuelsys.hydraulics.ways import reaches
from fuelsys.hydraulics.wording import reseats
from fuelsys.text import Figure, Text

METHOD = Text(
    "the severed-hose discharge again, with every height out by {tolerance} either way, in {ways}"
    " patterns"
)
SOURCE = "33 CFR 183.558(b); the tolerance is this project's own choice"
OUTCOMES = {"within": "pass", "over": "fail", "review": "review", "cannot_tell": "cannot_tell"}
TURNS = Text("±{tolerance} on the heights turn the verdict. Survey them again, against one level.")
STEADY = Text(
    "±{tolerance} on the heights leave the verdict as it is, in each of {ways} patterns tried; the"
    " worst of all others may be a little worse."
)
LIFTED = Text("It would be within the limit with no point lower than {level}: a lift of {rise}.")
NO_LIFT = Text("No lift of the low points alone brings it within the limit.")
VALVE = Text("A valve holds at every cut from an opening head of {head}.")
VALVE_ENOUGH = Text("With such a valve it would be within the limit.")
VALVE_SHORT = Text("Even with such a valve too much stands in the hose.")
FALLING = Text(
    "With the tank's surface falling as it runs, {volume} in all out of the same cut, both ends and"
    " what stands in the hose in it; the steady figure counts."
)
NOT_FALLING = Text(
    "With the tank's surface falling less may run out. It is worked out for one tank on a side,"
    " its vent open and its plan area on file; the steady figure counts."
)


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
    falling_m3, crest = emptying(graph, found), crest_figure(graph, found)
    said = [_steadiness(margin), *_lift(graph, segment_id, found), *_valve(valve, found)]
    said += [*_falling(graph, found, falling_m3), *(crest.said if crest else ())]
    return Computed(
        found.volume_m3,
        "ml",
        Text(METHOD.msgid, _patterns()),
        f"{SOURCE}; {VAPOR_SOURCE}" if crest else SOURCE,
        discharge_inputs(graph, segment_id, crest=crest is not None),
        tuple(said),
        tuple(dict.fromkeys((*found.missing, *(crest.missing if crest else ())))),
        in_unit(LIMIT_M3, "ml"),
        OUTCOMES[found.verdict] if margin.steady else "review",
        details={
            "least": _ml(margin.least_m3),
            "most": _ml(margin.most_m3),
            "opening_head": None if valve is None else in_unit(valve.head_m, "in", computed=True),
            "falling_head": _ml(falling_m3),
            **_crest(crest),
        },
    )


def _ml(volume_m3: float | None) -> Figure | None:
    return None if volume_m3 is None else in_unit(volume_m3, "ml", computed=True)


def _crest(crest: CrestFigure | None) -> dict[str, Figure | None]:
    """How high the way to the cut goes, and the most at which fuel still siphons; reported only."""
    if crest is None:
        return {}
    limit = None if crest.limit_m is None else in_unit(crest.limit_m, "in", computed=True)
    return {"crest": in_unit(crest.crest_m, "in", computed=True), "crest_limit": limit}


def _patterns() -> dict[str, object]:
    return {"tolerance": in_unit(SURVEY_M, "mm"), "ways": Figure(len(PATTERNS))}


def _steadiness(margin: Tolerance) -> Text:
    return Text((STEADY if margin.steady else TURNS).msgid, _patterns())


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


def _valve(valve: OpeningNeeded | None, found: Discharge) -> list[Text]:
    said = []
    if valve is not None and valve.head_m > 0.0:
        said.append(Text(VALVE.msgid, {"head": in_unit(valve.head_m, "in", computed=True)}))
        said.append(VALVE_ENOUGH if valve.verdict == "within" else VALVE_SHORT)
    return said if found.held_share is None else [*said, reseats(found.held_share)]


def _falling(graph: Graph, found: Discharge, total_m3: float | None) -> list[Text]:
    """What a falling surface changes; that it is not worked out, where an area is on file."""
    if total_m3 is not None:
        return [Text(FALLING.msgid, {"volume": in_unit(total_m3, "ml", computed=True)})]
    if found.state != "open":
        return []
    sources = (way.source for end in reaches(graph, found.segment_id) for way in end.ways)
    tanks = (graph.tank_of(source.component) for source in sources)
    areas = [tank for tank in tanks if tank is not None and tank.plan_area_m2 is not None]
    return [NOT_FALLING] if areas else []
