"""Shop practice for hose and heat: what a hot part has left on a hose; no distance is asked."""

from __future__ import annotations

from fuelsys.document.model import Segment
from fuelsys.rules.base import (
    COMMON,
    PRACTICE,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, segment_path
from fuelsys.rules.places import in_engine_space
from fuelsys.text import Text

BURNED = Text("This hose is burned: something hot touches it, or lies beside it.")
AWAY = Text("Find the hot part. Lead the new hose away from it, or shield it.")
HARD = Text(
    "This hose is hard and lies in an engine space. Heat may have done it. A lead decides if it"
    " stays."
)
UNSEEN = Text("Cannot tell whether heat reaches this hose.")
ELSEWHERE = not_applicable(Text("This hose lies in no engine space, and no burn was seen."))
FREE_OF_HEAT = ("good", "watch")  # grades that need no observation beside them
UNMARKED = passed(Text("Heat has left no mark on this hose."))


@rule(
    id="practice-hose-heat",
    title="Hose away from heat",
    words=Text(
        "This shop keeps hose off hot parts and goes by what they leave: hose that is burned"
        " fails, wherever it lies, and hose that is hard in an engine space or under a cowl is a"
        " person's decision. A hose to be replaced must say what was seen on it. No distance is"
        " asked, for no text read here gives one. Hose out of those spaces without a burn, and"
        " metal line, are left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
)
def hose_heat(segment: Segment, context: Context) -> Result:
    """What a hot part leaves: a burn anywhere, or hardness in an engine space."""
    hose = segment.hose
    if segment.metal_line is not None:
        return None
    seen = hose.observations if hose else ()
    if "burned" in seen:
        return failed(BURNED, remedy=AWAY)
    near, lacking = in_engine_space(context, segment)
    if near is False:
        return ELSEWHERE
    if near and "hardened" in seen:
        return review(HARD, remedy=AWAY)
    if hose is None or hose.condition in (None, "not_seen"):
        lacking = (*lacking, segment_path(segment.id, "hose", "condition"))
    elif not seen and hose.condition not in FREE_OF_HEAT:
        # A bad grade without a reason may be a burn.
        lacking = (*lacking, segment_path(segment.id, "hose", "observations"))
    if lacking:
        look = Text("Follow the hose, and add where it lies and what heat has done to it.")
        return cannot_tell(UNSEEN, *lacking, remedy=look)
    return UNMARKED
