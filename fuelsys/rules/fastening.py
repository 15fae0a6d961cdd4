"""What the recorded facts of a hose end and its clamps say; None where they do not say."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import wraps

from fuelsys.document.model import Clamp, End, Segment
from fuelsys.rules.base import ClampPart, EndPart, Result, cannot_tell
from fuelsys.rules.context import Context, end_path
from fuelsys.text import Figure, Text, figure_in

SLEEVES = ("swaged_sleeve", "sleeve_and_insert")


def inches(value_m: Fraction, *, computed: bool = False) -> Figure:
    return figure_in(value_m, "in", computed=computed)


def is_hose(segment: Segment) -> bool:
    """A run is hose unless a metal line is recorded: ends and clamps are then still judged."""
    return segment.hose is not None or segment.metal_line is None


def is_clamped(end: End) -> bool | None:
    """Whether clamps hold the hose at this end."""
    if end.securing is None:
        return True if end.clamps else None
    return end.securing == "clamps"


def spring_only(clamp: Clamp) -> bool | None:
    """Whether a clamp relies on spring tension alone.

    A constant-tension clamp comes with a screw and without; its action decides.
    """
    if clamp.kind == "spring" or clamp.action == "spring":
        return True
    if clamp.action is not None:
        return False
    return None if clamp.kind in (None, "constant_tension") else False


def is_metallic(clamp: Clamp) -> bool | None:
    return None if clamp.band_material is None else clamp.band_material != "plastic"


def any_clamped(segment: Segment) -> bool | None:
    """Whether either end is clamped; None when an end that is not on file decides it."""
    ends = [segment.from_end, segment.to_end]
    answers = [None if end is None else is_clamped(end) for end in ends]
    if True in answers:
        return True
    return None if None in answers else False


# A rule for clamps also looks at ends, so that clamps nobody recorded are not passed over.
EACH_CLAMP = ("clamp", "segment_end")
ClampCheck = Callable[[ClampPart, Context], Result]


def each_clamp(check: ClampCheck) -> Callable[[ClampPart | EndPart, Context], Result]:
    """The check for each recorded clamp, and cannot_tell for an end whose clamps are not."""

    @wraps(check)
    def over(part: ClampPart | EndPart, context: Context) -> Result:
        if isinstance(part, ClampPart):
            return check(part, context)
        return _unrecorded(part)

    return over


def clamps_unrecorded(part: EndPart) -> bool:
    """Whether an end of hose has nothing on file about its clamps."""
    return part.end.clamps is None and is_hose(part.segment)


def _unrecorded(part: EndPart) -> Result:
    if not clamps_unrecorded(part):
        return None
    clamped = is_clamped(part.end)
    if clamped is False:
        return None
    key = "securing" if clamped is None else "clamps"
    return cannot_tell(
        Text("Cannot tell which clamps hold this end: they are not on file."),
        end_path(part.segment.id, part.side, key),
        remedy=Text("Look at the end and add its clamps."),
    )
