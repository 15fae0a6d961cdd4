"""Hose ends and their clamps: 33 CFR 183.530, .532(a), .558(c) and (d), .560."""

from __future__ import annotations

from fractions import Fraction

from fuelsys.catalogue.clamp import has_screw
from fuelsys.catalogue.fit import clearance_m
from fuelsys.document.model import Clamp
from fuelsys.rules.base import (
    BUILDER,
    SUBPART_J,
    SUBPART_J_FROM,
    ClampPart,
    EndPart,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, clamp_path, end_path, segment_path
from fuelsys.rules.fastening import (
    EACH_CLAMP,
    SLEEVES,
    each_clamp,
    inches,
    is_clamped,
    is_hose,
    spring_only,
)
from fuelsys.text import Text

NOT_FILL = ("feed", "pump_to_carburetor", "vent", "return", "transfer")
SLIDES_OFF = (
    "A hose can slide off this fitting: it has no bead, no flare and no ring-shaped grooves at "
    "least {limit} deep. A cut thread does not count."
)
# What is said alike of every part is made once.
UNCLAMPED = not_applicable(Text("No clamp holds this end, so its fitting needs no bead."))
RESISTS = passed(Text("The clamp resists corrosion and does not cut the hose."))
SLEEVED = passed(Text("A sleeve secures this hose end."))
CLAMPED = passed(Text("A clamp secures this hose end."))
BEHIND_BEAD = passed(Text("The clamp sits behind the bead or over the grooves."))
NOT_BY_SPRING = passed(Text("The clamp does not rely on spring tension alone."))
SHAPED = Text("The fitting has a bead, a flare or grooves that hold.")
CLOSE = Text("The hose fits its fitting closely enough.")
NAMED_IN_560 = ("feed", "pump_to_carburetor", "vent")


def _shape(part: EndPart, least_depth_m: Fraction) -> tuple[bool | None, str]:
    """Whether the fitting holds a clamped hose; None with the key of the fact that decides it."""
    end = part.end
    if end.shape in ("bead", "flare"):
        return True, ""
    if end.shape is None:
        return None, "shape"
    if end.shape != "annular_grooves":
        return False, ""
    if end.groove_depth_m is None:
        return None, "groove_depth_in"
    return end.groove_depth_m >= least_depth_m, ""


@rule(
    id="cfr-33-183-530",
    title="Fitting shape under a clamp",
    words=Text(
        "The builder uses, under a hose clamp, a fitting that keeps the hose from sliding off:"
        " with a bead, a flare, or a row of rings or serrations at least {groove_depth_min}"
        " deep. A groove that winds like a screw does not count, however deep. Fill lines and"
        " ends without a clamp are left out."
    ),
    regime=SUBPART_J,
    applies_to="segment_end",
    citation="33 CFR 183.530",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    services=NOT_FILL,
    parameters=("33-cfr/183-530/groove_depth_min",),
    practice_id="practice-fitting-shape",
)
def fitting_shape(part: EndPart, context: Context) -> Result:
    """Bead, flare, or annular grooves at least 0.015 in deep; helical and smooth do not count."""
    if not is_hose(part.segment):
        return None
    clamped = is_clamped(part.end)
    if clamped is False:
        return UNCLAMPED
    least_m = context.value("groove_depth_min")
    grooves = part.end.groove_depth_m if part.end.shape == "annular_grooves" else None
    figures = {} if grooves is None else {"measured": inches(grooves), "limit": inches(least_m)}
    holds, missing = _shape(part, least_m)
    if holds is None:
        return cannot_tell(
            Text("Cannot tell whether this fitting holds a clamped hose: it is not on file."),
            end_path(part.segment.id, part.side, missing),
            remedy=Text("Look at the fitting and add its shape, and the depth of its grooves."),
        )
    if holds:
        return passed(SHAPED, **figures)
    if clamped is None:
        return cannot_tell(
            Text("This fitting does not hold a clamp, and how the hose is held is not on file."),
            end_path(part.segment.id, part.side, "securing"),
        )
    return failed(
        Text(SLIDES_OFF, {"limit": inches(least_m)}),
        remedy=Text("Fit a beaded, flared or serrated fitting."),
        **figures,
    )


MATERIAL_KEYS = ("band_material", "cuts_hose", "condition")


def _material_keys(clamp: Clamp) -> tuple[str, ...]:
    """What tells a clamp's metal; a screw counts where the clamp has one, or may have."""
    screwed = has_screw(clamp.kind, clamp.action) is not False
    return (*MATERIAL_KEYS, "screw_material") if screwed else MATERIAL_KEYS


def _unknown(clamp: Clamp, keys: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(key for key in keys if getattr(clamp, key) is None)


@rule(
    id="cfr-33-183-532-a",
    title="Clamp material and edges",
    words=Text(
        "The builder uses clips, straps and clamps of a material that resists corrosion and"
        " that do not cut or chafe the line. The text names no grade of stainless, so plated"
        " steel that does not rust yet is a person's decision. Ends held by a sleeve have"
        " nothing to judge."
    ),
    regime=SUBPART_J,
    applies_to=EACH_CLAMP,
    citation="33 CFR 183.532(a)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-clamp-material",
)
@each_clamp
def clamp_material(part: ClampPart, context: Context) -> Result:
    """Corrosion-resistant, and does not cut or abrade the line. No stainless grade is stated."""
    clamp = part.clamp
    if clamp.cuts_hose:
        return failed(
            Text("This clamp has cut the hose cover."),
            remedy=Text("Replace the hose and fit a smooth-band clamp."),
        )
    if clamp.condition == "rusted":
        return failed(
            Text("This clamp is rusted: its metal does not resist corrosion."),
            remedy=Text("Fit a clamp that is stainless throughout, screw included."),
        )
    unknown = _unknown(clamp, _material_keys(clamp))
    if unknown:
        where = (part.segment.id, part.side, part.index)
        return cannot_tell(
            Text("Cannot tell whether this clamp resists corrosion and spares the hose."),
            *(clamp_path(*where, key) for key in unknown),
            remedy=Text("Turn the clamp, look at its hidden side, and add what is found."),
        )
    if "plated_steel" in (clamp.band_material, clamp.screw_material):
        return review(
            Text(
                "The rule asks for corrosion-resistant metal and names no grade. This clamp is "
                "plated steel, not yet rusted. A lead decides and says why."
            ),
            remedy=Text("Fit a clamp that is stainless throughout, screw included."),
            evidence="I",
        )
    return RESISTS


@rule(
    id="cfr-33-183-558-c",
    title="Hose ends are secured",
    words=Text(
        "The builder secures every hose end with a swaged sleeve, a sleeve and a threaded"
        " insert, or a hose clamp. A bare push-on end fails, and an end held only by a plastic"
        " tie is a person's decision. Metal line is left out."
    ),
    regime=SUBPART_J,
    applies_to="segment_end",
    citation="33 CFR 183.558(c)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-secured-end",
)
def end_secured(part: EndPart, context: Context) -> Result:
    """A swaged sleeve, a sleeve with threaded insert, or a hose clamp."""
    if not is_hose(part.segment):
        return None
    end = part.end
    if end.securing in SLEEVES:
        return SLEEVED
    if is_clamped(end) is None:
        return cannot_tell(
            Text("Cannot tell how this hose end is secured."),
            end_path(part.segment.id, part.side, "securing"),
            remedy=Text("Look at the end and add what holds it."),
        )
    if end.securing == "none" or end.clamps == ():
        return failed(
            Text("Nothing secures this hose end."),
            remedy=Text("Fit a hose clamp, or hose with swaged ends."),
        )
    if end.clamps is None:
        return cannot_tell(
            Text("Cannot tell which clamps hold this end: they are not on file."),
            end_path(part.segment.id, part.side, "clamps"),
            remedy=Text("Look at the end and add its clamps."),
        )
    if all(clamp.kind == "tie" for clamp in end.clamps):
        return review(
            Text("Only a tie holds this end. The rule asks for a hose clamp; a lead decides."),
            remedy=Text("Fit a hose clamp."),
            evidence="I",
        )
    return CLAMPED


def _gap_limit_m(spud_m: Fraction, context: Context) -> Fraction:
    """The row of Table 8 for a spud; exactly 3/8 in and exactly 1 in are in the middle row."""
    if spud_m < context.value("small_spud"):
        return context.value("gap_small")
    if spud_m > context.value("large_spud"):
        return context.value("gap_large")
    return context.value("gap_middle")


@rule(
    id="cfr-33-183-558-d",
    title="Clearance between hose and spud",
    words=Text(
        "The builder lets no hose be much wider than its fitting: bore less smallest outside"
        " diameter may be {gap_small} on fittings below {small_spud}, {gap_middle} up to"
        " {large_spud}, and {gap_large} above. The figures are compared before they are rounded,"
        " and a hose that is stretched on passes. It holds for fills and vents too, not for"
        " metal line."
    ),
    regime=SUBPART_J,
    applies_to="segment_end",
    citation="33 CFR 183.558(d), Table 8",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    parameters=(
        "33-cfr/183-558-d/small_spud",
        "33-cfr/183-558-d/large_spud",
        "33-cfr/183-558-d/gap_small",
        "33-cfr/183-558-d/gap_middle",
        "33-cfr/183-558-d/gap_large",
    ),
    practice_id="practice-spud-clearance",
)
def spud_clearance(part: EndPart, context: Context) -> Result:
    """Bore less minor outside diameter, compared before rounding; interference passes."""
    if not is_hose(part.segment):
        return None
    bore_m, spud_m = part.segment.inside_diameter_m, part.end.minor_outside_diameter_m
    missing = [] if bore_m else [segment_path(part.segment.id, "hose", "inside_diameter_in")]
    if not spud_m:
        missing.append(end_path(part.segment.id, part.side, "minor_outside_diameter_in"))
    if bore_m is None or spud_m is None:
        return cannot_tell(
            Text("Cannot tell whether this hose is too loose for its fitting: a size is lacking."),
            *missing,
            remedy=Text("Measure the fitting at its smallest outside diameter under the hose."),
        )
    # A boat repeats few sizes, and what is said of two is the same wherever they meet.
    sizes = (bore_m.as_integer_ratio(), spud_m.as_integer_ratio())
    key = ("clearance to spud", *sizes, context.on)
    return context.graph.once(key, lambda: _judge_clearance(bore_m, spud_m, context))


def _judge_clearance(bore_m: Fraction, spud_m: Fraction, context: Context) -> Verdict:
    gap_m, limit_m = clearance_m(bore_m, spud_m), _gap_limit_m(spud_m, context)
    params = {"gap": inches(gap_m, computed=True), "limit": inches(limit_m)}
    figures = {"measured": params["gap"], "limit": params["limit"]}
    if gap_m > limit_m:
        return failed(
            Text(
                "The hose is {gap} larger than its fitting; a fitting this size allows {limit}.",
                params,
            ),
            remedy=Text("Fit hose and fitting of one size."),
            **figures,
        )
    return passed(CLOSE, **figures)


@rule(
    id="cfr-33-183-560-c",
    title="Clamp behind the bead",
    words=Text(
        "The builder sets each clamp of a feed, pump or vent line behind the bead or flare, or"
        " over the serrations, where it holds the hose against sliding. Fill and return lines"
        " are not named, and ends without clamps are left out."
    ),
    regime=SUBPART_J,
    applies_to=EACH_CLAMP,
    citation="33 CFR 183.560(c)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=NAMED_IN_560,
    practice_id="practice-clamp-position",
)
@each_clamp
def clamp_position(part: ClampPart, context: Context) -> Result:
    """Beyond the bead or flare, or over the serrations."""
    seat = part.clamp.seat
    if seat is None:
        return cannot_tell(
            Text("Cannot tell whether this clamp sits behind the bead."),
            clamp_path(part.segment.id, part.side, part.index, "seat"),
            remedy=Text("Look where the clamp sits and add it."),
        )
    if seat in ("beyond_bead", "over_grooves"):
        return BEHIND_BEAD
    return failed(
        Text("This clamp does not sit behind a bead or flare, nor over grooves."),
        remedy=Text("Move the clamp behind the bead or over the grooves."),
    )


@rule(
    id="cfr-33-183-560-d",
    title="No clamp by spring tension alone",
    words=Text(
        "The builder uses no clamp on feed, pump and vent lines that holds by its own spring"
        " alone. A clamp with a screw, or one that is crimped, is lawful. Fill lines have the"
        " same in a paragraph of their own; returns are not named."
    ),
    regime=SUBPART_J,
    applies_to=EACH_CLAMP,
    citation="33 CFR 183.560(d)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=NAMED_IN_560,
    practice_id="practice-no-spring-clamp",
)
@each_clamp
def clamp_action(part: ClampPart, context: Context) -> Result:
    """The clamp does not rely solely on its own spring tension."""
    springy = spring_only(part.clamp)
    if springy is None:
        return cannot_tell(
            Text("Cannot tell whether this clamp holds by spring tension alone."),
            clamp_path(part.segment.id, part.side, part.index, "action"),
            remedy=Text("Add how the clamp closes: by screw, crimped, or by spring."),
        )
    if springy:
        return failed(
            Text("This clamp holds by its own spring tension alone."),
            remedy=Text("Fit a screw clamp."),
        )
    return NOT_BY_SPRING
