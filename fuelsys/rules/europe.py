"""European Union: Directive 2013/53/EU, Annex I part A, 5.2, as read in a secondary text.

The directive gives no numbers; those of the ISO standards were not verified, so a lead decides.
"""

from __future__ import annotations

from fuelsys.document.model import Segment, Tank
from fuelsys.rules.answers import Answer, known
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    BUILDER,
    EUROPE,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, compartment_path, tank_path
from fuelsys.rules.fastening import is_hose
from fuelsys.rules.fuel import DIESEL, fuel_of
from fuelsys.text import Text

CITATION = "2013/53/EU, Annex I.A 5.2"
UNDATED = "the text read gives no first day"
DIESEL_TANK = Text("A diesel tank may be part of the hull.")
APART = Question(
    good=Text("The gasoline tank is not part of the hull."),
    bad=Text("The gasoline tank is part of the hull."),
    unknown=Text("Cannot tell whether a gasoline tank is part of the hull."),
    remedy=Text("Fit a tank of its own."),
    look=Text("See whether the hull is a wall of the tank, and what fuel it holds."),
)
NOT_VERIFIED = Text(
    "The standards name hose by use, and their limits were not verified here. A lead looks them up"
    " and decides."
)


def _is_gasoline(tank: Tank, context: Context) -> Answer:
    answer = fuel_of(context.graph, tank)
    told = None if answer is None or answer.fuel is None else answer.fuel != DIESEL
    return known(told, tank_path(tank.id, "fuel"))


@rule(
    id="eu-2013-53-5-2-tank",
    title="EU: gasoline tank apart from the hull",
    words=Text(
        "In the European Union the builder lets no gasoline tank be part of the hull. Diesel"
        " tanks may be."
    ),
    regime=EUROPE,
    applies_to="tank",
    citation=CITATION,
    force=BUILDER,
    evidence="S",
    undated=UNDATED,
)
def tank_apart(tank: Tank, context: Context) -> Result:
    """Gasoline tanks form no part of the hull; diesel tanks may."""
    gasoline = _is_gasoline(tank, context)
    if gasoline.holds is False:
        return not_applicable(DIESEL_TANK)
    apart = None if tank.integral is None else not tank.integral
    told = known(apart, tank_path(tank.id, "integral"))
    if told.holds is False and gasoline.holds is None:
        return APART.on(gasoline)
    return APART.on(told)


@rule(
    id="eu-2013-53-5-2-place",
    title="EU: gasoline tank apart from engine and cabin",
    words=Text(
        "In the European Union the builder keeps a gasoline tank protected from the engine and"
        " apart from living quarters. A tank in a cabin fails; one beside an engine is a"
        " person's decision, for a shield may protect it. Diesel tanks and portable tanks are"
        " left out."
    ),
    regime=EUROPE,
    applies_to="tank",
    citation=CITATION,
    force=BUILDER,
    evidence="S",
    undated=UNDATED,
)
def tank_place(tank: Tank, context: Context) -> Result:
    """Protected from the engine and separated from living quarters."""
    gasoline = _is_gasoline(tank, context)
    if gasoline.holds is False or not tank.installed:
        return None
    place = context.graph.compartment(tank.compartment) if tank.compartment else None
    kind = place.kind if place else None
    if kind not in (None, "cabin", "engine"):
        return passed(Text("The tank stands neither in the cabin nor beside the engine."))
    missing = gasoline.missing
    if kind is None:
        path = compartment_path(place.id, "kind") if place else tank_path(tank.id, "compartment")
        missing = (*missing, path)
    if missing:
        look = Text("Add in which compartment the tank stands, and what fuel it holds.")
        return cannot_tell(Text("Cannot tell where this tank stands."), *missing, remedy=look)
    if kind == "cabin":
        living = Text("A gasoline tank stands in living quarters.")
        return failed(living, remedy=Text("Move the tank, or wall it off from the cabin."))
    shielded = Text("A gasoline tank stands beside the engine. A lead decides if it is protected.")
    return review(shielded, remedy=Text("Look for a shield between engine and tank."))


@rule(
    id="eu-2013-53-5-2-hose",
    title="EU: hose for its use",
    words=Text(
        "In the European Union the builder who brings a boat to market uses fuel hose that"
        " suits its use. The directive gives no number, and the standards' limits were not"
        " verified here, so a lead looks them up and decides. Metal line is left out."
    ),
    regime=EUROPE,
    applies_to="segment",
    citation=f"{CITATION}; ISO 7840, ISO 8469, not verified",
    force=BUILDER,
    evidence="S",
    undated=UNDATED,
)
def hose(segment: Segment, _context: Context) -> Result:
    """No number is given: the directive has none, and the standards were not verified."""
    return review(NOT_VERIFIED) if is_hose(segment) else None
