"""Tank vents and what overflows: 33 CFR 183.520 and 183.564(a)."""

from __future__ import annotations

from fuelsys.document.model import Component, Tank
from fuelsys.rules.answers import all_of, known
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    BUILDER,
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    cannot_tell,
    failed,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, component_path, tank_path
from fuelsys.text import Text

ARRESTER = Question(
    good=Text("The vent has a flame arrester that can be cleaned."),
    bad=Text("The vent has no flame arrester that can be cleaned."),
    unknown=Text("Cannot tell whether the vent has a flame arrester that can be cleaned."),
    remedy=Text("Fit a vent with a flame arrester that can be cleaned."),
    look=Text("Look into the vent fitting and add whether it has a screen that comes out."),
)
SPILL = Question(
    good=Text("What overflows here runs overboard."),
    bad=Text("What overflows here runs into the boat."),
    unknown=Text("Cannot tell whether what overflows here runs into the boat."),
    remedy=Text("Move the fitting, or lead its overflow outboard."),
    look=Text("Pour water over the fitting, watch where it runs, and add it."),
)
KEPT = "While it is filled the vent keeps the tank below {limit}."
NOT_KEPT = "While it is filled pressure in the tank rises above {limit}."
DIPS_FULL = (
    "If the dips of the vent stand full, pressure in the tank may rise above {limit} while it is"
    " filled. A lead decides and says why."
)


@rule(
    id="cfr-33-183-520-a",
    title="Pressure while filling",
    words=Text(
        "The builder fits a vent so free that pressure in the tank stays within {label_share} of"
        " the pressure on its label while it is filled. The figure is computed from the vent's"
        " run and bore, not measured. Without the label pressure it cannot be told."
    ),
    regime=SUBPART_J,
    applies_to="tank",
    citation="33 CFR 183.520(a)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    parameters=("33-cfr/183-520/label_share",),
    practice_id="practice-vent-pressure",
)
def vent_pressure(tank: Tank, context: Context) -> Result:
    """The vent keeps the tank at or below 80 % of its label pressure; computed, not measured."""
    found = context.discharges.vent(tank.id)
    if found is None or found.outcome == "cannot_tell":
        missing = found.missing if found else ()
        return cannot_tell(
            Text("Cannot tell what pressure the tank comes to while it is filled."),
            *(missing or (tank_path(tank.id, "label_pressure_psi"),)),
            remedy=Text("Add the vent's run and bore, and the pressure on the tank's label."),
        )
    figures = {"measured": found.measured, "limit": found.limit}
    if found.outcome == "pass":
        return passed(Text(KEPT, figures), evidence="I", **figures)
    remedy = Text("Fit a wider vent, or one without dips.")
    if found.outcome == "fail":
        return failed(Text(NOT_KEPT, figures), remedy=remedy, evidence="I", **figures)
    return review(Text(DIPS_FULL, figures), remedy=remedy, evidence="I", **figures)


@rule(
    id="cfr-33-183-520-b-1",
    title="Flame arrester on the vent",
    words=Text(
        "The builder fits each vent with a flame arrester that can be cleaned, unless the vent"
        " itself is one. An arrester that does not come out for cleaning fails. As practice it"
        " is not asked of a diesel system."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.520(b)(1)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    kinds=("vent_fitting",),
    practice_id="practice-flame-arrester",
    gasoline_practice=True,
)
def flame_arrester(part: Component, _context: Context) -> Result:
    """Each vent has a cleanable flame arrester, or is one."""
    keys = {"flame_arrester": part.flame_arrester, "arrester_cleanable": part.arrester_cleanable}
    return ARRESTER.on(all_of(known(f, component_path(part.id, key)) for key, f in keys.items()))


@rule(
    id="cfr-33-183-520-b-2",
    title="Overflow of the vent",
    words=Text(
        "The builder places each vent so that what overflows from it, at up to {overflow_rate},"
        " does not run into the boat. Water poured over the fitting shows it. Fittings"
        " that are not vents are looked at by other rules."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.520(b)(2)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    kinds=("vent_fitting",),
    parameters=("33-cfr/183-520/overflow_rate",),
    practice_id="practice-vent-overflow",
)
def vent_overflow(part: Component, _context: Context) -> Result:
    """Overflow at up to 2 gallons a minute does not enter the boat."""
    return _spill(part)


@rule(
    id="cfr-33-183-564-a",
    title="Overflow of the fill",
    words=Text(
        "The builder places the deck fill so that an overflow of up to {overflow_rate} for"
        " {overflow_time} or more does not run into the boat while she floats at rest. Water"
        " poured over it shows it. Only deck fills are looked at."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.564(a)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    kinds=("deck_fill",),
    parameters=("33-cfr/183-564/overflow_rate", "33-cfr/183-564/overflow_time"),
    practice_id="practice-fill-overflow",
)
def fill_overflow(part: Component, _context: Context) -> Result:
    """Overflow at up to 5 gallons a minute for 5 seconds or more does not enter the boat."""
    return _spill(part)


def _spill(part: Component) -> Result:
    outboard = None if part.overflow_enters_boat is None else not part.overflow_enters_boat
    return SPILL.of(outboard, component_path(part.id, "overflow_enters_boat"))
