"""Which fuel a part holds, as far as the document says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fuelsys.document.model import Component, Engine, Segment, Tank
from fuelsys.graph import Graph, Line
from fuelsys.rules.base import ClampPart, EndPart, Verdict, cannot_tell
from fuelsys.rules.context import segment_path, tank_path
from fuelsys.text import Text

GASOLINE = "gasoline"
DIESEL = "diesel"
AT_AN_END = (EndPart, ClampPart)


@dataclass(frozen=True, slots=True)
class FuelAnswer:
    """The fuel, or None with the path of the fact that would tell.

    Where facts on file contradict each other, `disputed` holds the path of each with its fuel.
    """

    fuel: str | None
    path: str
    disputed: tuple[tuple[str, str], ...] = ()

    @property
    def paths(self) -> tuple[str, ...]:
        """What to look at: the fact that is lacking, or every fact in the dispute."""
        return tuple(path for path, _ in self.disputed) or (self.path,)


UNKNOWN = Text("Cannot tell whether this part holds gasoline or diesel.")
DISPUTED = (
    "The facts contradict each other: {one} says {fuel}, {other} says {other_fuel}. One is wrong."
)


def unknown_fuel(answer: FuelAnswer, message: Text = UNKNOWN) -> Verdict:
    """cannot_tell: the fuel is not on file, or two facts on file contradict each other."""
    if not answer.disputed:
        return cannot_tell(message, answer.path)
    (one, fuel), (other, other_fuel) = _two_sides(answer.disputed)
    words = {"one": one, "fuel": fuel, "other": other, "other_fuel": other_fuel}
    look = Text("Look at tank and engine, and correct the one that is wrong.")
    return cannot_tell(Text(DISPUTED, words), *answer.paths, remedy=look)


def _two_sides(disputed: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], tuple[str, str]]:
    """The first fact, and the first that says otherwise."""
    first = disputed[0]
    return first, next(fact for fact in disputed if fact[1] != first[1])


@dataclass(frozen=True, slots=True)
class _Run:
    """Segments joined without a tank between them, by what tells their fuel."""

    fuels: frozenset[str]
    tanks: frozenset[str]
    facts: tuple[tuple[str, str], ...]  # the path of each fact that tells, with its fuel
    agreed: FuelAnswer | None  # where they tell of one fuel


def fuel_of(graph: Graph, part: object) -> FuelAnswer | None:
    """The fuel of a segment, end, clamp, line, component, tank or engine; None for other parts."""
    if isinstance(part, Segment):
        return _of_segments(graph, (part,))
    if isinstance(part, AT_AN_END):
        return _of_segments(graph, (part.segment,))
    if isinstance(part, Line):
        return _of_segments(graph, (graph.segment(part.segments[0]),))
    if isinstance(part, Component):
        return _of_component(graph, part)
    if isinstance(part, Tank):
        return _of_tank(graph, part)
    if isinstance(part, Engine):
        return FuelAnswer(part.fuel, f"engines[{part.id}].fuel")
    return None


def _of_component(graph: Graph, component: Component) -> FuelAnswer:
    tank = graph.tank_of(component.id)
    if tank is not None:
        return _of_tank(graph, tank)
    segments = graph.segments_at(component.id)
    if segments:
        return _of_segments(graph, segments)
    return FuelAnswer(_only_fuel_aboard(graph), f"components[{component.id}].tank")


def _of_tank(graph: Graph, tank: Tank) -> FuelAnswer:
    if tank.fuel is not None:
        return FuelAnswer(tank.fuel, "")
    return graph.once(("fuel of tank", tank.id), lambda: _by_engines(graph, tank))


def _by_engines(graph: Graph, tank: Tank) -> FuelAnswer:
    """The fuel of the engines that a tank feeds."""
    fed = {
        _engine_fuel(graph, graph.segment(segment_id))
        for line in graph.lines
        if graph.tank_of(line.source) == tank
        for segment_id in line.segments
    } - {None}
    fuel = fed.pop() if len(fed) == 1 else _only_fuel_aboard(graph)
    return FuelAnswer(fuel, tank_path(tank.id, "fuel"))


def _of_segments(graph: Graph, segments: tuple[Segment, ...]) -> FuelAnswer:
    """The fuel that the tanks and named engines of the segments' run agree on."""
    run = _run_of(graph, segments[0])
    if run.agreed is not None:
        return run.agreed
    if run.fuels:
        return FuelAnswer(None, run.facts[0][0], run.facts)
    fuel = _only_fuel_aboard(graph)
    if not run.tanks:
        return FuelAnswer(fuel, segment_path(segments[0].id, "engine"))
    ids = tuple(segment.id for segment in segments)
    tank_id = graph.once(("last tank", ids), lambda: _last_tank(graph, segments))
    return FuelAnswer(fuel, tank_path(tank_id, "fuel"))


def tanks_met(graph: Graph, segment: Segment) -> frozenset[str]:
    """The ids of the tanks that a walk along a segment's run meets."""
    return _run_of(graph, segment).tanks


def _run_of(graph: Graph, segment: Segment) -> _Run:
    return graph.once("runs of one fuel", lambda: _runs(graph))[segment.id]


def _runs(graph: Graph) -> dict[str, _Run]:
    """The run of every segment: each is walked once, whatever is asked of it later."""
    found: dict[str, _Run] = {}
    for segment in graph.document.segments:
        if segment.id in found:
            continue
        facts: dict[str, str] = {}
        tanks: set[str] = set()
        met: list[str] = []
        for joined, tank in _walk(graph, (segment,)):
            if tank is None:
                met.append(joined.id)
                path, fuel = f"engines[{joined.engine}].fuel", _engine_fuel(graph, joined)
            else:
                tanks.add(tank.id)
                path, fuel = tank_path(tank.id, "fuel"), _of_tank(graph, tank).fuel
            facts |= {path: fuel} if fuel else {}
        fuels = frozenset(facts.values())
        agreed = FuelAnswer(next(iter(fuels)), "") if len(fuels) == 1 else None
        run = _Run(fuels, frozenset(tanks), tuple(sorted(facts.items())), agreed)
        found.update(dict.fromkeys(met, run))
    return found


def _last_tank(graph: Graph, segments: tuple[Segment, ...]) -> str:
    """The tank of a run that a walk from its segments meets last."""
    return [tank.id for _, tank in _walk(graph, segments) if tank is not None][-1]


def _walk(graph: Graph, segments: tuple[Segment, ...]) -> Iterator[tuple[Segment, Tank | None]]:
    """Each segment of a run with None, and again with the tank at either end of it."""
    waiting = list(segments)
    seen = {segment.id for segment in segments}
    while waiting:
        segment = waiting.pop()
        yield segment, None
        for component_id in (segment.from_id, segment.to_id):
            tank = graph.tank_of(component_id)
            if tank is not None:
                yield segment, tank
                continue
            beyond = [s for s in graph.segments_at(component_id) if s.id not in seen]
            seen |= {s.id for s in beyond}
            waiting += beyond


def _engine_fuel(graph: Graph, segment: Segment) -> str | None:
    return graph.engine(segment.engine).fuel if segment.engine else None


def _only_fuel_aboard(graph: Graph) -> str | None:
    """The one fuel of a boat whose engines all burn the same, as recorded."""
    fuels = {engine.fuel for engine in graph.document.engines}
    return fuels.pop() if len(fuels) == 1 else None
