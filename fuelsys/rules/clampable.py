"""Clamps go on hose made for clamps: 33 CFR 183.560(a) and 183.564(c)."""

from __future__ import annotations

from fuelsys.document.model import Segment
from fuelsys.rules.base import (
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, end_path, segment_path
from fuelsys.rules.fastening import any_clamped, is_clamped, is_hose
from fuelsys.text import Text

# What is said alike of every hose is made once.
UNCLAMPED = not_applicable(Text("No clamp holds this hose."))
MADE_FOR_CLAMPS = passed(Text("The hose is made for clamps."))


def _unknown_ends(segment: Segment) -> tuple[str, ...]:
    sides = (("from", segment.from_end), ("to", segment.to_end))
    return tuple(
        end_path(segment.id, side, "securing")
        for side, end in sides
        if end is None or is_clamped(end) is None
    )


def _made_for_clamps(segment: Segment) -> Result:
    if not is_hose(segment):
        return None
    clamped = any_clamped(segment)
    if clamped is False:
        return UNCLAMPED
    fit = segment.hose.for_clamps if segment.hose else None
    if fit:
        return MADE_FOR_CLAMPS
    if fit is None or clamped is None:
        lacking = (segment_path(segment.id, "hose", "for_clamps"),) if fit is None else ()
        return cannot_tell(
            Text("Cannot tell whether this hose is made for clamps."),
            *(lacking or _unknown_ends(segment)),
            remedy=Text("Add it from the hose maker's sheet."),
        )
    return failed(
        Text("This hose is not made for clamps, and clamps hold it."),
        remedy=Text("Fit hose made for clamps, or an assembly with swaged ends."),
    )


@rule(
    id="cfr-33-183-560-a",
    title="Hose made for clamps",
    words=Text(
        "The builder uses clamps on feed, pump and vent lines only with hose that is made for"
        " clamps. The hose maker's sheet says so. Ends with sleeves, fill hose and return hose"
        " are left out."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.560(a)",
    force="boat builder",
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("feed", "pump_to_carburetor", "vent"),
    practice_id="practice-hose-for-clamps",
)
def hose_for_clamps(segment: Segment, context: Context) -> Result:
    return _made_for_clamps(segment)


@rule(
    id="cfr-33-183-564-c",
    title="Fill hose made for clamps",
    words=Text(
        "The builder uses clamps on a fill line only with hose that is made for clamps. The"
        " hose maker's sheet says so. Ends with sleeves and metal fill pipe are left out."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.564(c)",
    force="boat builder",
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    services=("fill",),
    practice_id="practice-fill-hose-for-clamps",
)
def fill_hose_for_clamps(segment: Segment, context: Context) -> Result:
    return _made_for_clamps(segment)
