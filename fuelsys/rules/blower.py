"""Powered ventilation of engine compartments: 33 CFR 183.610, with 33 CFR 175.201."""

from __future__ import annotations

from fractions import Fraction

from fuelsys.document.model import Boat, Compartment, Engine
from fuelsys.rules.answers import Answer, all_of, any_of, known
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    BUILDER,
    SUBPART_K,
    SUBPART_K_FROM,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, compartment_path, engine_path
from fuelsys.rules.dated import (
    BUILT_FROM,
    READ_FROM,
    built_since,
    built_since_as_read,
    where_asked,
)
from fuelsys.rules.spaces import (
    OPEN,
    OPEN_AREA,
    holds_engine,
    is_gasoline_inside,
    is_open,
    open_per_volume,
    open_to_air,
)
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

SECTION = "33-cfr/183-610/"
VOLUMES = (SECTION + "small_volume", SECTION + "large_volume")
BLOWER = Question(
    good=Text("The engine compartment is open to the air or has an exhaust blower."),
    bad=Text("The engine compartment is closed and has no exhaust blower."),
    unknown=Text("Cannot tell whether a gasoline engine stands here without a blower."),
    remedy=Text("Fit an exhaust blower."),
    look=Text("Add in which compartment each engine stands, and its blower."),
)
INTAKE = Question(
    good=Text("The blower draws from the lower third, above the bilge water."),
    bad=Text("The blower does not draw from the lower third above the bilge water."),
    unknown=Text("Cannot tell from where the blower draws."),
    remedy=Text("Lead the blower's intake into the lower third, above the bilge water."),
    look=Text("Find the end of the blower's duct and add where it lies."),
)
LABEL = Question(
    good=Text("The blower notice stands at each ignition switch."),
    bad=Text("No notice at the ignition switch says to run the blower for 4 minutes."),
    unknown=Text("Cannot tell whether the blower notice stands at each ignition switch."),
    remedy=Text("Put the blower notice at each ignition switch."),
    look=Text("Look at each ignition switch and add whether the notice is there."),
)
TOO_WEAK = "The blower moves {measured}. A compartment of this size needs {limit}."
STRONG = Text("The blower is strong enough for this compartment.")
SIZE_UNKNOWN = Text("Cannot tell whether the blower is strong enough for this compartment.")
SIZE_LOOK = Text("Add the compartment's net volume and the blower's figures.")


def blower_on_file(place: Compartment) -> Answer:
    """Whether any blower is recorded for a compartment."""
    figures = (place.blower_rated_m3_s, place.blower_output_m3_s)
    known_flows = [flow for flow in figures if flow is not None]
    if not known_flows:
        return Answer(None, (compartment_path(place.id, "blower_rated_cfm"),))
    return Answer(any(flow > 0 for flow in known_flows))


@rule(
    id="cfr-33-183-610-a",
    title="Engine compartment: open, or a blower",
    words=Text(
        "Whoever runs a boat built on or after {built_from} is bound: a compartment with an"
        " installed gasoline engine that has a starter is open to the air or has an exhaust"
        " blower. Outboards, diesel engines and engines started by hand are left out."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.610(a); 33 CFR 175.201",
    force="operator",
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(BUILT_FROM, OPEN_AREA),
)
@built_since
def has_blower(place: Compartment, context: Context) -> Result:
    """A compartment with an installed gasoline engine that has a starter."""
    engine = holds_engine(context, place, cranked=True)
    if engine.holds is False:
        return None
    aired = any_of((blower_on_file(place), open_to_air(place, context)))
    if aired.holds:
        return passed(BLOWER.good)
    if engine.holds is None:
        missing = dict.fromkeys((*engine.missing, *aired.missing))
        return cannot_tell(BLOWER.unknown, *missing, remedy=BLOWER.look)
    return BLOWER.on(aired)


def _where_blown(said: Result, place: Compartment, context: Context) -> Result:
    """What is said of a blower; 183.610(a) says where one is lacking or not known."""
    if not blower_on_file(place).holds:
        return None
    asked = holds_engine(context, place, cranked=True)
    return where_asked(said, asked, BLOWER.unknown, BLOWER.look)


def _needed(place: Compartment, context: Context, key: str) -> Fraction | None:
    """The flow that the table asks of a compartment of this volume [m3/s]."""
    volume_m3 = place.net_volume_m3
    if volume_m3 is None:
        return None
    small, large = context.value("small_volume"), context.value("large_volume")
    if volume_m3 < small:
        return context.value(f"{key}_small")
    feet = from_base(volume_m3, "ft3")
    per_foot = context.value("one_cfm") * Fraction(feet)
    if volume_m3 <= large:
        return context.value(f"{key}_middle") * per_foot
    return context.value(f"{key}_large") * per_foot + context.value(f"{key}_added")


def _sized(place: Compartment, context: Context, key: str, flow: Fraction | None) -> Verdict:
    opened = open_to_air(place, context)
    if opened.holds:
        return not_applicable(OPEN)
    needed = _needed(place, context, key)
    fact = f"blower_{key}_cfm"
    facts = {"net_volume_ft3": place.net_volume_m3, fact: flow}
    missing = [compartment_path(place.id, name) for name, held in facts.items() if held is None]
    if needed is None or flow is None:
        return cannot_tell(SIZE_UNKNOWN, *missing, remedy=SIZE_LOOK)
    flows = {"measured": flow, "limit": needed}
    figures = {name: Figure(from_base(held, "cfm"), "cfm") for name, held in flows.items()}
    if flow >= needed:
        return passed(STRONG, **figures)
    if opened.holds is None:
        return cannot_tell(SIZE_UNKNOWN, *opened.missing, remedy=SIZE_LOOK, **figures)
    return failed(Text(TOO_WEAK, figures), remedy=Text("Fit a stronger blower."), **figures)


@rule(
    id="cfr-33-183-610-b",
    title="Rated capacity of the blower",
    words=Text(
        "Whoever runs a boat built on or after {built_from} is bound to blowers rated strong"
        " enough for the net volume: {rated_small} below {small_volume}, {rated_middle} cubic"
        " feet a minute for each cubic foot up to {large_volume}, and above it {rated_large} for"
        " each cubic foot and {rated_added} more. Several blowers add up. A compartment open to"
        " the air needs none."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.610(b); 33 CFR 175.201",
    force="operator",
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(
        BUILT_FROM,
        OPEN_AREA,
        *VOLUMES,
        SECTION + "one_cfm",
        SECTION + "rated_small",
        SECTION + "rated_middle",
        SECTION + "rated_large",
        SECTION + "rated_added",
    ),
)
@built_since
def blower_rated(place: Compartment, context: Context) -> Result:
    """By net volume: 50, 1.5 V, or V/2 + 100 cubic feet a minute; several add up."""
    return _where_blown(_sized(place, context, "rated", place.blower_rated_m3_s), place, context)


@rule(
    id="cfr-33-183-610-c",
    title="Output of the blower as installed",
    words=Text(
        "The builder sees that the blower moves enough where it is installed, with the engine"
        " stopped: {output_small} below {small_volume} net, {output_middle} cubic feet a minute"
        " for each cubic foot up to {large_volume}, and above it {output_large} for each cubic"
        " foot and {output_added} more. Compartments open to the air are left out, and so are"
        " boats built before {read_from}: that is our reading, for 33 CFR 175.201 does not name"
        " this paragraph."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.610(c)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(
        READ_FROM,
        OPEN_AREA,
        *VOLUMES,
        SECTION + "one_cfm",
        SECTION + "output_small",
        SECTION + "output_middle",
        SECTION + "output_large",
        SECTION + "output_added",
    ),
)
@built_since_as_read
def blower_output(place: Compartment, context: Context) -> Result:
    """By net volume, engine stopped: 20, 0.6 V, or 0.2 V + 40 cubic feet a minute."""
    return _where_blown(_sized(place, context, "output", place.blower_output_m3_s), place, context)


@rule(
    id="cfr-33-183-610-d",
    title="Where the blower draws",
    words=Text(
        "Whoever runs a boat built on or after {built_from} is bound to a blower that draws"
        " from the lower third of the compartment, where vapor lies, and above the normal bilge"
        " water. Compartments open to the air, or without a blower on file, are left out."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.610(d); 33 CFR 175.201",
    force="operator",
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(BUILT_FROM, OPEN_AREA),
)
@built_since
def blower_intake(place: Compartment, context: Context) -> Result:
    """In the lower third of the compartment, above the normal bilge water."""
    facts = {
        "intake_in_lower_third": place.intake_in_lower_third,
        "openings_above_bilge_water": place.openings_above_bilge_water,
    }
    low = all_of(known(fact, compartment_path(place.id, key)) for key, fact in facts.items())
    opened = open_to_air(place, context)
    said = not_applicable(OPEN) if opened.holds else INTAKE.on(any_of((low, opened)))
    return _where_blown(said, place, context)


@rule(
    id="cfr-33-183-610-f",
    title="Blower notice at the ignition switch",
    words=Text(
        "Whoever runs a boat built on or after {built_from} is bound to a notice by each"
        " ignition switch: gasoline vapor can explode, run the blower {blower_time} before a"
        " start, check the engine space for vapor. It is not asked where no closed compartment"
        " holds a gasoline engine with a starter."
    ),
    regime=SUBPART_K,
    applies_to="boat",
    citation="33 CFR 183.610(f); 33 CFR 175.201",
    force="operator",
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(BUILT_FROM, OPEN_AREA, SECTION + "blower_time"),
)
@built_since
def blower_label(boat: Boat, context: Context) -> Result:
    """Run the blower 4 minutes before a start and check the bilge for vapor."""
    needed = blower_needed(context, open_per_volume(context))
    if needed.holds is False:
        return None
    if boat.blower_label or needed.holds:
        return LABEL.of(boat.blower_label, "boat.blower_label")
    return _label_unknown(boat, needed)


def _label_unknown(boat: Boat, needed: Answer) -> Verdict:
    lacking = () if boat.blower_label is not None else ("boat.blower_label",)
    return cannot_tell(LABEL.unknown, *lacking, *needed.missing, remedy=LABEL.look)


def blower_needed(context: Context, per_volume: Fraction) -> Answer:
    """Whether any compartment closed to the air holds a gasoline engine with a starter."""
    return any_of(
        all_of(
            (
                is_gasoline_inside(engine),
                known(engine.cranking_motor, engine_path(engine.id, "cranking_motor")),
                _closed(context, engine, per_volume),
            )
        )
        for engine in context.document.engines
    )


def _closed(context: Context, engine: Engine, per_volume: Fraction) -> Answer:
    if engine.compartment is None:
        return Answer(None, (engine_path(engine.id, "compartment"),))
    opened = is_open(context.graph.compartment(engine.compartment), per_volume)
    return opened if opened.holds is None else Answer(not opened.holds)
