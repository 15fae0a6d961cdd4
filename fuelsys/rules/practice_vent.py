"""A vent that drains both ways: Coast Guard boatbuilder handbook at 183.520."""

from __future__ import annotations

from fractions import Fraction

from fuelsys.document.model import Segment
from fuelsys.graph import Graph
from fuelsys.rules.base import PRACTICE, Result, cannot_tell, failed, passed, rule
from fuelsys.rules.context import Context, segment_path
from fuelsys.rules.fastening import inches
from fuelsys.text import Text


@rule(
    id="practice-vent-drains",
    title="Vent without a trap",
    words=Text(
        "Government guidance asks a vent without sags: it drains to the tank, to the outside,"
        " or both ways, so that no plug of fuel can close it. A low place that holds fuel fails"
        " as practice. It binds nobody by law and looks only at vents."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation="Coast Guard boatbuilder handbook at 33 CFR 183.520",
    force="voluntary",
    evidence="S",
    services=("vent",),
)
def vent_drains(segment: Segment, context: Context) -> Result:
    """No low place holds fuel: the run drains to the tank, to the outside, or both ways."""
    graph = context.graph
    run = graph.polyline(segment.id)
    if run is None:
        return _unknown((segment.id,))
    start, before = _rim(graph, segment.from_id, {segment.id})
    end, after = _rim(graph, segment.to_id, {segment.id})
    pockets = run.pockets(start_rim_m=start, end_rim_m=end)
    if pockets:
        level = inches(Fraction(pockets[0].level_m).limit_denominator(10**6), computed=True)
        return failed(
            Text("This vent has a low place that holds fuel up to {level}.", {"level": level}),
            remedy=Text("Run it so that it rises all the way, or drains both ways."),
        )
    if before or after:
        return _unknown((*before, *after))
    return passed(Text("The vent drains: it has no low place that holds fuel."))


def _unknown(segment_ids: tuple[str, ...]) -> Result:
    return cannot_tell(
        Text("Cannot tell whether this vent holds fuel: its run is not on file."),
        *(segment_path(name, "route") for name in dict.fromkeys(segment_ids)),
        remedy=Text("Measure the heights along the run and add them."),
    )


def _rim(graph: Graph, component_id: str, seen: set[str]) -> tuple[float | None, tuple[str, ...]]:
    """The level over which fuel leaves past a component, with the vents whose run is lacking.

    Beyond a tee it leaves by the lower branch. None where the vent ends here.
    """
    onward = [
        other
        for other in graph.segments_at(component_id)
        if other.service == "vent" and other.id not in seen
    ]
    rims: list[float] = []
    unknown: tuple[str, ...] = ()
    for other in onward:
        run = graph.polyline(other.id)
        if run is None:
            return None, (other.id,)
        beyond = graph.neighbor(other.id, component_id)
        further, lacking = _rim(graph, beyond, seen | {other.id})
        rims.append(max(run.highest()[1], further if further is not None else run.highest()[1]))
        unknown += lacking
    return min(rims, default=None), unknown
