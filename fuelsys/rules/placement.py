"""Which hose may serve where: 33 CFR 183.558(a) and (b), and the services it does not name."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fuelsys.document.model import Segment
from fuelsys.hydraulics.result import Discharge
from fuelsys.rules.base import (
    SUBPART_J,
    Permit,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, segment_path
from fuelsys.rules.metal import CONDITION as METAL_CONDITION
from fuelsys.rules.siphon import PARAMETERS as SIPHON_PARAMETERS
from fuelsys.rules.siphon import only_by_shutoff
from fuelsys.text import Figure, Text, figure_in
from fuelsys.units import from_base

CLASSES_FROM = date(1987, 5, 27)  # 52 FR 19728 brought the classes A1, A2, B1 and B2
UNMARKED = "183.540(e)"
AT_PUMP = "33 CFR 183.558(a)"
FIRE_RESISTANT = ("A1", "A2")
FIT_A1 = Text("Fit type A1.")
FIT_A = Text("Fit type A1 or A2.")
ONLY_A1_AT_PUMP = Text("Between pump and carburetor only type A1 may serve.")
FEED_ALLOWED = Text("From tank to engine type A1 serves, or type B1 that lets out little.")
FILL_ALLOWED = Text("In a fill or vent line type A1 or A2 serves, or type B that lets out little.")
METAL = Text("This run is metal. The hose rule does not reach it.")
DETECTION_TUBE = Text("This tube only shows a failed pump diaphragm. The rule leaves it out.")
UNKNOWN_CLASS = Text("Cannot tell whether this hose may serve here: its class is not on file.")
NO_HOSE = Text("Cannot tell what this run is made of: neither hose nor metal line is on file.")
SILENT = "The rule does not name {service} lines. Type A1 serves. A lead decides on others."

RUNS_OUT = (
    "Cut at its worst place, this hose lets {volume} of fuel run out. Type {mark} may let out"
    " {limit} at most."
)
HELD_NARROWLY = (
    "Cut at its worst place, this hose lets {volume} of fuel run out. Type {mark} may let out"
    " {limit} at most. It rests on a valve of which the head uses {share} of what opens it: one"
    " that closes again at less than it opens may let more run."
)
BETWEEN = (
    "Cut at its worst place, this hose lets {volume} of fuel run out by best estimate, and"
    " {bound} at the most. The limit, {limit}, lies between. A lead decides and says why."
)
HEAD_UNKNOWN = Text(
    "Cannot tell whether a cut would siphon: the valve's opening head is not on file."
)
ADD_HEAD = Text("Add the opening head from the maker's sheet, or fit type A1.")
FACT_UNKNOWN = "Cannot tell how much fuel a cut would let out: {fact} of {part} is not on file."
FACTS_UNKNOWN = (
    "Cannot tell how much fuel a cut would let out: {fact} of {part} is not on file, and {more}"
    " more."
)
FACT = Text("a fact")
FACT_WORDS = {
    "route": Text("the run with its heights"),
    "length_in": Text("the length"),
    "hose": Text("the hose"),
    "inside_diameter_in": Text("the bore"),
    "anti_siphon": Text("whether a valve guards the outlet"),
    "opening_head_in": Text("the valve's opening head"),
    "height_in": Text("the height"),
    "top_in": Text("the height of the top"),
    "surface_in": Text("the level of the fuel"),
    "contents_ml": Text("what it holds"),
    "check_valve": Text("whether it lets fuel back"),
    "fuel": Text("the fuel"),
    "tank": Text("the tank"),
}
ADD_FACT = Text("Measure what is lacking, or fit type A1.")


def _unknown_class(segment: Segment) -> Verdict:
    """The class is not known: name what to read on the hose."""
    if segment.hose is None:
        return cannot_tell(NO_HOSE, segment_path(segment.id, "hose"))
    paths = (segment_path(segment.id, "hose", key) for key in ("class", "marking"))
    return cannot_tell(UNKNOWN_CLASS, *paths)


def _wrong_class(mark: str, paragraph: str, allowed: Text, remedy: Text) -> Verdict:
    """A class that may not serve; an unmarked hose fails by its marking section as well."""
    if mark == "NONE":
        message = Text("This hose bears no Coast Guard class. {allowed}", {"allowed": allowed})
        return failed(message, remedy=remedy, citation=f"{paragraph}; {UNMARKED}")
    message = Text("This hose is type {mark}. {allowed}", {"mark": mark, "allowed": allowed})
    return failed(message, remedy=remedy, citation=paragraph)


def _right_class(mark: str, citation: str, evidence: str = "V+") -> Verdict:
    message = Text("Type {mark} may serve here.", {"mark": mark})
    return passed(message, citation=citation, evidence=evidence)


def _mark(segment: Segment) -> str | None:
    return segment.hose.mark if segment.hose else None


def permitted_at_pump(_segment: Segment, _context: Context) -> tuple[Permit, ...]:
    return (Permit("A1", None, AT_PUMP), Permit("metal", None, AT_PUMP))


@rule(
    id="cfr-33-183-558-a",
    title="Pump to carburetor: type A1 only",
    words=Text(
        "The builder runs only type A1 hose between the fuel pump and the carburetor; no"
        " computed volume makes another class lawful there. On an injected engine all that"
        " follows the pump is read so, which is our reading. Metal line, diesel, and a tube that"
        " only shows a failed diaphragm are left out."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation=AT_PUMP,
    force="boat builder",
    evidence="V+",
    services=("pump_to_carburetor",),
    in_force_from=CLASSES_FROM,
    names_carburetor=True,
    practice_id="practice-pump-to-carburetor",
    permits=permitted_at_pump,
)
def pump_to_carburetor(segment: Segment, _context: Context) -> Result:
    """Each hose between the fuel pump and the carburetor is type A1."""
    if segment.metal_line:
        return passed(METAL, evidence="I")
    mark = _mark(segment)
    if mark == "A1":
        return _right_class(mark, AT_PUMP)
    if segment.detection_tube:
        return not_applicable(DETECTION_TUBE, evidence="S")
    if mark is None:
        return _unknown_class(segment)
    return _wrong_class(mark, AT_PUMP, ONLY_A1_AT_PUMP, FIT_A1)


ON_FILL_AND_VENT = (
    *(Permit(mark, None, "33 CFR 183.558(b)(1)(i)") for mark in FIRE_RESISTANT),
    *(Permit(mark, "discharge", "33 CFR 183.558(b)(1)(ii)") for mark in ("B1", "B2")),
    Permit("metal", None, "33 CFR 183.558(b)"),
)
ON_FEED = (
    Permit("A1", None, "33 CFR 183.558(b)(2)(i)"),
    Permit("B1", "discharge", "33 CFR 183.558(b)(2)(ii)"),
    Permit("metal", METAL_CONDITION, "33 CFR 183.538"),
)
ON_FEED_BY_SHUTOFF = (ON_FEED[0], ON_FEED[2])  # only hand valves keep the tank from siphoning


def permitted_on_board(segment: Segment, context: Context) -> tuple[Permit, ...]:
    """183.558(b): the classes for a feed, fill or vent line, and metal."""
    if segment.service != "feed":
        return ON_FILL_AND_VENT
    return ON_FEED_BY_SHUTOFF if only_by_shutoff(segment, context) else ON_FEED


@rule(
    id="cfr-33-183-558-b",
    title="Feed, fill and vent: the class, or no more than five ounces",
    words=Text(
        "The builder fits A1 from tank to engine, and A1 or A2 to fill and vent. Hose without a"
        " fire rating, B1 on feed, B1 or B2 on fill and vent, may serve where a cut at its worst"
        " place lets no more than {discharge_limit} run out in two and a half minutes. Where"
        " only hand valves keep the tank from siphoning B1 is never allowed; metal has rules of"
        " its own."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.558(b)",
    force="boat builder",
    evidence="V+",
    services=("feed", "fill", "vent"),
    parameters=("33-cfr/183-558/discharge_limit", *SIPHON_PARAMETERS),
    in_force_from=CLASSES_FROM,
    practice_id="practice-five-ounce",
    setting="advice",
    permits=permitted_on_board,
)
def hose_placement(segment: Segment, context: Context) -> Result:
    """Feed: A1, or B1 within five ounces. Fill and vent: A1 or A2, or B within five ounces."""
    feed = segment.service == "feed"
    paragraph = f"33 CFR 183.558(b)({'2' if feed else '1'})"
    if segment.metal_line:
        return None if feed else passed(METAL, evidence="I")
    mark = _mark(segment)
    if mark is None:
        return _unknown_class(segment)
    if mark == "A1" or (mark in FIRE_RESISTANT and not feed):
        return _right_class(mark, f"{paragraph}(i)")
    if mark == "B1" or (mark == "B2" and not feed):
        return _by_discharge(segment, mark, f"{paragraph}(ii)", context)
    if feed:
        return _wrong_class(mark, paragraph, FEED_ALLOWED, FIT_A1)
    return _wrong_class(mark, paragraph, FILL_ALLOWED, FIT_A)


def _by_discharge(segment: Segment, mark: str, citation: str, context: Context) -> Verdict:
    """Type B: what runs out of the worst cut, against the limit."""
    limit = figure_in(context.value("discharge_limit"), "floz")
    result = context.discharge(segment.id)
    if result is None or result.verdict == "cannot_tell":
        return _discharge_unknown(segment, result, citation)
    volume = _ounces(result.volume_m3 if result.volume_m3 is not None else result.least_m3)
    figures = {"volume": volume or "", "limit": limit, "mark": mark}
    common = {"measured": volume, "limit": limit, "citation": citation}
    if result.verdict == "within":
        return passed(_within(result, figures), **common)
    remedy = FIT_A1 if segment.service == "feed" else FIT_A
    if result.verdict == "over":
        return failed(Text(RUNS_OUT, figures), remedy=remedy, **common)
    bound = _ounces(result.upper_bound_m3) or ""
    return review(Text(BETWEEN, {**figures, "bound": bound}), remedy=remedy, **common)


def _within(result: Discharge, figures: Mapping[str, object]) -> Text:
    """What runs out; said besides, where a valve holds so narrowly that it may not close again."""
    if result.held_share is None:
        return Text(RUNS_OUT, figures)
    share = Figure(100.0 * result.held_share, "pct", True)
    return Text(HELD_NARROWLY, {**figures, "share": share})


def _ounces(volume_m3: float | None) -> Figure | None:
    return None if volume_m3 is None else Figure(from_base(volume_m3, "floz"), "floz", True)


def _discharge_unknown(segment: Segment, result: Discharge | None, citation: str) -> Verdict:
    missing = result.missing if result else ()
    if not missing:
        missing = (segment_path(segment.id, "route"),)
    by_head = all(path.endswith(("opening_head_in", "opening_psi")) for path in missing)
    message, remedy = (HEAD_UNKNOWN, ADD_HEAD) if by_head else (_lacking(missing), ADD_FACT)
    return cannot_tell(message, *missing, remedy=remedy, citation=citation)


def _lacking(missing: tuple[str, ...]) -> Text:
    """Names the first fact that is lacking, and how many more there are."""
    owner, _, key = missing[0].rpartition(".")
    part = owner.partition("[")[2].partition("]")[0]
    params = {"fact": FACT_WORDS.get(key, FACT), "part": part or owner, "more": len(missing) - 1}
    return Text(FACTS_UNKNOWN if len(missing) > 1 else FACT_UNKNOWN, params)


def permitted_by_default(_segment: Segment, _context: Context) -> tuple[Permit, ...]:
    silent = "33 CFR 183.558 (silent)"
    return (Permit("A1", None, silent), Permit("metal", None, silent))


@rule(
    id="cfr-33-183-558-silent",
    title="Return and transfer lines: the rule names neither",
    words=Text(
        "The section that names hose classes for the builder speaks of feed, pump, fill and"
        " vent, and not of return lines or lines from tank to tank. Type A1 is taken as enough;"
        " for any other hose a lead decides, and it never fails by this rule. Metal line is left"
        " out."
    ),
    regime=SUBPART_J,
    applies_to="segment",
    citation="33 CFR 183.558 (silent)",
    force="boat builder",
    evidence="I",
    services=("return", "transfer"),
    in_force_from=CLASSES_FROM,
    practice_id="practice-return-hose",
    permits=permitted_by_default,
)
def unnamed_service(segment: Segment, _context: Context) -> Result:
    """Type A1 by default; any other hose is a person's decision, never a failure."""
    if segment.metal_line:
        return passed(METAL)
    mark = _mark(segment)
    if mark is None:
        return _unknown_class(segment)
    if mark == "A1":
        return _right_class(mark, "33 CFR 183.558 (silent)", "I")
    return review(Text(SILENT, {"service": segment.service}), remedy=FIT_A1)
