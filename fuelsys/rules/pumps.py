"""Pumps, stop valves and filters: 33 CFR 183.524(b), .528(a), .556(b), .566, .570."""

from __future__ import annotations

from fuelsys.document.model import Component
from fuelsys.graph import Graph
from fuelsys.rules.answers import all_of, known
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    BUILDER,
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, component_path
from fuelsys.rules.fastening import inches
from fuelsys.text import Text

RUNS_ON = Text("This electric pump runs while the engine stands still.")
ONLY_WITH_ENGINE = Question(
    good=Text("The electric pump runs only while the engine runs or is started."),
    bad=RUNS_ON,
    unknown=Text("Cannot tell whether this pump runs only while the engine runs or is started."),
    remedy=Text("Wire the pump so that it stops with the engine."),
    look=Text("Turn the ignition on without starting, listen to the pump, and add it."),
)
STOP_VALVE = Question(
    good=Text("The valve opens only with the ignition on, and works by hand."),
    bad=Text("This stop valve opens with the ignition off, or cannot be worked by hand."),
    unknown=Text("Cannot tell how this electric stop valve works."),
    remedy=Text("Fit a valve that opens only with the ignition on and can be worked by hand."),
    look=Text("Turn the ignition on and off, work the valve by hand, and add both."),
)
SUPPORT = Question(
    good=Text("The filter has a support of its own."),
    bad=Text("The filter hangs on its hoses. It must be carried by engine or boat."),
    unknown=Text("Cannot tell what carries this filter."),
    remedy=Text("Mount the filter on engine or structure."),
    look=Text("Look what carries the filter and add it."),
)
ON_NO_RUN = Text("Cannot tell whether this filter hangs on hoses or stands inside a tank.")
HELD_PLUGS = ("tapered_thread", "locked_screw")
TOO_FAR = "This pump stands {measured} from its engine. It may stand {limit} away at most."


@rule(
    id="cfr-33-183-524-b",
    title="Electric pump stops with the engine",
    words=Text(
        "The builder wires an electric fuel pump so that it works only while the engine runs or"
        " is being started. Pumps that are not electric are left out. A transfer pump that runs"
        " with the engine stopped is a person's decision, and as practice diesel is not asked."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.524(b)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("fuel_pump", "transfer_pump"),
    practice_id="practice-pump-stops",
    gasoline_practice=True,
)
def pump_stops(pump: Component, _context: Context) -> Result:
    """An electric pump runs only while the engine runs or is being started."""
    if pump.electric is False:
        return not_applicable(Text("This pump is not electric."))
    if pump.only_with_engine:
        return passed(ONLY_WITH_ENGINE.good)
    keys = {"electric": pump.electric, "only_with_engine": pump.only_with_engine}
    missing = [component_path(pump.id, key) for key, fact in keys.items() if fact is None]
    if missing:
        return cannot_tell(ONLY_WITH_ENGINE.unknown, *missing, remedy=ONLY_WITH_ENGINE.look)
    if pump.kind == "transfer_pump":
        decides = Text("This transfer pump runs while the engine stands still. A lead decides.")
        return review(decides, remedy=ONLY_WITH_ENGINE.remedy, evidence="I")
    return failed(RUNS_ON, remedy=ONLY_WITH_ENGINE.remedy)


@rule(
    id="cfr-33-183-528-a",
    title="Electric stop valve",
    words=Text(
        "The builder fits, where a stop valve between tank and engine is electric, one that"
        " opens electrically only with the ignition on and that can be worked by hand. Both are"
        " needed. Hand valves and plain anti-siphon valves are left out."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.528(a)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("electric_stop_valve", "withdrawal"),
    practice_id="practice-stop-valve",
)
def stop_valve(valve: Component, _context: Context) -> Result:
    """It opens electrically only with the ignition on, and can be worked by hand."""
    keys = {
        "opens_only_with_ignition": valve.opens_only_with_ignition,
        "manual_operation": valve.manual_operation,
    }
    # Only such a valve has these facts: without its kind they tell it all the same.
    bare = all(fact is None for fact in keys.values())
    other = valve.anti_siphon is not None or bare
    if valve.kind == "withdrawal" and valve.anti_siphon != "electric_stop_valve" and other:
        return None
    return STOP_VALVE.on(all_of(known(f, component_path(valve.id, k)) for k, f in keys.items()))


@rule(
    id="cfr-33-183-556-b",
    title="Service plug of a filter",
    words=Text(
        "The builder uses a filter whose service plug cannot shake loose: tapered pipe thread,"
        " or a screw locked by something other than a split washer. A filter without such a plug"
        " is left out."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.556(b)",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("filter",),
    practice_id="practice-service-plug",
)
def service_plug(part: Component, _context: Context) -> Result:
    """Tapered pipe thread, or a screw whose lock is not a split washer."""
    if part.service_plug is None:
        return cannot_tell(
            Text("Cannot tell how the drain plug of this filter is held."),
            component_path(part.id, "service_plug"),
            remedy=Text("Look at the plug under the filter and add what holds it."),
        )
    if part.service_plug == "none":
        return not_applicable(Text("This filter has no service plug."))
    if part.service_plug in HELD_PLUGS:
        return passed(Text("The plug cannot shake loose."))
    return failed(
        Text("The drain plug of this filter can shake loose."),
        remedy=Text("Fit a plug with tapered pipe thread, or lock its screw by other means."),
    )


@rule(
    id="cfr-33-183-566",
    title="Pump near its engine",
    words=Text(
        "The builder sets a fuel pump on its engine or within {distance_max} of it, which"
        " itself still passes. A pump that only moves fuel from tank to tank may stand anywhere."
        " As practice diesel is not asked."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.566",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("fuel_pump", "transfer_pump"),
    parameters=("33-cfr/183-566/distance_max",),
    practice_id="practice-pump-distance",
    gasoline_practice=True,
)
def pump_distance(pump: Component, context: Context) -> Result:
    """On its engine or within 12 in of it; a pump from tank to tank is exempt."""
    if pump.kind == "transfer_pump":
        return not_applicable(Text("A pump from tank to tank may stand anywhere."))
    distance_m, limit_m = pump.distance_to_engine_m, context.value("distance_max")
    if distance_m is None:
        return cannot_tell(
            Text("Cannot tell how far this pump stands from its engine."),
            component_path(pump.id, "distance_to_engine_in"),
            remedy=Text("Measure from pump to engine; 0 for a pump on the engine."),
        )
    figures = {"measured": inches(distance_m), "limit": inches(limit_m)}
    if distance_m <= limit_m:
        return passed(Text("The pump stands close enough to its engine."), **figures)
    return failed(Text(TOO_FAR, figures), remedy=Text("Move the pump to its engine."), **figures)


@rule(
    id="cfr-33-183-570",
    title="Support of a filter",
    words=Text(
        "The builder lets a fuel filter be carried by the engine or the boat, not by its hoses."
        " A filter inside a tank is not meant: one on the tank's side of a withdrawal fitting. One"
        " that no run on file joins may stand there, and cannot be told."
    ),
    regime=SUBPART_J,
    applies_to="component",
    citation="33 CFR 183.570",
    force=BUILDER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("filter",),
    practice_id="practice-filter-support",
)
def filter_support(part: Component, context: Context) -> Result:
    """Carried by engine or boat, not by its hoses; inside a tank it is not asked."""
    if is_in_tank(part, context.graph):
        return not_applicable(Text("This filter stands inside a tank, where this is not asked."))
    return carried(part, context.graph)


def is_in_tank(part: Component, graph: Graph) -> bool:
    """Fuel flows from it into a withdrawal fitting, so that it is on the tank's side of one."""
    onward = (s.to_id for s in graph.segments_at(part.id) if s.from_id == part.id)
    return any(graph.component(name).kind == "withdrawal" for name in onward)


def carried(part: Component, graph: Graph) -> Verdict:
    """By its own support; without one it hangs on the runs that join it, if any are on file."""
    if part.own_support is False and not graph.segments_at(part.id):
        look = Text("Add the runs that lead to and from the filter.")
        return cannot_tell(ON_NO_RUN, "segments", remedy=look)
    return SUPPORT.of(part.own_support, component_path(part.id, "own_support"))
