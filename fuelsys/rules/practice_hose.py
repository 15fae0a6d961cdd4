"""Shop practice for hose by place: engine space, sun, pressure side; and what a color proves."""

from __future__ import annotations

from fuelsys.document.model import Hose, Segment
from fuelsys.rules.base import (
    COMMON,
    PRACTICE,
    SUBPART_J,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, engine_path, segment_path
from fuelsys.rules.epa_dates import engine_of
from fuelsys.rules.fuel import DIESEL, fuel_of
from fuelsys.rules.gates import left_out
from fuelsys.rules.own_numbers import LESS
from fuelsys.rules.places import in_engine_space, in_sun
from fuelsys.rules.scope import scopes
from fuelsys.text import Figure, Text

FIT_A1 = Text("Fit type A1.")
SUN_SIGNS = frozenset({"hardened", "crazed", "cracked", "chalked"})
SOUND = ("good", "watch")


def _bound_by_law(segment: Segment, context: Context) -> bool:
    """Whether 33 CFR 183.558 speaks of this run: practice then has nothing to add."""
    if left_out(segment, context):
        return False
    rows = context.graph.once("scopes", lambda: scopes(context.document))
    return any(row.regime == SUBPART_J and row.applies != "no" for row in rows)


def _fuel_stands(segment: Segment) -> bool | None:
    if segment.service in ("fill", "vent"):
        return segment.wet_after_fill
    return True


@rule(
    id="practice-class-a-near-engine",
    title="Class A hose near an engine",
    words=Text(
        "This shop fits fire-rated hose, A1 or A2, wherever fuel stands in a hose near an"
        " engine or under a cowl, also on boats that no law reaches. Where federal law names the"
        " class it has nothing to add. Metal, and hose in which no fuel stands, are left out;"
        " for diesel sources disagree and a lead decides."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
)
def class_a_near_engine(segment: Segment, context: Context) -> Result:
    """Where fuel stands in an engine space or under a cowl, the hose is fire-rated."""
    if segment.metal_line is not None or _bound_by_law(segment, context):
        return None
    stands, (near, lacking) = _fuel_stands(segment), in_engine_space(context, segment)
    if near is False or stands is False:
        return not_applicable(Text("No fuel stands in this hose near an engine."))
    mark = segment.hose.mark if segment.hose else None
    if mark is None:
        lacking += (segment_path(segment.id, "hose", "marking"),)
    elif mark.startswith("A"):
        return passed(Text("The hose is fire-rated."))
    if stands is None:
        lacking += (segment_path(segment.id, "wet_after_fill"),)
    if lacking:
        return cannot_tell(
            Text("Cannot tell whether this run is to be fire-rated, or whether it is."), *lacking
        )
    return _not_fire_rated(segment, context)


def _not_fire_rated(segment: Segment, context: Context) -> Verdict:
    fuel = fuel_of(context.graph, segment)
    if fuel is not None and fuel.fuel == DIESEL:
        return review(
            Text("Sources disagree on hose without a fire rating for diesel near an engine."),
            remedy=FIT_A1,
            citation="ISO 10088:2022, as summarized",
            evidence="S",
        )
    if segment.engine_maker_part:
        return review(
            Text("The engine maker fits this hose; it is not marked as fire-rated."),
            remedy=Text("Ask the engine maker, or fit the maker's present part."),
        )
    return failed(
        Text("Fuel stands in this hose near an engine, and the hose is not fire-rated."),
        remedy=FIT_A1,
    )


def _sun_verdict(segment: Segment, hose: Hose, context: Context) -> Verdict:
    """Age and sun together ask for a look; age alone is never the grade."""
    if SUN_SIGNS & set(hose.observations):
        return review(
            Text(
                "The sun is at work on this hose, which is not fire-rated: it is hard, chalky or "
                "cracked. A lead decides and says why."
            ),
            remedy=Text("Replace it and shade the new run, or fit type A1."),
        )
    years = context.value("sun_years")
    limit = Figure(years, "years")
    age = None if hose.made is None else context.on.year - hose.made
    if age is not None and age <= years:
        return passed(
            Text("The hose is in the sun and new enough."),
            measured=Figure(str(age), "years"),
            limit=limit,
        )
    if hose.condition in SOUND:
        return passed(Text("The hose is in the sun and was found supple. Look again each season."))
    if hose.condition in (None, "not_seen"):
        lacking = [segment_path(segment.id, "hose", "condition")]
        if age is None:
            lacking.append(segment_path(segment.id, "hose", "made"))
        return cannot_tell(Text("Cannot tell what the sun has done to this hose."), *lacking)
    return review(
        Text(
            "In strong sun hose that is not fire-rated goes stiff in about {years}.",
            {"years": limit},
        ),
        remedy=Text("Bend the hose and look for cracks. Replace it, or shade it."),
    )


@rule(
    id="practice-hose-in-sun",
    title="Hose in the sun",
    words=Text(
        "This shop looks at hose without a fire rating that lies in strong sun: from about"
        " {sun_years} years it goes stiff. New or supple hose passes, and age alone never fails"
        " it. Hose out of the sun, fire-rated hose and metal are left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
    parameters=("practice/hose/sun_years",),
    own_number="sun_years",
    tighter=LESS,
)
def hose_in_sun(segment: Segment, context: Context) -> Result:
    """Hose that is not fire-rated goes stiff and cracks in strong sun."""
    if segment.metal_line is not None:
        return None
    exposed, lacking = in_sun(context, segment)
    mark = segment.hose.mark if segment.hose else None
    if exposed is False:
        return not_applicable(Text("The run is out of the sun."))
    if mark is not None and mark.startswith("A"):
        return not_applicable(Text("The hose is fire-rated."))
    if segment.hose is None or mark is None:
        lacking += (segment_path(segment.id, "hose", "marking"),)
    if lacking or segment.hose is None:
        return cannot_tell(Text("Cannot tell whether the sun ages this hose."), *lacking)
    return _sun_verdict(segment, segment.hose, context)


@rule(
    id="practice-cover-color",
    title="A cover's color proves no class",
    words=Text(
        "This shop takes no cover's color for a class: only the print on the hose names it, as"
        " the marking section asks of the hose maker. It is asked where a color is on file."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation="33 CFR 183.540(e)",
    force="shop",
    evidence="V",
)
def cover_color(segment: Segment, context: Context) -> Result:
    """Only the print on the hose names its class."""
    hose = segment.hose
    if hose is None or hose.cover is None:
        return None
    params = {"color": hose.cover}
    if hose.mark is None:
        return cannot_tell(
            Text("The {color} cover proves no class. Cannot tell which class this is.", params),
            segment_path(segment.id, "hose", "marking"),
            remedy=Text("Read the print on the hose and add it."),
        )
    if hose.mark == "NONE":
        return failed(
            Text("This hose has no class mark, and its {color} cover proves none.", params),
            remedy=Text("Fit hose with the class printed on it."),
        )
    return passed(Text("The class is read from the print, not from the cover."))


@rule(
    id="practice-pressure-side",
    title="The engine maker's assembly on the pressure side",
    words=Text(
        "This shop fits only the engine maker's own assembly between pump and rail of an"
        " injected engine, never hose by the foot. Engines with a carburetor are left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
    services=("pump_to_carburetor",),
)
def pressure_side(segment: Segment, context: Context) -> Result:
    """Between pump and rail of an injected engine: the maker's assembly, not hose by the foot."""
    if segment.engine_maker_part:
        return passed(Text("The engine maker's own assembly is on the pressure side."))
    engine = engine_of(context, segment)
    if engine is None or engine.metering is None:
        path = engine_path(engine.id, "metering") if engine else segment_path(segment.id, "engine")
        return cannot_tell(
            Text("Cannot tell whether this run is under injection pressure."),
            path,
            remedy=Text("Add the engine it serves and whether it is injected."),
        )
    if engine.metering == "carburetor":
        return not_applicable(Text("The engine has a carburetor."))
    return failed(
        Text("On the pressure side of an injected engine only the engine maker's assembly serves."),
        remedy=Text("Fit the engine maker's assembly."),
    )
