"""Metal fuel lines, 33 CFR 183.538."""

from __future__ import annotations

from fractions import Fraction

from fuelsys.document.model import MetalLine, Segment
from fuelsys.rules.answers import Answer, all_of, any_of, known
from fuelsys.rules.base import SUBPART_J_FROM, Result, cannot_tell, failed, passed, rule
from fuelsys.rules.context import Context, segment_path
from fuelsys.text import Text

ALLOWED = ("copper", "nickel_copper", "copper_nickel")
CONDITION = (
    "seamless annealed copper, nickel-copper or copper-nickel;"
    " wall 0.029 in or more unless corrugated flexible"
)
MISSING = Text("Cannot tell whether this metal line may feed an engine: a fact is not on file.")
FIT = Text("Fit seamless annealed copper, nickel-copper or copper-nickel line, or type A1 hose.")


def is_lawful(line: MetalLine, wall_min_m: Fraction, segment_id: str) -> Answer:
    """Whether a metal line meets 183.538(a) and (b)."""

    def path(key: str) -> str:
        return segment_path(segment_id, "metal_line", key)

    material = None if line.material is None else line.material in ALLOWED
    thick = None if line.wall_m is None else line.wall_m >= wall_min_m
    return all_of(
        (
            known(material, path("material")),
            known(line.seamless_annealed, path("seamless_annealed")),
            any_of((Answer(line.corrugated), known(thick, path("wall_in")))),
        )
    )


@rule(
    id="cfr-33-183-538",
    title="Metal feed line",
    words=Text(
        "The builder makes a metal line from tank to engine of seamless annealed copper,"
        " nickel-copper or copper-nickel, with a wall of at least {wall_min}. Corrugated"
        " flexible line may be thinner. Hose is left out, and so are metal fills, vents and"
        " returns."
    ),
    regime="33-cfr-183",
    applies_to="segment",
    citation="33 CFR 183.538",
    force="boat builder",
    evidence="V",
    services=("feed",),
    parameters=("33-cfr/183-538/wall_min",),
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-metal-feed",
)
def metal_feed_line(segment: Segment, context: Context) -> Result:
    """Seamless annealed copper alloy, wall at least 0.029 in unless corrugated flexible."""
    line = segment.metal_line
    if line is None:
        return None
    lawful = is_lawful(line, context.value("wall_min"), segment.id)
    if lawful.holds is None:
        return cannot_tell(MISSING, *lawful.missing)
    if not lawful.holds:
        return failed(Text("This metal line may not feed an engine."), remedy=FIT)
    return passed(Text("The metal line is of a kind that may feed an engine."))
