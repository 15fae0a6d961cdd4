"""Parts that Subpart J leaves to others on a boat it reaches: 33 CFR 183.507 and diesel lines."""

from __future__ import annotations

from fuelsys.document.model import Component, Segment, Tank
from fuelsys.rules.base import (
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    not_applicable,
    review,
    rule,
)
from fuelsys.rules.context import Context
from fuelsys.rules.epa_dates import is_portable, served_by
from fuelsys.rules.fuel import DIESEL, fuel_of, unknown_fuel
from fuelsys.text import Text

EXEMPT = Text(
    "This is part of an outboard engine or of portable equipment. The rule leaves it out."
)
DIESEL_LINE = Text(
    "This is a diesel line on a boat that a gasoline engine brings under the rule. The words reach"
    " it, for a fuel system is not only gasoline. A lead decides and says why."
)


def left_out(segment: Segment, context: Context) -> bool:
    """Part of an outboard, or the line of portable tanks alone."""
    tanks = served_by(context, segment).tanks
    return segment.part_of_outboard or is_portable(segment, tanks)


def _fitting_left_out(part: Component, context: Context) -> bool:
    """A tank's own fitting goes with the tank, any other with the lines that meet there."""
    tank = context.graph.tank_of(part.id)
    if tank is not None:
        return not tank.installed
    segments = context.graph.segments_at(part.id)
    return bool(segments) and all(left_out(segment, context) for segment in segments)


@rule(
    id="cfr-33-183-507",
    title="Parts of outboards and portable equipment",
    words=Text(
        "The builder answers for every part of the fuel system of a boat that the rules reach."
        " Left out is what belongs to an outboard engine itself, and portable equipment: a"
        " portable tank, its line, a generator carried aboard. The hose from a built-in tank to"
        " an outboard stays in."
    ),
    regime=SUBPART_J,
    applies_to=("segment", "component", "tank"),
    citation="33 CFR 183.507",
    force="boat builder",
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    gate=True,
)
def outboard_or_portable(part: Segment | Component | Tank, context: Context) -> Result:
    """Each component of the fuel system is bound unless part of an outboard or portable."""
    if isinstance(part, Segment):
        exempt = left_out(part, context)
    elif isinstance(part, Tank):
        exempt = not part.installed
    else:
        exempt = _fitting_left_out(part, context)
    return not_applicable(EXEMPT) if exempt else None


@rule(
    id="cfr-33-183-501-diesel",
    title="Diesel lines beside a gasoline engine",
    words=Text(
        "On a boat that a gasoline engine or generator brings under the rules, the words for"
        " the fuel system are not limited to gasoline, so they may bind the builder for the"
        " diesel lines too. That is our reading: a lead decides. On a boat with diesel alone"
        " none of this applies."
    ),
    regime=SUBPART_J,
    applies_to=("segment", "component", "tank"),
    citation="33 CFR 183.501; 183.505",
    force="boat builder",
    evidence="I",
    in_force_from=SUBPART_J_FROM,
    gate=True,
)
def diesel_line(part: Segment | Component | Tank, context: Context) -> Result:
    """Fuel system, 183.505, is not limited to gasoline: a diesel line is a person's decision."""
    answer = fuel_of(context.graph, part)
    if answer is None or answer.fuel not in (None, DIESEL):
        return None
    if answer.fuel is None:
        return unknown_fuel(answer)
    return review(DIESEL_LINE)
