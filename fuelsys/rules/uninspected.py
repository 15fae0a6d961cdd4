"""Uninspected vessels: backfire flame control and old ventilation, 46 CFR 25.35-1 and 25.40-1."""

from __future__ import annotations

from datetime import date

from fuelsys.document.model import Boat, Engine
from fuelsys.rules.answers import Answer, all_of, any_of, known, unless
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
from fuelsys.rules.spaces import is_gasoline_inside, tanks_vent_outside
from fuelsys.text import Text

FIT = Text("Fit a flame arrester made for backfire flame control.")
NONE_FITTED = Text("The engine has no backfire flame control.")
UNKNOWN = Text("Cannot tell whether this engine has backfire flame control.")
LOOK = Text("Look at the engine's air intake, and add the engine's year.")
PUT_IN_UNKNOWN = Text(
    "Cannot tell whether this engine was put in before the rule. Its own year does not say."
)
ASK = Text("Find out when she was built and when the engine was put in. A lead decides.")
OLD_MAY_STAY = Text(
    "The engine has no flame control. What was fitted before November 19, 1952 may stay while it"
    " is serviceable. A lead decides."
)
DUCTS_UNKNOWN = Text("Cannot tell whether the duct rule for older or commercial boats holds.")
DUCTS_ASK = Text(
    "Add when she was built, whether she is open, whether she earns money, and of each tank space"
    " its electrics and where the vent ends."
)
DUCTS_LOOK = Text("Look for an intake and an exhaust duct in each engine and tank space.")
EACH_SPACE = Text(
    "Each engine and tank space needs two ducts with cowls. A lead looks and decides."
)
UNLESS_183 = Text(
    "Each engine and tank space needs two ducts with cowls, unless the boat meets 33 CFR 183. A"
    " lead looks and decides."
)
ENGINE_SPACES = Text(
    "Each engine space needs two ducts with cowls. The tank spaces are relieved, for their"
    " electrics are ignition-protected and their tanks vent outside. A lead looks and decides."
)
TANKS_FREE = Text(
    "No engine stands below, and the electrics of her tank spaces are ignition-protected and the"
    " tanks vent outside."
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
    control = known(engine.backfire_flame_control, engine_path(engine.id, "backfire_flame_control"))
    if control.holds:
        return passed(Text("The engine has backfire flame control."))
    missing = (*inside.missing, *control.missing)
    new = _put_in_later(engine, context)
    if new is None:
        year = () if engine.model_year is not None else (engine_path(engine.id, "model_year"),)
        told = (UNKNOWN, LOOK) if year else (PUT_IN_UNKNOWN, ASK)
        return cannot_tell(told[0], *missing, *(year or ("boat.built",)), remedy=told[1])
    if missing:
        return cannot_tell(UNKNOWN, *missing, remedy=LOOK)
    return failed(NONE_FITTED, remedy=FIT) if new else review(OLD_MAY_STAY, remedy=FIT)


def _put_in_later(engine: Engine, context: Context) -> bool | None:
    """Whether the engine went in when nothing might stay without; None where that is not known.

    It went in no earlier than it was made and she was built, and maybe long after: an old year
    frees nobody.
    """
    year, built = engine.model_year, context.document.boat.built
    reach, end = context.day("installed_from"), context.day("no_exception_from")
    if (built and built.on_or_after(end)) or (year is not None and year > end.year):
        return True
    reached = year is not None and (year >= reach.year or bool(built and built.on_or_after(reach)))
    return False if reached else None


@rule(
    id="cfr-46-25-40-1",
    title="Ventilator ducts of older boats",
    words=Text(
        "Whoever runs the boat is bound: a closed motorboat built or decked on or after"
        " {built_from} has two ventilator ducts with cowls for each engine and tank space. Left"
        " out are open boats, boats built on or after {relieved_from} that earn no money, carry"
        " {few_passengers} passengers or fewer, or meet 33 CFR 183, which a lead judges; and, on"
        " boats built on or after {tanks_relieved_from}, tank spaces with ignition-protected"
        " electrics whose tanks vent outside."
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
        "46-cfr/25-40/tanks_relieved_from",
    ),
)
def ventilator_ducts(boat: Boat, context: Context) -> Result:
    """Two ducts with cowls for each engine and tank space, unless 33 CFR 183 governs."""
    reached = _since(context, "built_from")
    free = any_of((known(boat.open_boat, "boat.open_boat"), _not(reached), _relieved(context)))
    if free.holds:
        return not_applicable(Text("An open boat, or one whose ventilation 33 CFR 183 governs."))
    tanks_free = all_of((_since(context, "tanks_relieved_from"), tanks_vent_outside(context)))
    inside = any_of(is_gasoline_inside(engine) for engine in context.document.engines)
    all_free = all_of((_not(inside), tanks_free))
    if all_free.holds:
        return not_applicable(TANKS_FREE, citation="46 CFR 25.40-1(d)")
    lacking = any_of((free, all_free))
    if lacking.holds is None:
        return cannot_tell(DUCTS_UNKNOWN, *lacking.missing, remedy=DUCTS_ASK)
    if tanks_free.holds:
        return review(ENGINE_SPACES, remedy=DUCTS_LOOK)
    new = _since(context, "relieved_from").holds
    return review(UNLESS_183 if new else EACH_SPACE, remedy=DUCTS_LOOK)


def _not(answer: Answer) -> Answer:
    return answer if answer.holds is None else Answer(not answer.holds)


def _since(context: Context, key: str) -> Answer:
    """Whether the boat was built on or after a day of the rule."""
    built = context.document.boat.built
    told = None if built is None else built.on_or_after(context.day(key))
    return known(told, "boat.built")


def _relieved(context: Context) -> Answer:
    """25.40-1(c): newer boats that earn no money, or carry few."""
    boat = context.document.boat
    few = None if boat.passengers is None else boat.passengers <= context.value("few_passengers")
    private = unless(boat.commercial, "boat.commercial")
    use = any_of((private, known(few, "boat.passengers")))
    return all_of((_since(context, "relieved_from"), use))
