"""Where a metal feed line meets its engine: 33 CFR 183.562."""

from __future__ import annotations

from fuelsys.document.model import Segment
from fuelsys.rules.answers import NO, YES, Answer
from fuelsys.rules.base import (
    BUILDER,
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, component_path, segment_path
from fuelsys.rules.fastening import inches
from fuelsys.text import Text

ON_ENGINE = ("engine_inlet", "carburetor", "fuel_rail", "vapor_separator")
RIGID = Text("This metal line is joined to the engine without a flexible line between.")
FIT_FLEXIBLE = Text("Join it to the engine through type A1 hose or corrugated flexible line.")
FREE = "The metal line is fixed {measured} from its joint. It must be fixed within {limit}."


def _ends_on_engine(segment: Segment, context: Context) -> Answer:
    """Whether the run goes on no further than the engine, or a pump that stands on it."""
    graph = context.graph
    onward = (s for s in graph.segments_at(segment.to_id) if s.from_id == segment.to_id)
    if any(other.service == "feed" for other in onward):
        return NO
    end = graph.component(segment.to_id)
    if end.kind in ON_ENGINE:
        return YES
    if end.kind != "fuel_pump":
        return NO
    if end.distance_to_engine_m is None:
        return Answer(None, (component_path(end.id, "distance_to_engine_in"),))
    return Answer(end.distance_to_engine_m == 0)


@rule(
    id="cfr-33-183-562-a",
    title="Flexible line between metal line and engine",
    words=Text(
        "The builder joins a metal feed line that is mounted on the boat to the engine through"
        " something flexible, so that the engine's shaking does not break it. Corrugated line"
        " gives way by itself. A metal line that ends elsewhere than at the engine is left out."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.562(a)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("feed",),
    practice_id="practice-flexible-joint",
)
def flexible_joint(segment: Segment, context: Context) -> Result:
    """A metal line mounted on the boat joins the engine through a flexible line."""
    line = segment.metal_line
    if line is None:
        return None
    if line.corrugated:
        return passed(Text("The line is corrugated and gives way."), evidence="I")
    rigid = _ends_on_engine(segment, context)
    if rigid.holds is None:
        look = Text("Add whether the pump stands on the engine, and how far from it.")
        unknown = Text("Cannot tell whether this metal line is joined to the engine rigidly.")
        return cannot_tell(unknown, *rigid.missing, remedy=look)
    if rigid.holds:
        return failed(RIGID, remedy=FIT_FLEXIBLE)
    return not_applicable(Text("This metal line does not end at the engine."))


@rule(
    id="cfr-33-183-562-b",
    title="Metal line fixed near its joint",
    words=Text(
        "The builder fixes a metal feed line to the boat within {anchor_max} of its joint with"
        " the flexible piece. No spacing of clips along the rest of the line is stated. Hose is"
        " left out."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.562(b)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("feed",),
    parameters=("33-cfr/183-562/anchor_max",),
    practice_id="practice-metal-anchor",
)
def anchored(segment: Segment, context: Context) -> Result:
    """Fixed to the structure within 4 in of its joint with the flexible line."""
    line = segment.metal_line
    if line is None:
        return None
    distance_m, limit_m = line.anchor_distance_m, context.value("anchor_max")
    if distance_m is None:
        return cannot_tell(
            Text("Cannot tell how far from its joint this metal line is fixed."),
            segment_path(segment.id, "metal_line", "anchor_distance_in"),
            remedy=Text("Measure from the joint with the flexible line to the first clip."),
        )
    figures = {"measured": inches(distance_m), "limit": inches(limit_m)}
    if distance_m <= limit_m:
        return passed(Text("The metal line is fixed near its joint."), **figures)
    return failed(Text(FREE, figures), remedy=Text("Add a clip near the joint."), **figures)
