"""Natural ventilation of closed compartments: 33 CFR 183.620 and 183.630, with 175.201."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from fuelsys.document.model import Compartment
from fuelsys.hydraulics.ventilation import natural_area
from fuelsys.rules.answers import NO, Answer, all_of, any_of, known
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
    review,
    rule,
)
from fuelsys.rules.context import Context, compartment_path
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
    holds_tank_and_sparks,
    open_to_air,
    opens_to_engine,
    tank_permeates,
    tank_vents_here,
)
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

REACH = (
    "33-cfr/183-620/common_area",
    "33-cfr/183-620/permeation",
    "33-cfr/183-620/least_volume",
    OPEN_AREA,
)
NATURAL = Question(
    good=Text("The compartment has a supply and an exhaust opening."),
    bad=Text("Gasoline vapor can gather in this compartment, and air does not pass through it."),
    unknown=Text("Cannot tell whether this compartment is ventilated as it must be."),
    remedy=Text("Fit a supply opening and an exhaust opening."),
    look=Text("Add what stands in the compartment and its openings."),
)
OUTSIDE = Question(
    good=Text("The supply opening takes air from outside the boat."),
    bad=Text("The supply opening does not take air from outside the boat."),
    unknown=Text("Cannot tell from where the supply opening takes air."),
    remedy=Text("Lead the supply to the outside of the boat."),
    look=Text("Follow the supply duct and add where it begins."),
)
LOW = Question(
    good=Text("The exhaust draws from the lower third."),
    bad=Text("The exhaust does not draw from the lower third, where vapor lies."),
    unknown=Text("Cannot tell from where the exhaust draws."),
    remedy=Text("Lead the exhaust into the lower third of the compartment."),
    look=Text("Find the end of the exhaust duct and add where it lies."),
)
DRY = Question(
    good=Text("The openings lie above the normal bilge water."),
    bad=Text("An opening lies below the normal bilge water, which would close it."),
    unknown=Text("Cannot tell whether the openings lie above the normal bilge water."),
    remedy=Text("Raise the openings above the normal bilge water."),
    look=Text("Look at the height of the openings and add it."),
)
CABIN = Text(
    "This cabin opens to an engine compartment. The rule excepts living space above a deck. A lead"
    " decides."
)
TOO_SMALL = "The {which} opening is {measured}. A compartment of this size needs {limit}."
NARROW = (
    "The fittings of the openings leave {measured} of the duct's area. They must leave {limit}."
)
SIZE_UNKNOWN = Text("Cannot tell whether the openings are large enough for this compartment.")


def required(place: Compartment, context: Context) -> Answer:
    """Whether 183.620(a) asks natural ventilation of a compartment closed to the air."""
    return context.graph.once(
        ("natural ventilation", place.id, context.on), lambda: any_of(_reasons(place, context))
    )


def _reasons(place: Compartment, context: Context) -> Iterator[Answer]:
    yield holds_engine(context, place)
    yield opens_to_engine(context, place, context.value("common_area"))
    yield _own_reason(place, context)


def _own_reason(place: Compartment, context: Context) -> Answer:
    """(3) to (5): what the compartment itself holds of tanks, sparks and vents."""
    return any_of(
        (
            holds_tank_and_sparks(context, place),
            tank_vents_here(context, place),
            tank_permeates(
                context, place, context.value("permeation"), context.value("least_volume")
            ),
        )
    )


def has_openings(place: Compartment) -> Answer:
    """A supply and an exhaust opening of any size."""
    areas = {
        "supply_opening_in2": place.supply_opening_m2,
        "exhaust_opening_in2": place.exhaust_opening_m2,
    }
    return all_of(
        known(None if area is None else area > 0, compartment_path(place.id, key))
        for key, area in areas.items()
    )


@rule(
    id="cfr-33-183-620-a",
    title="Natural ventilation",
    words=Text(
        "Whoever runs a boat built on or after {built_from} is bound to natural ventilation of"
        " each closed compartment that holds a gasoline engine, opens to one by more than"
        " {common_area} of the shared wall, holds a tank beside electrics that are not"
        " ignition-protected, takes a tank's vent, or holds a tank not of metal that gives off"
        " more than {permeation} g a day for each cubic foot. Living space above a deck is"
        " excepted; a compartment open to the air needs none."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.620(a); 33 CFR 175.201",
    force="operator",
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(BUILT_FROM, *REACH),
)
@built_since
def natural_ventilation(place: Compartment, context: Context) -> Result:
    """Closed compartments that hold, or open to, a source of gasoline vapor."""
    asked = required(place, context)
    if asked.holds is False:
        return None
    opened = open_to_air(place, context)
    if opened.holds:
        return not_applicable(OPEN)
    aired = any_of((has_openings(place), opened))
    if aired.holds:
        return passed(NATURAL.good)
    if asked.holds is None:
        return cannot_tell(NATURAL.unknown, *asked.missing, remedy=NATURAL.look)
    if place.kind == "cabin" and aired.holds is False and not _for_itself(place, context):
        return review(CABIN, remedy=NATURAL.remedy, evidence="I")
    return NATURAL.on(aired)


def _for_itself(place: Compartment, context: Context) -> bool:
    own = any_of((holds_engine(context, place), _own_reason(place, context)))
    return own.holds is True


def _asked(place: Compartment, context: Context) -> Answer:
    """Whether there are openings to judge; 183.620(a) says where they lack or are not known."""
    if open_to_air(place, context).holds or not has_openings(place).holds:
        return NO
    return required(place, context)


@rule(
    id="cfr-33-183-620-b",
    title="Supply from outside",
    words=Text(
        "The builder leads the supply of natural ventilation in from outside the boat. It is"
        " asked where natural ventilation is asked at all and where openings are on file. Boats"
        " built before {read_from} are left out: that is our reading, for 33 CFR 175.201 does"
        " not name this paragraph."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.620(b)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(READ_FROM, *REACH),
)
@built_since_as_read
def supply_outside(place: Compartment, context: Context) -> Result:
    """Supply openings lie on the outside of the boat."""
    told = known(place.supply_from_outside, compartment_path(place.id, "supply_from_outside"))
    said = OUTSIDE.on(any_of((told, open_to_air(place, context))))
    return where_asked(said, _asked(place, context), NATURAL.unknown, NATURAL.look)


@rule(
    id="cfr-33-183-630",
    title="Openings of natural ventilation",
    words=Text(
        "The builder makes supply and exhaust each larger than {opening_over} and at least"
        " {area_factor} times the natural logarithm of the net volume divided by {area_volume}."
        " The exhaust draws from the lower third, both lie above the bilge water, and"
        " the fittings leave at least {terminal_share} of the duct free. Compartments open to the"
        " air are left out, and so are boats built before {read_from}: that is our reading, for"
        " 33 CFR 175.201 does not name this section."
    ),
    regime=SUBPART_K,
    applies_to="compartment",
    citation="33 CFR 183.630",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_K_FROM,
    parameters=(
        READ_FROM,
        *REACH,
        "33-cfr/183-630/opening_over",
        "33-cfr/183-630/area_factor",
        "33-cfr/183-630/area_volume",
        "33-cfr/183-630/terminal_share",
    ),
)
@built_since_as_read
def openings(place: Compartment, context: Context) -> Result:
    """5 ln(V/5) square inches each, more than 3; exhaust low; above bilge water; fittings 80 %."""
    opened = open_to_air(place, context)
    low = known(place.exhaust_in_lower_third, _path(place, "exhaust_in_lower_third"))
    dry = known(place.openings_above_bilge_water, _path(place, "openings_above_bilge_water"))
    said = (
        _large_enough(place, context, "supply", place.supply_opening_m2),
        _large_enough(place, context, "exhaust", place.exhaust_opening_m2),
        LOW.on(any_of((low, opened))),
        DRY.on(any_of((dry, opened))),
        _terminals(place, context),
    )
    return where_asked(said, _asked(place, context), NATURAL.unknown, NATURAL.look)


def _path(place: Compartment, key: str) -> str:
    return compartment_path(place.id, key)


def _large_enough(
    place: Compartment, context: Context, which: str, area_m2: Fraction | None
) -> Verdict:
    look = Text("Measure the openings, and add the compartment's net volume.")
    if place.net_volume_m3 is None or area_m2 is None:
        return cannot_tell(SIZE_UNKNOWN, _path(place, "net_volume_ft3"), remedy=look)
    over_m2 = context.value("opening_over")
    least_m2 = _least_m2(float(place.net_volume_m3), float(over_m2), context)
    measured = Figure(from_base(area_m2, "in2"), "in2")
    figures = {"measured": measured, "limit": Figure(from_base(least_m2, "in2"), "in2", True)}
    if area_m2 > over_m2 and area_m2 >= least_m2:
        return passed(Text("The opening is large enough for this compartment."), **figures)
    opened = open_to_air(place, context)
    if opened.holds is None:
        return cannot_tell(SIZE_UNKNOWN, *opened.missing, remedy=look, **figures)
    words = Text(TOO_SMALL, {"which": which, **figures})
    return failed(words, remedy=Text("Enlarge the opening."), **figures)


def _least_m2(volume_m3: float, over_m2: float, context: Context) -> float:
    """A = 5 ln(V/5); no volume at all leaves what each opening exceeds."""
    if volume_m3 <= 0.0:
        return over_m2
    factor_m2, by_m3 = (float(context.value(key)) for key in ("area_factor", "area_volume"))
    return natural_area(volume_m3, factor_m2=factor_m2, by_m3=by_m3, over_m2=over_m2)


def _terminals(place: Compartment, context: Context) -> Verdict:
    share, least = place.terminal_area_pct, context.value("terminal_share")
    look = Text("Compare the free area of the fittings with that of the duct.")
    opened = open_to_air(place, context)
    if share is None:
        unknown = Text("Cannot tell how much of the duct's area the fittings leave free.")
        return cannot_tell(unknown, _path(place, "terminal_area_pct"), remedy=look)
    figures = {"measured": Figure(share, "pct"), "limit": Figure(least, "pct")}
    if share >= least:
        return passed(Text("The fittings leave enough of the duct's area free."), **figures)
    if opened.holds is None:
        return cannot_tell(SIZE_UNKNOWN, *opened.missing, remedy=look, **figures)
    return failed(Text(NARROW, figures), remedy=Text("Fit freer cowls or grilles."), **figures)
