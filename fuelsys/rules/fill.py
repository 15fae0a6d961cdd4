"""Fill-hose ends: 33 CFR 183.564(b) and (d)."""

from __future__ import annotations

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
    passed,
    rule,
)
from fuelsys.rules.context import Context, clamp_path, end_path
from fuelsys.rules.fastening import (
    EACH_CLAMP,
    SLEEVES,
    each_clamp,
    inches,
    is_clamped,
    is_hose,
    is_metallic,
    spring_only,
)
from fuelsys.text import Figure, Text

TWO_CLAMPS = Text("Fit two metal screw clamps side by side, band at least 1/2 in.")


def _counts(clamp: Clamp) -> bool | None:
    """Whether a clamp is one of the two: metallic, not by spring alone, beside another."""
    springy = spring_only(clamp)
    facts = (is_metallic(clamp), None if springy is None else not springy, clamp.adjacent)
    if False in facts:
        return False
    return None if None in facts else True


def _lacking(part: EndPart) -> tuple[str, ...]:
    paths = []
    for index, clamp in enumerate(part.end.clamps or ()):
        if _counts(clamp) is not None:
            continue
        known = {
            "band_material": is_metallic(clamp),
            "action": spring_only(clamp),
            "adjacent": clamp.adjacent,
        }
        where = (part.segment.id, part.side, index)
        paths += [clamp_path(*where, key) for key, value in known.items() if value is None]
    return tuple(paths)


def _judge_clamps(part: EndPart, needed: int) -> Verdict:
    clamps = part.end.clamps
    if clamps is None:
        return cannot_tell(
            Text("Cannot tell how many clamps hold this fill hose."),
            end_path(part.segment.id, part.side, "clamps"),
            remedy=Text("Count the clamps and add them."),
        )
    answers = [_counts(clamp) for clamp in clamps]
    good, open_ = answers.count(True), answers.count(None)
    limit = Figure(needed, "clamps")
    if good >= needed:
        return passed(
            Text("Two metal clamps side by side hold this end."),
            measured=Figure(good, "clamps"),
            limit=limit,
            citation="33 CFR 183.564(b)(3)",
        )
    if good + open_ >= needed:
        return cannot_tell(
            Text("Cannot tell whether two metal clamps side by side hold this fill hose."),
            *_lacking(part),
            citation="33 CFR 183.564(b)(3)",
        )
    return failed(
        Text(
            "A fill hose is held by two metal clamps side by side that do not rely on spring "
            "tension alone; here {count} of that kind.",
            {"count": str(good + open_)},
        ),
        remedy=TWO_CLAMPS,
        measured=Figure(good + open_, "clamps"),
        limit=limit,
        citation="33 CFR 183.564(b)(3)",
    )


@rule(
    id="cfr-33-183-564-b",
    title="How a fill hose is secured",
    words=Text(
        "The builder secures a fill hose at each end with a swaged sleeve, a sleeve and a"
        " threaded insert, or {clamp_count} metal clamps side by side that do not hold by a"
        " spring alone. Feed and vent hose may lawfully have one clamp; only fill hose is meant"
        " here."
    ),
    regime=SUBPART_J,
    applies_to="segment_end",
    citation="33 CFR 183.564(b)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("fill",),
    parameters=("33-cfr/183-564/clamp_count",),
    practice_id="practice-fill-two-clamps",
)
def fill_secured(part: EndPart, context: Context) -> Result:
    """A sleeve, or two adjacent metallic clamps that do not rely solely on spring tension."""
    if not is_hose(part.segment):
        return None
    if part.end.securing in SLEEVES:
        return passed(Text("A sleeve secures this fill hose."))
    clamped = is_clamped(part.end)
    if clamped is None:
        return cannot_tell(
            Text("Cannot tell how this fill hose is secured."),
            end_path(part.segment.id, part.side, "securing"),
            remedy=Text("Look at the end and add what holds it."),
        )
    if not clamped:
        return failed(Text("Nothing secures this fill hose."), remedy=TWO_CLAMPS)
    return _judge_clamps(part, int(context.value("clamp_count")))


@rule(
    id="cfr-33-183-564-d-1",
    title="Band width of a fill clamp",
    words=Text(
        "The builder uses on a fill line clamps with a nominal band of at least"
        " {band_width_min} each. For feed and vent lines the text states no width, so those are"
        " left out."
    ),
    regime=SUBPART_J,
    applies_to=EACH_CLAMP,
    citation="33 CFR 183.564(d)(1)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("fill",),
    parameters=("33-cfr/183-564/band_width_min",),
    practice_id="practice-fill-band-width",
)
@each_clamp
def fill_band_width(part: ClampPart, context: Context) -> Result:
    """Each clamp has a nominal band of at least 1/2 in."""
    width_m, least_m = part.clamp.band_width_m, context.value("band_width_min")
    if width_m is None:
        return cannot_tell(
            Text("Cannot tell whether this clamp is wide enough for a fill hose."),
            clamp_path(part.segment.id, part.side, part.index, "band_width_in"),
            remedy=Text("Measure the band."),
        )
    figures = {"measured": inches(width_m), "limit": inches(least_m)}
    if width_m >= least_m:
        return passed(Text("The band is wide enough for a fill hose."), **figures)
    return failed(
        Text(
            "This band is {width} wide; on a fill hose it is at least {least}.",
            {"width": inches(width_m), "least": inches(least_m)},
        ),
        remedy=Text("Fit clamps with a band of 1/2 in or more."),
        **figures,
    )


@rule(
    id="cfr-33-183-564-d-2",
    title="Position of a fill clamp",
    words=Text(
        "The builder sets each clamp of a fill line so that it presses on hose and fitting"
        " both, not past the end of the pipe. A fill fitting needs no bead. Feed and vent lines"
        " have a rule of their own."
    ),
    regime=SUBPART_J,
    applies_to=EACH_CLAMP,
    citation="33 CFR 183.564(d)(2)",
    force=BUILDER,
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("fill",),
    practice_id="practice-fill-clamp-position",
)
@each_clamp
def fill_clamp_position(part: ClampPart, context: Context) -> Result:
    """Over both the hose and the spud, pipe or fitting."""
    seat = part.clamp.seat
    if seat is None:
        return cannot_tell(
            Text("Cannot tell whether this clamp lies over the fitting."),
            clamp_path(part.segment.id, part.side, part.index, "seat"),
            remedy=Text("Look where the clamp sits and add it."),
        )
    if seat != "off_fitting":
        return passed(Text("The clamp lies over the hose and the fitting."))
    return failed(
        Text("This clamp lies beside the fitting, not over it."),
        remedy=Text("Move the clamp over both hose and fitting."),
    )
