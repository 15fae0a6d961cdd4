"""Where a tank is opened and whether one gets there: 33 CFR 183.518, .552, .554, .556(a)."""

from __future__ import annotations

from fuelsys.document.model import Component
from fuelsys.rules.answers import any_of, known, unless
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    BUILDER,
    SUBPART_J,
    SUBPART_J_FROM,
    EndPart,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    rule,
)
from fuelsys.rules.context import Context, component_path, end_path, tank_path
from fuelsys.rules.tanks import ENCASEMENTS
from fuelsys.text import Text

TANK_FITTINGS = ("withdrawal", "fill_spud", "vent_nipple", "return_fitting")
OPENING = Question(
    good=Text("The tank is opened here at its top."),
    bad=Text("The tank is opened here below its top, so a leak here can empty it."),
    unknown=Text("Cannot tell whether this fitting enters the tank at its top."),
    remedy=Text("Close this opening and take fuel from the top of the tank."),
    look=Text("Look where the fitting enters the tank and add it."),
)
ACCESS = Question(
    good=Text("It can be reached without taking anything permanent apart."),
    bad=Text("It cannot be reached without taking permanent structure apart."),
    unknown=Text("Cannot tell whether this can be reached without taking structure apart."),
    remedy=Text("Cut an access opening, or move the connection to where it can be reached."),
    look=Text("Try to reach it, and add whether it can be done."),
)


@rule(
    id="cfr-33-183-518",
    title="Openings at the top of the tank",
    words=Text(
        "The builder lets every opening into the tank lie at or above its topmost surface, so"
        " that no line can empty it by its own weight. A feed at the bottom or a low crossover"
        " between tanks fails. It is not asked of a portable tank, nor, as practice, of diesel."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.518",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=TANK_FITTINGS,
    practice_id="practice-tank-opening",
    gasoline_practice=True,
)
def opening_at_top(part: Component, _context: Context) -> Result:
    """Every opening is at or above the topmost surface of the tank."""
    at_top = None if part.at_bottom is None else not part.at_bottom
    return OPENING.of(at_top, component_path(part.id, "at_bottom"))


@rule(
    id="cfr-33-183-552",
    title="Fittings of an encased tank",
    words=Text(
        "The builder keeps the connections and fittings of a tank bedded in foam or fiberglass"
        " within reach. Its label is to be reached too, which is told and not checked here. A"
        " tank that stands free is left out."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.552",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    kinds=TANK_FITTINGS,
    practice_id="practice-encased-fitting",
)
def encased_fitting(part: Component, context: Context) -> Result:
    """Connections and fittings of a tank bedded in foam or fiberglass can be reached."""
    tank = context.graph.tank_of(part.id)
    if tank is None:
        return cannot_tell(ACCESS.unknown, component_path(part.id, "tank"), remedy=ACCESS.look)
    encased = None if tank.encased_in is None else tank.encased_in in ENCASEMENTS
    if encased is False:
        return not_applicable(Text("The tank is not bedded in foam or fiberglass."))
    reached = known(part.reachable, component_path(part.id, "reachable"))
    bare = unless(encased, tank_path(tank.id, "encased_in"))
    return ACCESS.on(any_of((reached, bare)))


@rule(
    id="cfr-33-183-554",
    title="Every connection can be reached",
    words=Text(
        "The builder lets every fitting, joint and connection be reached for looking, mending"
        " or removal without taking permanent structure apart. A hatch or a plate with screws is"
        " no permanent structure. Hose between its ends is not a joint and is left out."
    ),
    regime=SUBPART_J,
    applies_to=("component", "segment_end"),
    citation="33 CFR 183.554",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-access",
)
def access(part: Component | EndPart, _context: Context) -> Result:
    """Fittings, joints and connections: reached without removing permanent structure."""
    if isinstance(part, Component):
        return ACCESS.of(part.reachable, component_path(part.id, "reachable"))
    return ACCESS.of(part.end.reachable, end_path(part.segment.id, part.side, "reachable"))


@rule(
    id="cfr-33-183-556-a",
    title="No fitting for draining fuel",
    words=Text(
        "The builder may fit nothing to the fuel system that is made to drain it. Any drain"
        " fitting on file fails. A filter's own plug is looked at by another rule, and as"
        " practice diesel is not asked."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.556(a)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("drain_fitting",),
    practice_id="practice-no-drain",
    gasoline_practice=True,
)
def no_drain(_part: Component, _context: Context) -> Result:
    """The fuel system has no fitting that drains it."""
    return failed(
        Text("This fitting drains the fuel system. None may be there."),
        remedy=Text("Take the fitting out and close the opening."),
    )
