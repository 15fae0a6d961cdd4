"""No line may siphon its tank: the three alternatives of 33 CFR 183.568.

(a) the whole line above the tank top; (b)(1) a device at the withdrawal, (b)(2) a device further
on with the line to it above the tank top; (c) hand shutoffs on metal or type A1 line whose engine
end is above the tank top.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from fuelsys.document.model import Component, Segment
from fuelsys.graph import Graph, Line
from fuelsys.rules.answers import NO, YES, Answer, all_of, any_of, known
from fuelsys.rules.base import (
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    Verdict,
    cannot_tell,
    failed,
    passed,
    rule,
)
from fuelsys.rules.context import Context, component_path, segment_path, tank_path
from fuelsys.rules.fuel import DIESEL, fuel_of
from fuelsys.rules.metal import is_lawful
from fuelsys.text import Text

DEVICES = ("anti_siphon_valve", "electric_stop_valve")
CITATION = "33 CFR 183.568"
PARAMETERS = ("33-cfr/183-568/long_line", "33-cfr/183-538/wall_min")
MET = {
    "(a)": Text("The whole line stands above the tank top, so the tank cannot siphon."),
    "(b)(1)": Text("A device at the tank's withdrawal keeps the tank from siphoning."),
    "(b)(2)": Text("A device keeps the tank from siphoning; the line to it is above the tank top."),
    "(c)": Text("Hand shutoffs on metal or type A1 line guard the tank."),
}
NOT_MET = Text(
    "Nothing keeps this line from siphoning the tank: it is not all above the tank top, no"
    " anti-siphon device guards it, and the hand shutoffs that could do so instead are not all"
    " there."
)
ONLY_BY_SHUTOFF = Text(
    "Only hand shutoffs guard this line. With them alone every run must be type A1 or lawful metal."
)
UNKNOWN = Text("Cannot tell whether this line could siphon the tank: a fact is not on file.")
NO_LINE = Text("Cannot tell whether this run could siphon: its way back to a tank is not on file.")
FIT_DEVICE = Text("Fit an anti-siphon valve at the tank's withdrawal.")


def _above_tank_top(line: Line, context: Context, until: str) -> Answer:
    """Whether every surveyed point up to the component `until` is above the tank top.

    A point level with the tank top is not above it. A run without a route is not known.
    """
    tank = context.graph.tank_of(line.source)
    if tank is None or tank.top_m is None:
        path = tank_path(tank.id, "top_in") if tank else component_path(line.source, "tank")
        return Answer(None, (path,))
    reach, missing = line.components.index(until), []
    for component_id in line.components[: reach + 1]:
        height_m = context.graph.component(component_id).height_m
        if height_m is not None and height_m <= tank.top_m:
            return NO
    for segment_id in line.segments[:reach]:
        if not context.graph.segment(segment_id).route:
            missing.append(segment_path(segment_id, "route"))
        elif _reaches_down(context.graph, segment_id, tank.id, tank.top_m):
            return NO
    return Answer(None, tuple(missing)) if missing else YES


def _reaches_down(graph: Graph, segment_id: str, tank_id: str, top_m: Fraction) -> bool:
    """Whether a run, which several lines may share, comes down to the top of a tank."""
    route = graph.segment(segment_id).route or ()
    key = ("reaches down to tank", segment_id, tank_id)
    return graph.once(key, lambda: any(height_m <= top_m for _, height_m in route))


def _stop_valve_works(component: Component) -> Answer:
    """183.528(a): opens electrically only with the ignition on, and can be worked by hand."""
    keys = {
        "opens_only_with_ignition": component.opens_only_with_ignition,
        "manual_operation": component.manual_operation,
    }
    return all_of(known(fact, component_path(component.id, key)) for key, fact in keys.items())


def _device_at_withdrawal(line: Line, context: Context) -> Answer:
    component = context.graph.component(line.source)
    if component.anti_siphon == "electric_stop_valve":
        return _stop_valve_works(component)
    if component.anti_siphon is None:
        return Answer(None, (component_path(component.id, "anti_siphon"),))
    return Answer(component.anti_siphon == "spring_valve")


def _device_further_on(line: Line, context: Context) -> Answer:
    return any_of(
        all_of(
            (
                _stop_valve_works(component) if component.kind == "electric_stop_valve" else YES,
                _above_tank_top(line, context, component.id),
            )
        )
        for component in _components(line, context)
        if component.kind in DEVICES
    )


def _components(line: Line, context: Context) -> Iterator[Component]:
    return (context.graph.component(component_id) for component_id in line.components[1:])


def _shutoffs(line: Line, context: Context) -> Answer:
    """Alternative (c) but for the kind of line: heights, the shutoffs and the length."""
    valves = [c for c in _components(line, context) if c.kind == "shutoff_valve"]
    at_tank = any_of(
        all_of(
            (
                known(valve.at_tank_connection, component_path(valve.id, "at_tank_connection")),
                known(
                    valve.operable_from_outside, component_path(valve.id, "operable_from_outside")
                ),
            )
        )
        for valve in valves
    )
    at_engine = any_of(
        known(valve.at_engine_inlet, component_path(valve.id, "at_engine_inlet"))
        for valve in valves
        if not valve.at_tank_connection  # the second valve is another one
    )
    short = _is_short(line, context)
    return all_of((_engine_end_above_tank(line, context), at_tank, any_of((short, at_engine))))


def _engine_end_above_tank(line: Line, context: Context) -> Answer:
    tank = context.graph.tank_of(line.source)
    top_m = tank.top_m if tank else None
    end_m = context.graph.component(line.end).height_m
    if top_m is not None and end_m is not None:
        return Answer(top_m < end_m)
    missing = [component_path(line.end, "height_in")] if end_m is None else []
    if top_m is None:
        path = tank_path(tank.id, "top_in") if tank else component_path(line.source, "tank")
        missing.append(path)
    return Answer(None, tuple(missing))


def _is_short(line: Line, context: Context) -> Answer:
    """Whether the line is no longer than the length that wants a second shutoff."""
    limit_m = context.value("long_line")
    total_m = Fraction(0)
    missing = []
    for segment_id in line.segments:
        length_m = context.graph.segment(segment_id).length_m
        if length_m is None:
            missing.append(segment_path(segment_id, "length_in"))
        else:
            total_m += length_m
    if total_m > limit_m:
        return NO
    return Answer(None, tuple(missing)) if missing else YES


def _metal_or_a1(segment: Segment, context: Context) -> Answer:
    if segment.metal_line:
        return is_lawful(segment.metal_line, context.value("wall_min"), segment.id)
    if segment.hose is None:
        return Answer(None, (segment_path(segment.id, "hose"),))
    mark = segment.hose.mark
    return known(None if mark is None else mark == "A1", segment_path(segment.id, "hose", "class"))


def alternatives(line: Line, context: Context) -> dict[str, Answer]:
    """What is known of each alternative; `(c) but its kind` leaves the kind of line out.

    Each segment of the line asks for it, so it is worked out once for a line and a day.
    """
    key = ("alternatives to siphoning", line, context.on)
    return context.graph.once(key, lambda: _alternatives(line, context))


def _alternatives(line: Line, context: Context) -> dict[str, Answer]:
    shutoffs = _shutoffs(line, context)
    kinds = (_metal_or_a1(context.graph.segment(s), context) for s in line.segments)
    return {
        "(a)": _above_tank_top(line, context, line.end),
        "(b)(1)": _device_at_withdrawal(line, context),
        "(b)(2)": _device_further_on(line, context),
        "(c)": all_of((shutoffs, *kinds)),
        "(c) but its kind": shutoffs,
    }


def _verdict(answers: dict[str, Answer]) -> Verdict:
    for paragraph, message in MET.items():
        if answers[paragraph].holds:
            return passed(message, citation=f"{CITATION}{paragraph}")
    missing = any_of(answers[paragraph] for paragraph in MET).missing
    if missing:
        return cannot_tell(UNKNOWN, *missing)
    if answers["(c) but its kind"].holds:
        return failed(ONLY_BY_SHUTOFF, remedy=FIT_DEVICE, citation=f"{CITATION}(c)")
    return failed(NOT_MET, remedy=FIT_DEVICE)


@rule(
    id="cfr-33-183-568",
    title="No line may siphon its tank",
    words=Text(
        "The builder keeps each line from siphoning its tank in one of three ways: (a) the"
        " whole line above the tank top; (b) an anti-siphon valve or electric stop valve at the"
        " tank, or further on with the line to it above the tank top; (c) hand valves, a second"
        " one on lines over {long_line}, with every run A1 hose or lawful metal. The text names"
        " the carburetor, so it is not read across to diesel."
    ),
    regime=SUBPART_J,
    applies_to=("line", "segment"),
    citation=CITATION,
    force="boat builder",
    evidence="V+",
    services=("feed",),
    parameters=PARAMETERS,
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-anti-siphon",
    names_carburetor=True,
)
def anti_siphon(part: Line | Segment, context: Context) -> Result:
    """Each line from tank to carburetor inlet meets (a), (b) or (c)."""
    if isinstance(part, Segment):
        if context.graph.lines_of(part.id):
            return None
        return cannot_tell(NO_LINE, segment_path(part.id, "from"))
    return _verdict(alternatives(part, context))


def only_by_shutoff(segment: Segment, context: Context) -> bool:
    """Whether a line of the segment has no alternative but (c), which bars type B1.

    The section is not read across to a diesel.
    """
    answer = fuel_of(context.graph, segment)
    if answer and answer.fuel == DIESEL:
        return False
    for line in context.graph.lines_of(segment.id):
        answers = alternatives(line, context)
        others = any_of(answers[paragraph] for paragraph in ("(a)", "(b)(1)", "(b)(2)"))
        if others.holds is False and answers["(c) but its kind"].holds:
            return True
    return False
