"""Shop practice for the fit of hose and clamps: bore, pressure, bend, helix, age, condition."""

from __future__ import annotations

from fractions import Fraction

from fuelsys.document.model import Segment
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    COMMON,
    PRACTICE,
    ClampPart,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, clamp_path, segment_path
from fuelsys.rules.fastening import EACH_CLAMP, each_clamp, inches
from fuelsys.rules.own_numbers import LESS
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

SECONDHAND = "a voluntary US boat standard, quoted second-hand"
SALT = ("salt", "both")
NARROW = "The bore is {measured}. The usual least bore here is {limit}."
TIGHT = "The hose is bent to {measured}. Its maker allows {limit}."
MEASURE = Text("Measure the tightest bend; take the least radius from the maker's sheet.")
LOOK_UP = "Look up the least radius on the maker's sheet: here it may not be above {measured}."
OLD = "The hose is {measured} old. This shop looks again after {limit}. A lead decides if it stays."
WEAK = "The line works at {measured}. The hose is made for {limit}."
SOUND = passed(Text("The clamp is sound."))
HELIX = Question(
    good=Text("A wire helix keeps this fill hose from kinking."),
    bad=Text("This fill hose has no wire helix."),
    unknown=Text("Cannot tell whether this fill hose has a wire helix."),
    remedy=Text("Fit fill hose with a wire helix."),
    look=Text("Squeeze the hose and add whether a wire is in it."),
)


@rule(
    id="practice-clamp-condition",
    title="Condition of the clamp",
    words=Text(
        "This shop replaces clamps that are rusted, and tightens or replaces loose ones. In"
        " salt water rust goes on under the band, so a stainless clamp follows. Sleeves and ends"
        " without clamps are left out."
    ),
    regime=PRACTICE,
    applies_to=EACH_CLAMP,
    citation=COMMON,
    force="shop",
    evidence="CP",
)
@each_clamp
def clamp_condition(part: ClampPart, context: Context) -> Result:
    """Neither rusted nor loose; rust goes on under the band, quickest in salt water."""
    condition = part.clamp.condition
    if condition is None:
        return cannot_tell(
            Text("Cannot tell in what condition this clamp is."),
            clamp_path(part.segment.id, part.side, part.index, "condition"),
            remedy=Text("Turn the clamp, look at its hidden side, and add what is found."),
        )
    if condition == "sound":
        return SOUND
    if condition == "loose":
        return failed(Text("This clamp is loose."), remedy=Text("Tighten it, or replace it."))
    if context.document.boat.water in SALT:
        said = Text("This clamp is rusted, and in salt water rust goes on under the band.")
        return failed(said, remedy=Text("Fit a clamp that is stainless throughout."))
    return failed(Text("This clamp is rusted."), remedy=Text("Replace it."))


def _bore(segment: Segment, context: Context) -> Result:
    if segment.metal_line is not None:
        return None
    bore_m, least_m = segment.inside_diameter_m, context.value("bore_min")
    if bore_m is None:
        return cannot_tell(
            Text("Cannot tell whether the bore is wide enough: it is not on file."),
            segment_path(segment.id, "hose", "inside_diameter_in"),
            remedy=Text("Read the bore from the hose, or measure it."),
        )
    figures = {"measured": inches(bore_m), "limit": inches(least_m)}
    if bore_m >= least_m:
        return passed(Text("The bore is as wide as is usual here."), **figures)
    return review(Text(NARROW, figures), remedy=Text("Fit hose of the usual bore."), **figures)


@rule(
    id="practice-fill-bore",
    title="Bore of a fill hose",
    words=Text(
        "A voluntary boat standard, read second-hand, asks fill hose of at least {bore_min}"
        " bore, so that filling is quick and does not spit back. A narrower one is a person's"
        " decision. It binds nobody by law, and metal pipe is left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=SECONDHAND,
    force="voluntary",
    evidence="S",
    services=("fill",),
    parameters=("practice/fill/bore_min",),
    own_number="bore_min",
)
def fill_bore(segment: Segment, context: Context) -> Result:
    """At least 1-1/2 in; a narrower one is a person's decision."""
    return _bore(segment, context)


@rule(
    id="practice-vent-bore",
    title="Bore of a vent hose",
    words=Text(
        "A voluntary boat standard, read second-hand, asks vent hose of at least {bore_min}"
        " bore, so that air leaves as fast as fuel comes in. A narrower one is a person's"
        " decision. It binds nobody by law, and metal pipe is left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=SECONDHAND,
    force="voluntary",
    evidence="S",
    services=("vent",),
    parameters=("practice/vent/bore_min",),
    own_number="bore_min",
)
def vent_bore(segment: Segment, context: Context) -> Result:
    """At least 9/16 in; a narrower one is a person's decision."""
    return _bore(segment, context)


@rule(
    id="practice-fill-helix",
    title="Wire helix in a fill hose",
    words=Text(
        "This shop fits fill hose with a wire helix, which keeps a bend open. A fill hose"
        " without one is a person's decision, by its bends. Metal pipe is left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
    services=("fill",),
)
def fill_helix(segment: Segment, context: Context) -> Result:
    """A wire helix keeps a bent fill hose open; without one a lead looks at its bends."""
    if segment.metal_line is not None:
        return None
    helix = segment.hose.wire_helix if segment.hose else None
    if helix is False:
        said = Text("This fill hose has no wire helix and may kink. A lead looks at its bends.")
        return review(said, remedy=HELIX.remedy)
    return HELIX.of(helix, segment_path(segment.id, "hose", "wire_helix"))


@rule(
    id="practice-bend-radius",
    title="Bend no tighter than the hose allows",
    words=Text(
        "This shop asks that no hose is bent tighter than its maker's sheet allows. There is no"
        " general figure: without the sheet's least radius it cannot be told. It is not asked"
        " where nobody measured a bend, nor of the engine maker's own assemblies."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation="the hose maker's sheet",
    force="shop",
    evidence="CP",
)
def bend_radius(segment: Segment, context: Context) -> Result:
    """The tightest bend as routed against the product's own least radius; there is no default."""
    hose = segment.hose
    if hose is None or segment.engine_maker_part:
        return None
    bent_m, least_m = hose.smallest_bend_radius_m, hose.minimum_bend_radius_m
    if bent_m is None and least_m is None:
        return None  # nobody measured: the figure of the bend says what is lacking
    facts = {"smallest_bend_radius_in": bent_m, "minimum_bend_radius_in": least_m}
    missing = [segment_path(segment.id, "hose", key) for key, fact in facts.items() if fact is None]
    if bent_m is None or least_m is None:
        look_up = Text(LOOK_UP, {"measured": inches(bent_m)}) if bent_m is not None else MEASURE
        return cannot_tell(
            Text("Cannot tell whether this hose is bent too tightly."), *missing, remedy=look_up
        )
    figures = {"measured": inches(bent_m), "limit": inches(least_m)}
    if bent_m >= least_m:
        return passed(Text("No bend is tighter than the hose allows."), **figures)
    return failed(Text(TIGHT, figures), remedy=Text("Lead it in a wider bend."), **figures)


@rule(
    id="practice-working-pressure",
    title="Hose made for the line's pressure",
    words=Text(
        "This shop fits, on a line whose working pressure is on file, hose that its maker rates"
        " for that pressure. Lines without such a figure, and metal, are left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation="the hose maker's sheet",
    force="shop",
    evidence="CP",
)
def working_pressure(segment: Segment, context: Context) -> Result:
    """Where a line has a working pressure, the hose is made for it."""
    pressure_pa = segment.line_pressure_pa
    if pressure_pa is None or segment.metal_line is not None:
        return None
    made_for_pa = segment.hose.working_pressure_pa if segment.hose else None
    if made_for_pa is None:
        return cannot_tell(
            Text("Cannot tell whether this hose is made for the pressure of its line."),
            segment_path(segment.id, "hose", "working_pressure_psi"),
            remedy=Text("Take the working pressure from the hose maker's sheet."),
        )
    held = {"measured": pressure_pa, "limit": made_for_pa}
    figures = {name: Figure(from_base(value, "psi"), "psi") for name, value in held.items()}
    if pressure_pa <= made_for_pa:
        return passed(Text("The hose is made for the pressure of its line."), **figures)
    return failed(Text(WEAK, figures), remedy=Text("Fit hose made for it."), **figures)


@rule(
    id="practice-hose-age",
    title="Age of the hose",
    words=Text(
        "This shop tells the age of a hose and does not judge by it: no text read here gives a"
        " hose a life. Where the shop sets a number of years of its own, hose that is older is a"
        " person's decision. A year that is still to come is sent back, as a misread print. Hose"
        " without a year is left out where the shop has set none."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
    parameters=("practice/age/age_years",),
    own_number="age_years",
    tighter=LESS,
)
def hose_age(segment: Segment, context: Context) -> Result:
    """Told, never judged but by the shop's own years: no text read gives a hose a life."""
    hose, most = segment.hose, context.own("age_years")
    if hose is None or (hose.made is None and most is None):
        return None
    if hose.made is None:
        return _year_unknown(segment)
    years = context.on.year - hose.made
    if years < 0:
        return review(
            Text("The print says {year}, a year to come.", {"year": str(hose.made)}),
            remedy=Text("Read the print on the hose again."),
        )
    if most is not None:
        return _by_own_years(Fraction(years), most)
    return not_applicable(
        Text(
            "Made in {year}. No rule read here gives a hose a life; its condition decides.",
            {"year": str(hose.made)},
        ),
        measured=Figure(str(years), "years"),
    )


def _year_unknown(segment: Segment) -> Verdict:
    return cannot_tell(
        Text("Cannot tell whether this hose is older than the shop's own number of years."),
        segment_path(segment.id, "hose", "made"),
        remedy=Text("Read the year in the print on the hose and add it."),
    )


def _by_own_years(years: Fraction, most: Fraction) -> Verdict:
    figures = {"measured": Figure(years, "years"), "limit": Figure(most, "years")}
    if years <= most:
        return passed(Text("The hose is no older than the shop's own number of years."), **figures)
    look = Text("Bend the hose and look for cracks. Replace it, or say why it stays.")
    return review(Text(OLD, figures), remedy=look, **figures)
