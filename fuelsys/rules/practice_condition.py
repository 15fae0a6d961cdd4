"""What the survey saw of hose and primer bulb: grades and observations.

A grade is a person's word; an observation can only make it worse. Age is never the grade.
"""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.document.model import Component, Segment
from fuelsys.rules.base import (
    CANNOT_TELL,
    COMMON,
    FAIL,
    PASS,
    PRACTICE,
    REVIEW,
    Result,
    Verdict,
    cannot_tell,
    failed,
    passed,
    rule,
    worst,
)
from fuelsys.rules.context import Context, component_path, segment_path
from fuelsys.text import Text

GRADES = {
    "good": (PASS, Text("Found in good order.")),
    "watch": (PASS, Text("In order today. Look again by the date on the survey.")),
    "replace_soon": (REVIEW, Text("Graded: replace it this season. A lead decides if it stays.")),
    "replace_now": (FAIL, Text("Graded: replace it before use.")),
    "do_not_run": (FAIL, Text("Graded: do not run the engine with it.")),
}
SEEN = {
    "cracked": (FAIL, Text("It is cracked.")),
    "swollen": (FAIL, Text("It is swollen with fuel.")),
    "delaminated": (FAIL, Text("Its liner is loose.")),
    "collapsed": (FAIL, Text("Its bore has collapsed.")),
    "weeping": (FAIL, Text("It weeps fuel.")),
    "burned": (FAIL, Text("It is burned.")),
    "band_cut": (FAIL, Text("A clamp has cut its cover.")),
    "hardened": (REVIEW, Text("It is hard and no longer bends. A lead decides if it stays.")),
    "kinked": (REVIEW, Text("It is kinked. A lead decides if it stays.")),
    "chafed": (REVIEW, Text("It is chafed. A lead decides if it stays.")),
    "permeating": (REVIEW, Text("It smells of fuel when wiped. A lead decides if it stays.")),
    "crazed": (PASS, Text("Its cover has fine cracks. Look again each season.")),
    "chalked": (PASS, Text("Its cover is chalky. Look again each season.")),
}
REPLACE = Text("Replace it.")


def judge_condition(condition: str | None, observations: tuple[str, ...], path: str) -> Verdict:
    """The worse of the grade and of what was seen; cannot_tell where nobody looked."""
    said = [SEEN[name] for name in observations]
    if condition is None or condition == "not_seen":
        said.append((CANNOT_TELL, Text("Cannot tell its condition: it was not seen.")))
    else:
        said.append(GRADES[condition])
    outcome = worst(found for found, _ in said)
    *seen, message = (text for found, text in said if found == outcome)
    for each in reversed(seen) if outcome != PASS else ():  # the evidence, then the grade
        message = Text("{seen} {grade}", {"seen": each, "grade": message})
    if outcome == CANNOT_TELL:
        return cannot_tell(message, path, remedy=Text("Get access, look, and grade it."))
    return Verdict(outcome, message, remedy=None if outcome == PASS else REPLACE)


@rule(
    id="practice-hose-condition",
    title="Condition of the hose",
    words=Text(
        "This shop grades each hose it can see, from good to do not run, and what was seen can"
        " only make the grade worse: cracks, swelling, a loose liner, weeping. Hose that was not"
        " seen cannot be told. Metal line is left out."
    ),
    regime=PRACTICE,
    applies_to="segment",
    citation=COMMON,
    force="shop",
    evidence="CP",
)
def hose_condition(segment: Segment, context: Context) -> Result:
    """The surveyor's grade, made worse by cracks, swelling, a loose liner and the like."""
    if segment.metal_line is not None:
        return None
    hose = segment.hose
    return judge_condition(
        hose.condition if hose else None,
        hose.observations if hose else (),
        segment_path(segment.id, "hose", "condition"),
    )


@rule(
    id="practice-bulb-condition",
    title="Condition of the primer bulb",
    words=Text(
        "This shop grades primer bulbs as it grades hose, and tries them: the bulb goes firm,"
        " and its arrow points toward the engine. Age alone is no grade. A bulb that was not"
        " tried cannot be told."
    ),
    regime=PRACTICE,
    applies_to="component",
    citation=COMMON,
    force="shop",
    evidence="CP",
    kinds=("primer_bulb",),
)
def bulb_condition(bulb: Component, context: Context) -> Iterator[Verdict]:
    """Graded as hose is; it goes firm, and its arrow points toward the engine."""
    yield judge_condition(bulb.condition, bulb.observations, component_path(bulb.id, "condition"))
    yield _bulb_fact(bulb, "goes_firm", Text("The bulb does not go firm."))
    yield _bulb_fact(
        bulb, "arrow_toward_engine", Text("The arrow of the bulb does not point to the engine.")
    )


def _bulb_fact(bulb: Component, key: str, wrong: Text) -> Verdict:
    told: bool | None = getattr(bulb, key)
    if told is None:
        return cannot_tell(
            Text("Cannot tell whether the bulb works: it was not tried."),
            component_path(bulb.id, key),
            remedy=Text("Squeeze the bulb, look at its arrow, and add both."),
        )
    if told:
        return passed(Text("The bulb does what it should."))
    return failed(wrong, remedy=Text("Turn it round, or fit a new bulb."))
