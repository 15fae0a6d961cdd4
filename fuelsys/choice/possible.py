"""The changes that are tried for a rejected choice, and how each is put into a document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from fuelsys.choice.judge import Judge
from fuelsys.choice.parts import (
    lifted,
    rising,
    shutoff_at_engine,
    shutoff_at_tank,
    with_clamps,
    with_sleeves,
    with_stop_valve,
    with_valve,
)
from fuelsys.document.model import Component, Segment
from fuelsys.graph import Graph, build
from fuelsys.hydraulics.remedies import lift_needed, opening_needed
from fuelsys.rules.base import Finding
from fuelsys.text import Figure, Text

INCH_M = Fraction(254, 10_000)
STEP_IN = Fraction(1, 2)  # a rise is told in steps that can be measured aboard
ABOVE_M = INCH_M / 2  # above the tank top, for which any distance serves

FIT_CLASS = "Fit type {class}."
FIT_LINE = "Fit type A1 on the whole line: {segments}."
FIT_LABEL = Text("Fit hose with an EPA label.")
FIT_HELIX = Text("Fit fill hose with a wire helix.")
FIT_ASSEMBLY = Text("Fit the engine maker's assembly.")
FIT_VALVE = "Fit an anti-siphon valve at {part}."
FIT_VALVE_OF = "Fit an anti-siphon valve at {part} that opens at {head} of fuel or more."
FIT_STOP_VALVE = (
    "Fit an electric stop valve at {part}, open only with the ignition on, that can be worked by"
    " hand."
)
FIT_SHUTOFF = "Fit a hand shutoff directly at {part} that can be worked from outside."
FIT_SHUTOFFS = (
    "Fit a hand shutoff directly at {part} that can be worked from outside, and another at {inlet}."
)
RAISE = "Raise the low points of {segment} by {rise}."
RISE_ALL = "Lead {segment} without a low place, so that it drains dry."
ABOVE_TANK = "Lead the whole line with its parts above the tank top: {segments}."
FIT_CLAMPS = "Fit sound stainless clamps at both ends of {segment}."


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that could be done; `of` names the thing, so that two do not contradict."""

    kind: str
    of: str
    text: Text
    segments: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    value: str | Fraction | None = None
    only_with: str = ""  # another thing without which this one is of no use


def possible_changes(
    judge: Judge, choice: Segment, findings: Iterable[Finding]
) -> Iterator[Change]:
    """What is tried, the simplest first; only what differs from what is there."""
    graph = build(judge.document_with((choice,)))
    yield from _hoses(judge, choice)
    yield from _valves(graph, choice)
    yield from _routes(graph, choice)
    if choice.hose is not None and any(each.end for each in findings):
        yield _change("clamps", "clamps", FIT_CLAMPS, choice)
    yield from _shutoffs(graph, choice)
    yield from _stop_valves(graph, choice)


def _hoses(judge: Judge, choice: Segment) -> Iterator[Change]:
    hose = choice.hose
    if hose is None:
        return
    for mark in _classes_named(judge, choice):
        if mark not in ("metal", hose.mark):
            said = Text(FIT_CLASS, {"class": mark})
            yield Change("class", "class", said, (choice.id,), value=mark)
    if hose.epa_label is not True:
        yield Change("label", "label", FIT_LABEL, (choice.id,))
    if choice.service == "fill" and hose.wire_helix is not True:
        yield Change("helix", "helix", FIT_HELIX, (choice.id,))
    if choice.service == "pump_to_carburetor" and not choice.engine_maker_part:
        yield Change("assembly", "class", FIT_ASSEMBLY, (choice.id,))


def _classes_named(judge: Judge, choice: Segment) -> list[str]:
    """The classes that every regime names which names any for this segment."""
    named: dict[str, list[str]] = {}
    for each in judge.evaluation((choice,)).segment(choice.id).permitted:
        named.setdefault(each.regime, []).append(each.permit.hose_class)
    first, *others = named.values() or [[]]
    return [mark for mark in dict.fromkeys(first) if all(mark in each for each in others)]


def _pick_ups(graph: Graph, choice: Segment) -> tuple[Component, ...]:
    """The pick-ups of the lines through a segment; none where one of them is something else."""
    sources = dict.fromkeys(line.source for line in graph.lines_of(choice.id))
    parts = tuple(graph.component(name) for name in sources)
    return parts if all(part.kind == "withdrawal" for part in parts) else ()


def _valves(graph: Graph, choice: Segment) -> Iterator[Change]:
    parts = _pick_ups(graph, choice)
    if not parts:
        return
    sources = tuple(part.id for part in parts)
    needed = opening_needed(graph, choice.id)
    named = {"part": ", ".join(sources)}
    if needed is None or not needed.head_m:
        said, head_m = Text(FIT_VALVE, named), None
    else:
        inches = ceil(round(needed.head_m / float(INCH_M), 6))
        said = Text(FIT_VALVE_OF, {**named, "head": Figure(inches, "in", computed=True)})
        head_m = inches * INCH_M
    guarded = all(part.anti_siphon == "spring_valve" for part in parts)
    if not guarded or head_m is not None:
        yield Change("valve", "valve", said, parts=sources, value=head_m)


def _stop_valves(graph: Graph, choice: Segment) -> Iterator[Change]:
    parts = _pick_ups(graph, choice)
    if any(part.anti_siphon != "electric_stop_valve" for part in parts):
        sources = tuple(part.id for part in parts)
        said = Text(FIT_STOP_VALVE, {"part": ", ".join(sources)})
        yield Change("stop_valve", "valve", said, parts=sources)


def _routes(graph: Graph, choice: Segment) -> Iterator[Change]:
    if not choice.route:
        return
    if choice.service in ("vent", "fill") and rising(choice).route != choice.route:
        yield _change("rising", "route", RISE_ALL, choice)
    lift = lift_needed(graph, choice.id)
    if lift is not None and lift.rise_m > 0:
        steps = ceil(round(lift.rise_m / float(STEP_IN * INCH_M), 6))
        rise_in = steps * STEP_IN
        lowest = min(height for _, height in choice.route)
        said = Text(RAISE, {"segment": choice.id, "rise": Figure(rise_in, "in", computed=True)})
        yield Change("raise", "route", said, (choice.id,), value=lowest + rise_in * INCH_M)
    yield from _above_tanks(graph, choice)


def _above_tanks(graph: Graph, choice: Segment) -> Iterator[Change]:
    """33 CFR 183.568(a): every line through the segment above the top of its tank."""
    lines = graph.lines_of(choice.id)
    tops = [tank.top_m if (tank := graph.tank_of(line.source)) else None for line in lines]
    known = [top for top in tops if top is not None]
    if not lines or len(known) < len(tops):
        return
    segments = tuple(dict.fromkeys(s for line in lines for s in line.segments))
    if any(not graph.segment(each).route for each in segments):
        return
    parts = tuple(dict.fromkeys(c for line in lines for c in line.components))
    said = Text(ABOVE_TANK, {"segments": ", ".join(segments)})
    yield Change("above", "route", said, segments, parts, max(known) + ABOVE_M)


def _shutoffs(graph: Graph, choice: Segment) -> Iterator[Change]:
    """33 CFR 183.568(c): hand shutoffs, and type A1 all along the line."""
    lines = graph.lines_of(choice.id)
    if len(lines) != 1 or graph.component(lines[0].source).kind != "withdrawal":
        return
    (line,) = lines
    ends = (line.segments[0], line.segments[-1])
    parts = (line.source, line.end)
    tank = Text(FIT_SHUTOFF, {"part": line.source})
    both = Text(FIT_SHUTOFFS, {"part": line.source, "inlet": line.end})
    yield Change("shutoff", "shutoff", tank, ends[:1], parts[:1])
    yield Change("shutoffs", "shutoff", both, ends, parts)
    if any(_is_other_class(graph.segment(each)) for each in line.segments):
        said = Text(FIT_LINE, {"segments": ", ".join(line.segments)})
        yield Change("class", "class", said, line.segments, value="A1", only_with="shutoff")


def _is_other_class(segment: Segment) -> bool:
    return segment.hose is not None and segment.hose.mark != "A1"


def _change(kind: str, of: str, msgid: str, choice: Segment) -> Change:
    return Change(kind, of, Text(msgid, {"segment": choice.id}), (choice.id,))


def applied(change: Change, segments: dict[str, Segment], components: dict[str, Component]) -> None:
    """Make a change in place, whatever was changed there before."""
    for name in change.segments:
        segments[name] = _segment_changed(change, segments[name])
    for name in change.parts:
        components[name] = _part_changed(change, components[name])
    if change.kind in ("shutoff", "shutoffs"):
        _splice(change, segments, components)


def _segment_changed(change: Change, segment: Segment) -> Segment:
    hose = segment.hose
    match change.kind:
        case "class" if hose is not None:
            return replace(segment, hose=replace(hose, mark=str(change.value)))
        case "label" if hose is not None:
            return replace(segment, hose=replace(hose, epa_label=True))
        case "helix" if hose is not None:
            return replace(segment, hose=replace(hose, wire_helix=True))
        case "assembly" if hose is not None:
            fitted = replace(segment, engine_maker_part=True, hose=replace(hose, mark="A1"))
            return with_sleeves(fitted)
        case "clamps":
            return with_clamps(segment)
        case "rising":
            return rising(segment)
        case "raise" | "above" if isinstance(change.value, Fraction):
            return lifted(segment, change.value)
    return segment


def _part_changed(change: Change, part: Component) -> Component:
    match change.kind:
        case "valve":
            return with_valve(part, change.value if isinstance(change.value, Fraction) else None)
        case "stop_valve":
            return with_stop_valve(part)
        case "above" if isinstance(change.value, Fraction) and part.height_m is not None:
            return replace(part, height_m=max(part.height_m, change.value))
    return part


def _splice(change: Change, segments: dict[str, Segment], components: dict[str, Component]) -> None:
    first = change.segments[0]
    behind, nipple, valve = shutoff_at_tank(segments[first], components[change.parts[0]])
    segments |= {first: behind, nipple.id: nipple}
    components[valve.id] = valve
    if change.kind == "shutoffs":
        last = change.segments[1]
        before, end, second = shutoff_at_engine(segments[last], components[change.parts[1]])
        segments |= {last: before, end.id: end}
        components[second.id] = second
