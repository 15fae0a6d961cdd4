"""Uninspected vessels: backfire flame control and old ventilation, 46 CFR 25.35-1 and 25.40-1."""

from __future__ import annotations

from datetime import date

from fuelsys.document.model import Boat, Engine
from fuelsys.rules.answers import all_of, any_of, known, unless
from fuelsys.rules.base import (
    UNINSPECTED,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, engine_path
from fuelsys.rules.spaces import is_gasoline_inside
from fuelsys.text import Text

FIT = Text("Fit a flame arrester made for backfire flame control.")
NONE_FITTED = Text("The engine has no backfire flame control.")
UNKNOWN = Text("Cannot tell whether this engine has backfire flame control.")
OLD_MAY_STAY = Text(
    "The engine has no flame control. What was fitted before November 19, 1952 may stay while it"
    " is serviceable. A lead decides."
)


@rule(
    id="cfr-46-25-35-1",
    title="Backfire flame control",
    words=Text(
        "Whoever runs the boat is bound: a gasoline engine installed on or after"
        " {installed_from} has backfire flame control that is accepted for it. What was fitted"
        " before {no_exception_from} may stay while it serves. Outboards and diesel engines are"
        " left out."
    ),
    regime=UNINSPECTED,
    applies_to="engine",
    citation="46 CFR 25.35-1",
    force="operator",
    evidence="V",
    in_force_from=date(1940, 4, 26),
    parameters=("46-cfr/25-35/installed_from", "46-cfr/25-35/no_exception_from"),
)
def flame_control(engine: Engine, context: Context) -> Result:
    """Every gasoline engine but an outboard has acceptable backfire flame control."""
    inside = is_gasoline_inside(engine)
    if inside.holds is False:
        return None
    year, built = engine.model_year, context.document.boat.built
    if year is not None and year < context.day("installed_from").year:
        return not_applicable(Text("The engine is older than the rule."))
    control = known(engine.backfire_flame_control, engine_path(engine.id, "backfire_flame_control"))
    if control.holds:
        return passed(Text("The engine has backfire flame control."))
    missing = (*inside.missing, *control.missing)
    since = context.day("no_exception_from")
    new = bool(built and built.on_or_after(since)) or (year is not None and year > since.year)
    if not new and year is None:
        missing = (*missing, engine_path(engine.id, "model_year"))
    if missing:
        look = Text("Look at the engine's air intake, and add the engine's year.")
        return cannot_tell(UNKNOWN, *missing, remedy=look)
    return failed(NONE_FITTED, remedy=FIT) if new else review(OLD_MAY_STAY, remedy=FIT)


@rule(
    id="cfr-46-25-40-1",
    title="Ventilator ducts of older boats",
    words=Text(
        "Whoever runs the boat is bound: a closed motorboat built or decked on or after"
        " {built_from} has two ventilator ducts with cowls for each engine and tank space. Left"
        " out are open boats, and boats built on or after {relieved_from} that earn no money or"
        " carry {few_passengers} passengers or fewer, for 33 CFR 183 governs them."
    ),
    regime=UNINSPECTED,
    applies_to="boat",
    citation="46 CFR 25.40-1",
    force="operator",
    evidence="V",
    in_force_from=date(1940, 4, 26),
    parameters=(
        "46-cfr/25-40/built_from",
        "46-cfr/25-40/relieved_from",
        "46-cfr/25-40/few_passengers",
    ),
)
def ventilator_ducts(boat: Boat, context: Context) -> Result:
    """Two ducts with cowls for each engine and tank space, unless 33 CFR 183 governs."""
    built = boat.built
    new = None if built is None else built.on_or_after(context.day("relieved_from"))
    reached = None if built is None else built.on_or_after(context.day("built_from"))
    few = None if boat.passengers is None else boat.passengers <= context.value("few_passengers")
    private = None if boat.commercial is None else not boat.commercial
    use = any_of((known(private, "boat.commercial"), known(few, "boat.passengers")))
    relieved = any_of(
        (
            known(boat.open_boat, "boat.open_boat"),
            unless(reached, "boat.built"),
            all_of((known(new, "boat.built"), use)),
        )
    )
    if relieved.holds:
        return not_applicable(Text("An open boat, or one whose ventilation 33 CFR 183 governs."))
    if relieved.holds is None:
        look = Text("Add when she was built, whether she is open, and whether she earns money.")
        unknown = Text("Cannot tell whether the duct rule for older or commercial boats holds.")
        return cannot_tell(unknown, *relieved.missing, remedy=look)
    return review(
        Text("Each engine and tank space needs two ducts with cowls. A lead looks and decides."),
        remedy=Text("Look for an intake and an exhaust duct in each engine and tank space."),
    )
