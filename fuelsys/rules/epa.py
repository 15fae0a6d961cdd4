"""Low-permeation fuel lines and primer bulbs: 40 CFR 1045.112, 1045.801, 1060.105, 1060.601."""

from __future__ import annotations

from datetime import date
from functools import cache

from fuelsys.document.model import Component, Segment
from fuelsys.rules.base import (
    EPA,
    Permit,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, component_path, segment_path
from fuelsys.rules.epa_dates import Dated, line_dated, vessel_dated, whichever
from fuelsys.rules.fuel import DIESEL, fuel_of, unknown_fuel
from fuelsys.rules.undercowl import is_under_cowl
from fuelsys.text import Text

MAKER = "vessel or engine maker"
IN_FORCE_FROM = date(2009, 1, 1)
LABEL = "40 CFR 1045.112(a)(1)"
REPLACEMENT = "40 CFR 1060.601(b); 1068.101(b)(1)"
FIT_LABELED = Text("Fit hose with an EPA label. The -15 in a marking is not that label.")
LACKING = Text("Cannot tell whether this line needs the EPA label, or carries it.")
BULB_OLD = Text("The bulb was made before the standard for bulbs began.")
LOOK = Text("Add the facts from the boat's papers and from the print on the hose.")


def outside(context: Context, part: Segment | Component) -> tuple[Verdict | None, tuple[str, ...]]:
    """The verdict where the standard never reaches a part, or the path of its unknown fuel."""
    if isinstance(part, Segment) and part.metal_line is not None:
        return (
            not_applicable(Text("The line is metal throughout."), citation="40 CFR 1060.1(e)"),
            (),
        )
    answer = fuel_of(context.graph, part)
    if answer is not None and answer.fuel == DIESEL:
        return not_applicable(Text("The line carries diesel."), citation="40 CFR 1060.1(d)"), ()
    if answer is None or answer.fuel is not None:
        return None, ()
    return (unknown_fuel(answer), ()) if answer.disputed else (None, (answer.path,))


def too_old(dated: Dated) -> Verdict:
    return not_applicable(
        Text(
            "It was made before the standard began.{assumption}", {"assumption": dated.assumption}
        ),
        citation="40 CFR 1060.601(a)",
    )


def judge_label(label: bool | None, path: str, dated: Dated, unknown: tuple[str, ...]) -> Verdict:
    """The verdict on a label once the standard's reach is known, or on what is lacking."""
    unknown += dated.missing
    if label is None:
        unknown += (path,)
    if unknown:
        return cannot_tell(LACKING, *unknown, remedy=LOOK)
    params = {"assumption": dated.assumption}
    if label:
        return passed(Text("The hose carries the EPA label.{assumption}", params))
    return failed(
        Text(
            "A fuel line of this age carries an EPA label; this one has none.{assumption}", params
        ),
        citation=REPLACEMENT,
        remedy=FIT_LABELED,
    )


def _hose_label(segment: Segment) -> tuple[bool | None, str]:
    hose = segment.hose
    return (hose.epa_label if hose else None), segment_path(segment.id, "hose", "epa_label")


@cache
def labeled(citation: str) -> tuple[Permit, ...]:
    """Hose of any class that carries the EPA label, or line that is metal throughout."""
    classes = tuple(Permit(mark, "EPA label", citation) for mark in ("A1", "A2", "B1", "B2"))
    return (*classes, Permit("metal", None, "40 CFR 1060.1(e)"))


def _permitted(segment: Segment, context: Context) -> tuple[Permit, ...]:
    """What may be fitted where the standard reaches the run, or may reach it."""
    answer = fuel_of(context.graph, segment)
    dry = segment.service in ("fill", "vent") and segment.wet_after_fill is False
    if dry or (answer is not None and answer.fuel == DIESEL) or is_under_cowl(context, segment):
        return ()
    dated = line_dated(context, segment, context.day("fuel_line_start"))
    return () if dated.reached is False else labeled(LABEL)


@rule(
    id="cfr-40-1045-112-a-1",
    title="Low-permeation fuel line",
    words=Text(
        "The maker of vessel or engine uses fuel line of low permeation, with the EPA label,"
        " where the date of manufacture is {fuel_line_start} or later, and replacement hose"
        " follows. Metal line, diesel line and lines entirely under an outboard's cowl are left"
        " out, and so is a boat made earlier. A suffix -15 alone is no label."
    ),
    regime=EPA,
    applies_to="segment",
    citation=LABEL,
    force=MAKER,
    evidence="V",
    services=("feed", "pump_to_carburetor", "return", "transfer"),
    parameters=("40-cfr/1045-112/fuel_line_start",),
    in_force_from=IN_FORCE_FROM,
    permits=_permitted,
)
def fuel_line(segment: Segment, context: Context) -> Result:
    """Gasoline line, not metal, not under a cowl, made from 2009: it carries the EPA label."""
    if is_under_cowl(context, segment):
        return None
    verdict, unknown = outside(context, segment)
    dated = line_dated(context, segment, context.day("fuel_line_start"))
    if verdict is not None:
        return verdict
    if dated.reached is False:
        return too_old(dated)
    return judge_label(*_hose_label(segment), dated, unknown)


@rule(
    id="cfr-40-1045-801",
    title="Fill or vent hose that stays wet",
    words=Text(
        "A fill or vent hose is a fuel line to the EPA only where liquid stays in it after a"
        " normal fill; the maker of the vessel then uses labeled hose, from {fuel_line_start}"
        " on. Hose that drains dry, metal and diesel are left out. The Coast Guard's classes"
        " hold whether it drains or not."
    ),
    regime=EPA,
    applies_to="segment",
    citation='40 CFR 1045.801, "fuel line" (2); 1045.112(a)(1)',
    force=MAKER,
    evidence="V",
    services=("fill", "vent"),
    parameters=("40-cfr/1045-112/fuel_line_start",),
    in_force_from=IN_FORCE_FROM,
    permits=_permitted,
)
def wet_fill_or_vent(segment: Segment, context: Context) -> Result:
    """A fill or vent hose is a fuel line only if liquid stays in it after a normal fill."""
    verdict, unknown = outside(context, segment)
    dated = line_dated(context, segment, context.day("fuel_line_start"))
    if verdict is not None:
        return verdict
    if segment.wet_after_fill is False:
        return not_applicable(Text("It drains dry after a normal fill, so it is no fuel line."))
    if dated.reached is False:
        return too_old(dated)
    if segment.wet_after_fill is None:
        unknown += (segment_path(segment.id, "wet_after_fill"),)
    found = judge_label(*_hose_label(segment), dated, unknown)
    if found.outcome != "fail":
        return found
    return failed(
        Text(
            "Fuel stays in this hose after a normal fill, so it counts as a fuel line and carries "
            "an EPA label; it has none.{assumption}",
            {"assumption": dated.assumption},
        ),
        citation='40 CFR 1045.801, "fuel line" (2); 1060.601(b)',
        remedy=Text("Run it so that it drains dry, or fit hose with an EPA label."),
    )


@rule(
    id="cfr-40-1045-112-a-2",
    title="Low-permeation primer bulb",
    words=Text(
        "The maker of vessel or engine uses a primer bulb with an EPA label of its own, where"
        " it is made on {primer_bulb_start} or later. A bulb that holds liquid only while the"
        " engine is primed before a start, a bulb made earlier, and diesel are left out."
    ),
    regime=EPA,
    applies_to="component",
    citation="40 CFR 1045.112(a)(2)",
    force=MAKER,
    evidence="V",
    kinds=("primer_bulb",),
    parameters=("40-cfr/1045-112/primer_bulb_start",),
    in_force_from=IN_FORCE_FROM,
)
def primer_bulb(bulb: Component, context: Context) -> Result:
    """Made from 2011 and wet in service: it carries a label of its own."""
    verdict, unknown = outside(context, bulb)
    if verdict is not None:
        return verdict
    if bulb.made is not None and bulb.made.on_or_after(context.day("primer_bulb_start")) is False:
        return not_applicable(BULB_OLD, citation="40 CFR 1060.601(a)")
    if bulb.priming_only:
        return not_applicable(
            Text("It holds liquid only for priming before a start."),
            citation='40 CFR 1045.801, "fuel line"',
        )
    dated = _bulb_dated(bulb, context, context.day("primer_bulb_start"))
    if dated.reached is False:
        return too_old(dated)
    found = judge_label(bulb.epa_label, component_path(bulb.id, "epa_label"), dated, unknown)
    if found.outcome != "fail":
        return found
    return failed(
        Text("A primer bulb of this age carries an EPA label of its own; this one has none."),
        citation="40 CFR 1045.112(a)(2); 1060.601(b)",
        remedy=Text("Fit a low-permeation primer bulb with an EPA label."),
    )


def _bulb_dated(bulb: Component, context: Context, start: date) -> Dated:
    """The date of the vessel the bulb is in, or that of the portable line it belongs to.

    Between two lines of different dates, or with no line and several tanks aboard, it is not known
    which of them the bulb belongs to.
    """
    lines, tanks = context.graph.segments_at(bulb.id), context.document.tanks
    answers = [line_dated(context, line, start) for line in lines]
    if not lines:
        each = [vessel_dated(context, (tank,), start) for tank in tanks]
        answers = each or [vessel_dated(context, (), start)]
    if all(answer == answers[0] for answer in answers):
        return answers[0]
    return whichever(answers, component_path(bulb.id, "made") if lines else "segments")
