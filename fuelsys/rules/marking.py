"""What a hose must bear on its cover: 33 CFR 183.540(e) to (h)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from fuelsys.document.model import Hose, Segment
from fuelsys.rules.base import (
    SUBPART_J,
    Result,
    Verdict,
    cannot_tell,
    failed,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, segment_path
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

NAMED = ("feed", "pump_to_carburetor", "fill", "vent")
FIT_MARKED = Text("Fit hose that bears its class, year and maker.")
UNMARKED = Text("This hose bears no Coast Guard class.")
NO_MAKER = Text("This hose bears no maker's name or trademark.")
SMALL = "The hose mark is {measured} high. It must be {limit} at least."
SPARSE = "The hose mark repeats every {measured}. It must repeat every {limit} at most."
TOO_OLD = (
    "This hose was made in {year}, before the class marks existed. A lead reads the mark again."
)
UNKNOWN = Text("Cannot tell whether the hose mark is complete: a fact is not on file.")
COMPLETE = Text("The hose bears its class, year and maker.")


def _unknown_facts(segment: Segment, hose: Hose) -> tuple[str, ...]:
    facts = {
        "class": hose.mark,
        "made": hose.made,
        "maker_marked": hose.maker_marked,
        "marking_height_in": hose.marking_height_m,
        "marking_interval_in": hose.marking_interval_m,
    }
    return tuple(
        segment_path(segment.id, "hose", key) for key, fact in facts.items() if fact is None
    )


def _faults(hose: Hose, context: Context) -> Iterator[Verdict]:
    """What is known to be wrong with the mark."""
    height_m, least_m = hose.marking_height_m, context.value("character_height")
    if hose.mark == "NONE":
        yield failed(UNMARKED, remedy=FIT_MARKED, citation="33 CFR 183.540(e)")
    if hose.maker_marked is False:
        yield failed(NO_MAKER, remedy=FIT_MARKED, citation="33 CFR 183.540(e)(3)")
    if height_m is not None and height_m < least_m:
        yield _off_measure(SMALL, height_m, least_m, "33 CFR 183.540(g)")
    interval_m, most_m = hose.marking_interval_m, context.value("mark_interval")
    if interval_m is not None and interval_m > most_m:
        yield _off_measure(SPARSE, interval_m, most_m, "33 CFR 183.540(h)")


def _off_measure(msgid: str, measured_m: Fraction, limit_m: Fraction, citation: str) -> Verdict:
    measured, limit = (Figure(from_base(length, "in"), "in") for length in (measured_m, limit_m))
    message = Text(msgid, {"measured": measured, "limit": limit})
    return failed(message, remedy=FIT_MARKED, measured=measured, limit=limit, citation=citation)


@rule(
    id="cfr-33-183-540",
    title="What a hose bears on its cover",
    words=Text(
        "The hose's maker prints on it the words USCG TYPE with the class, the year, and a name"
        " or trademark, in capitals at least {character_height} high and repeated every"
        " {mark_interval} or less. Such classes exist since {first_year}; an older year is read"
        " again. Return and transfer hose without a mark is left out, for no paragraph asks a"
        " class of it."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.540(e)-(h)",
    force="hose maker",
    evidence="V+",
    parameters=(
        "33-cfr/183-540/character_height",
        "33-cfr/183-540/mark_interval",
        "33-cfr/183-540/first_year",
    ),
    in_force_from=date(1987, 5, 27),
    practice_id="practice-hose-marking",
)
def hose_marking(segment: Segment, context: Context) -> Result:
    """Class, year and maker, in characters of 1/8 in or more, every 12 in or less.

    A hose that no paragraph asks a class of (return, transfer, detection tube) is judged by its
    mark only where it bears one.
    """
    hose = segment.hose
    if hose is None:
        return None
    class_asked = segment.service in NAMED and not segment.detection_tube
    if hose.mark in (None, "NONE") and not class_asked:
        return None
    faults = tuple(_faults(hose, context))
    if faults:
        return faults
    missing = _unknown_facts(segment, hose)
    if missing:
        return cannot_tell(UNKNOWN, *missing)
    if hose.made is not None and hose.made < context.value("first_year"):
        return review(Text(TOO_OLD, {"year": hose.made}), remedy=FIT_MARKED, evidence="I")
    return passed(COMPLETE)
