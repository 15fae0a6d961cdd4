"""Canada, as far as its text was read: SOR/2010-91 and TP 1332E 7.5.3 and 7.6.3.

Hose classes, fill clamps, sizes, anti-siphon and test figures of TP 1332 were not verified: no
number is given for them, and a lead decides.
"""

from __future__ import annotations

from fractions import Fraction

from fuelsys.document.model import Boat, Clamp, Compartment, Component, Segment
from fuelsys.rules.answers import Answer, all_of, any_of, known, unless
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    BUILDER,
    CANADA,
    EndPart,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    review,
    rule,
)
from fuelsys.rules.blower import BLOWER, LABEL, blower_needed, blower_on_file
from fuelsys.rules.context import Context, end_path
from fuelsys.rules.fastening import inches, is_clamped, is_hose, is_metallic
from fuelsys.rules.natural import NATURAL, has_openings
from fuelsys.rules.pumps import carried, is_in_tank
from fuelsys.rules.spaces import holds_engine, is_gasoline_inside, is_open, tank_permeates
from fuelsys.rules.spaces import tank_vents_here as vents_here
from fuelsys.text import Text

SMALL_VESSELS = "SOR/2010-91, Small Vessel Regulations"
UNDATED = "the text read gives no first day"
OPEN_AREA = "ca/sor-2010-91/open_area"
SLIDES = "A hose can slide off this fitting: no bead, and no grooves of {limit} or deeper."
NOT_VERIFIED = Text(
    "Canada's hose classes, in TP 1332, were not verified here. A lead looks them up and decides."
)
IN_TANK = Text("This filter stands inside a tank, of which the text read does not speak.")
LEAK = Question(
    good=Text("No fuel leaks."),
    bad=Text("Fuel leaks. Nobody may let fuel leak from or within the boat."),
    unknown=Text("Cannot tell whether fuel leaks."),
    remedy=Text("Stop the leak before the boat is used."),
    look=Text("Look along every run and add whether fuel leaks."),
)


def _holds(part: EndPart, context: Context) -> Answer:
    """Serrations 0.38 mm deep or more, or a bead."""
    end = part.end
    if end.shape == "bead":
        return Answer(True)
    if end.shape != "annular_grooves":
        told = None if end.shape is None else False
        return known(told, end_path(part.segment.id, part.side, "shape"))
    depth, least = end.groove_depth_m, context.value("serration_min")
    deep = None if depth is None else depth >= least
    return known(deep, end_path(part.segment.id, part.side, "groove_depth_in"))


def _resists(clamp: Clamp) -> bool | None:
    """A metallic clamp that does not rust."""
    if clamp.condition == "rusted" or is_metallic(clamp) is False:
        return False
    return True if clamp.band_material == "stainless" and clamp.condition is not None else None


def _clamped_well(part: EndPart) -> Answer:
    clamps = part.end.clamps
    where = end_path(part.segment.id, part.side, "clamps")
    if clamps is None:
        return Answer(None, (where,))
    return any_of(known(_resists(clamp), where) for clamp in clamps)


@rule(
    id="ca-tp-1332-7-5-3",
    title="Canada: hose on its fitting",
    words=Text(
        "In Canada the builder secures each hose of the vent, feed and return lines to a"
        " fitting with a bead or with serrations at least {serration_min} deep, under at least"
        " one metal clamp that resists corrosion. Fill hose is not named here, and metal line is"
        " not hose. Only a reproduction of the text was read."
    ),
    regime=CANADA,
    applies_to="segment_end",
    citation="TP 1332E 7.5.3",
    force=BUILDER,
    evidence="S",
    undated=UNDATED,
    services=("feed", "pump_to_carburetor", "return", "vent"),
    parameters=("ca/tp-1332/serration_min",),
)
def hose_on_fitting(part: EndPart, context: Context) -> Result:
    """Serrations of 0.38 mm or a bead, and one corrosion-resistant metallic clamp at least."""
    if not is_hose(part.segment):
        return None
    if is_clamped(part.end) is False:
        return not_applicable(Text("No clamp holds this end."))
    if part.end.shape == "flare":
        flare = Text(
            "The fitting is flared; the text read names bead and serrations. A lead decides."
        )
        return review(flare, evidence="I")
    holds = _holds(part, context)
    if holds.holds is False:
        least = inches(context.value("serration_min"))
        remedy = Text("Fit a beaded or serrated fitting.")
        return failed(Text(SLIDES, {"limit": least}), remedy=remedy, limit=least)
    return ON_FITTING.on(all_of((holds, _clamped_well(part))))


ON_FITTING = Question(
    good=Text("The fitting holds the hose, under a metal clamp that resists corrosion."),
    bad=Text("No metal clamp that resists corrosion holds this end."),
    unknown=Text("Cannot tell whether fitting and clamp hold this hose."),
    remedy=Text("Fit a stainless clamp."),
    look=Text("Look at fitting and clamp and add what they are."),
)


@rule(
    id="ca-tp-1332-7-6-3",
    title="Canada: filter mounted on its own",
    words=Text(
        "In Canada the builder mounts each fuel filter on its own, so that no line carries its"
        " weight or its shaking. It is asked of boats recorded for Canada. Of a filter inside a"
        " tank the text read says nothing, so a lead decides. Only a reproduction was read."
    ),
    regime=CANADA,
    applies_to="component",
    citation="TP 1332E 7.6.3",
    force=BUILDER,
    evidence="S",
    undated=UNDATED,
    kinds=("filter",),
)
def filter_mounted(part: Component, context: Context) -> Result:
    """Independently mounted, so that the lines carry no strain."""
    if is_in_tank(part, context.graph) and not part.own_support:
        return review(IN_TANK, evidence="I")
    return carried(part, context.graph)


@rule(
    id="ca-tp-1332-hose",
    title="Canada: class of the hose",
    words=Text(
        "Canada has classes of its own for fuel hose and binds the builder to them. Their text"
        " was not verified here, so no class passes or fails: a lead looks them up and decides."
        " Metal line is left out."
    ),
    regime=CANADA,
    applies_to="segment",
    citation="TP 1332E section 7, not verified",
    force=BUILDER,
    evidence="S",
    undated=UNDATED,
)
def hose_class(segment: Segment, _context: Context) -> Result:
    """No class or number is given: the text was not verified."""
    return review(NOT_VERIFIED) if is_hose(segment) else None


@rule(
    id="ca-sor-2010-91-ventilation",
    title="Canada: natural ventilation",
    words=Text(
        "In Canada the builder ventilates each enclosed space that holds a source of gasoline"
        " vapor: an engine, a tank's vent, or a tank not of metal that gives off more than"
        " {permeation} g a day for each cubic foot. A space is open from {open_area} square"
        " meters of opening for each cubic meter net, and then it is left out."
    ),
    regime=CANADA,
    applies_to="compartment",
    citation=SMALL_VESSELS,
    force=BUILDER,
    evidence="V",
    undated=UNDATED,
    parameters=(OPEN_AREA, "ca/sor-2010-91/permeation"),
)
def natural(place: Compartment, context: Context) -> Result:
    """An enclosed space with a source of gasoline vapor is ventilated."""
    source = any_of(
        (
            holds_engine(context, place),
            vents_here(context, place),
            tank_permeates(context, place, context.value("permeation"), Fraction(0)),
        )
    )
    if source.holds is False:
        return None
    aired = any_of((is_open(place, context.value("open_area")), has_openings(place)))
    if source.holds is None and not aired.holds:
        return cannot_tell(NATURAL.unknown, *source.missing, remedy=NATURAL.look)
    return NATURAL.on(aired)


@rule(
    id="ca-sor-2010-91-blower",
    title="Canada: powered ventilation",
    words=Text(
        "In Canada the builder gives each enclosed space with a gasoline engine a blower. A"
        " space is open, and needs none, from {open_area} square meters of opening for each"
        " cubic meter of net volume. Personal watercraft, and spaces without a gasoline engine,"
        " are left out."
    ),
    regime=CANADA,
    applies_to="compartment",
    citation=SMALL_VESSELS,
    force=BUILDER,
    evidence="V",
    undated=UNDATED,
    parameters=(OPEN_AREA,),
)
def blower(place: Compartment, context: Context) -> Result:
    """An enclosed space with a gasoline engine has a blower; personal watercraft excepted."""
    engine = holds_engine(context, place)
    kind = context.document.boat.kind
    if engine.holds is False or kind == "personal_watercraft":
        return None
    aired = any_of((is_open(place, context.value("open_area")), blower_on_file(place)))
    if aired.holds:
        return BLOWER.on(aired)
    asked = all_of((engine, unless(None if kind is None else False, "boat.kind")))
    if asked.holds is None:
        return cannot_tell(BLOWER.unknown, *asked.missing, remedy=BLOWER.look)
    return BLOWER.on(aired)


@rule(
    id="ca-sor-2010-91-notice",
    title="Canada: four-minute blower notice",
    words=Text(
        "In Canada the builder puts a notice at each ignition switch that asks for {blower_time}"
        " of blower before a start. It is asked where a gasoline engine stands in an enclosed"
        " space. Outboards, open spaces and personal watercraft are left out."
    ),
    regime=CANADA,
    applies_to="boat",
    citation=SMALL_VESSELS,
    force=BUILDER,
    evidence="V",
    undated=UNDATED,
    parameters=(OPEN_AREA, "ca/sor-2010-91/blower_time"),
)
def notice(boat: Boat, context: Context) -> Result:
    """At each ignition switch of a boat with a gasoline engine in an enclosed space."""
    inside = any_of(is_gasoline_inside(engine) for engine in context.document.engines)
    if inside.holds is False or boat.kind == "personal_watercraft":
        return None
    told = known(boat.blower_label, "boat.blower_label")
    return LABEL.on(told) if boat.blower_label else _notice_lacking(boat, inside, context)


def _notice_lacking(boat: Boat, inside: Answer, context: Context) -> Result:
    needed = blower_needed(context, context.value("open_area"))
    if needed.holds is False:
        return not_applicable(Text("No gasoline engine stands in an enclosed space."))
    kind = unless(None if boat.kind is None else False, "boat.kind")
    excused = all_of((inside, needed, kind))
    told = known(boat.blower_label, "boat.blower_label")
    if excused.holds is None:
        missing = dict.fromkeys((*excused.missing, *told.missing))
        return cannot_tell(LABEL.unknown, *missing, remedy=LABEL.look)
    return LABEL.on(told)


@rule(
    id="ca-sor-2010-91-1002",
    title="Canada: no fuel may leak",
    words=Text(
        "In Canada everyone is bound: nobody may let fuel leak inside a vessel or out of it."
        " Any leak on file fails, whatever the fuel and whatever the age of the boat. It is"
        " asked only of boats recorded for Canada."
    ),
    regime=CANADA,
    applies_to="boat",
    citation="SOR/2010-91, section 1002",
    force="everyone",
    evidence="V",
    undated=UNDATED,
)
def no_leak(boat: Boat, _context: Context) -> Result:
    """No person lets fuel leak within or from a vessel."""
    return LEAK.of(None if boat.fuel_leak is None else not boat.fuel_leak, "boat.fuel_leak")
