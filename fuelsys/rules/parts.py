"""The parts of a boat that rules look at, and the subjects their findings belong to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from typing import Any

from fuelsys.document.model import Document, End, Segment
from fuelsys.graph import Graph
from fuelsys.rules.base import ClampPart, EndPart, Rule
from fuelsys.rules.fastening import EACH_CLAMP, clamps_unrecorded

PartOf = tuple[Any, tuple[str, ...]]
Parts = Iterable[PartOf]


def parts_of(rule: Rule, graph: Graph) -> Parts:
    """Each part a rule applies to, with the subjects its findings belong to."""
    if rule.applies_to == EACH_CLAMP:
        return graph.once((EACH_CLAMP, rule.services), lambda: list(_ends_and_clamps(rule, graph)))
    return chain.from_iterable([_of_kind(kind, rule, graph) for kind in rule.applies_to])


def _of_kind(kind: str, rule: Rule, graph: Graph) -> list[PartOf]:
    """The parts of one kind, the same for all rules that ask for the same services and kinds."""
    key = ("parts", kind, rule.services, rule.kinds)
    return graph.once(key, lambda: list(_PARTS[kind](rule, graph)))


def subjects_in_order(document: Document) -> dict[str, tuple[Any, str]]:
    """Every subject by id with its part and kind: segments, then the others, as they stand."""
    ordered: dict[str, tuple[Any, str]] = {s.id: (s, "segment") for s in document.segments}
    ordered["boat"] = (document.boat, "boat")
    ordered.update({part.id: (part, "engine") for part in document.engines})
    ordered.update({part.id: (part, "compartment") for part in document.compartments})
    ordered.update({part.id: (part, "tank") for part in document.tanks})
    ordered.update({part.id: (part, "component") for part in document.components})
    return ordered


def _segments(rule: Rule, graph: Graph) -> Iterator[tuple[Segment, tuple[str, ...]]]:
    for segment in graph.document.segments:
        if not rule.services or segment.service in rule.services:
            yield segment, (segment.id,)


def _ends(rule: Rule, graph: Graph) -> Parts:
    ends = _ends_by_segment(graph)
    for segment, subjects in _segments(rule, graph):
        for part in ends[segment.id]:
            yield part, subjects


def _ends_and_clamps(rule: Rule, graph: Graph) -> Parts:
    """Each end whose clamps are not on file, and at the others the clamps."""
    clamps = _clamps_by_segment(graph)
    for end, subjects in _of_kind("segment_end", rule, graph):
        if clamps_unrecorded(end):  # of other ends such rules have nothing to say
            yield end, subjects
        for clamp in clamps[end.segment.id]:
            if clamp.side == end.side:
                yield clamp, subjects


def _ends_by_segment(graph: Graph) -> dict[str, tuple[EndPart, EndPart]]:
    return graph.once("ends", lambda: {s.id: _ends_of(s) for s in graph.document.segments})


def _ends_of(segment: Segment) -> tuple[EndPart, EndPart]:
    """Both ends of a segment; an end that was not recorded has no known fact."""
    return (
        EndPart(segment, "from", segment.from_end or End()),
        EndPart(segment, "to", segment.to_end or End()),
    )


def _clamps(rule: Rule, graph: Graph) -> Parts:
    clamps = _clamps_by_segment(graph)
    for segment, subjects in _segments(rule, graph):
        for part in clamps[segment.id]:
            yield part, subjects


def _clamps_by_segment(graph: Graph) -> dict[str, list[ClampPart]]:
    ends = _ends_by_segment(graph)
    return graph.once("clamps", lambda: {name: _clamps_of(ends[name]) for name in ends})


def _clamps_of(ends: tuple[EndPart, EndPart]) -> list[ClampPart]:
    return [
        ClampPart(part.segment, part.side, part.end, index, clamp)
        for part in ends
        for index, clamp in enumerate(part.end.clamps or ())
    ]


def _lines(rule: Rule, graph: Graph) -> Parts:
    """Each line; what is said of it belongs to its segments of the rule's services."""
    for line in graph.lines:
        subjects = tuple(
            segment_id
            for segment_id in line.segments
            if not rule.services or graph.segment(segment_id).service in rule.services
        )
        if subjects:
            yield line, subjects


def _components(rule: Rule, graph: Graph) -> Parts:
    for component in graph.document.components:
        if not rule.kinds or component.kind in rule.kinds:
            yield component, (component.id,)


def _tanks(_rule: Rule, graph: Graph) -> Parts:
    return ((tank, (tank.id,)) for tank in graph.document.tanks)


def _engines(_rule: Rule, graph: Graph) -> Parts:
    return ((engine, (engine.id,)) for engine in graph.document.engines)


def _compartments(_rule: Rule, graph: Graph) -> Parts:
    return ((compartment, (compartment.id,)) for compartment in graph.document.compartments)


def _boat(_rule: Rule, graph: Graph) -> Parts:
    yield graph.document.boat, ("boat",)


_PARTS: dict[str, Callable[[Rule, Graph], Parts]] = {
    "segment": _segments,
    "segment_end": _ends,
    "clamp": _clamps,
    "line": _lines,
    "component": _components,
    "tank": _tanks,
    "engine": _engines,
    "compartment": _compartments,
    "boat": _boat,
}
