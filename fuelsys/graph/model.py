"""The graph itself: look-ups by id and the segments at each component."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from functools import cached_property
from typing import Any, Protocol, TypeVar

from fuelsys.document.model import Compartment, Component, Document, Engine, Segment, Tank
from fuelsys.graph.errors import GraphError
from fuelsys.graph.geometry import Polyline
from fuelsys.graph.lines import Line, lines_of_document


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


Part = TypeVar("Part", bound=_HasId)
Known = TypeVar("Known")


class Graph:
    """Components joined by segments, each found by its id (KeyError where there is none)."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self._segments = _by_id(document.segments)
        self._components = _by_id(document.components)
        self._tanks = _by_id(document.tanks)
        self._compartments = _by_id(document.compartments)
        self._engines = _by_id(document.engines)
        self._check_references()
        self._at = _segments_by_component(document)
        self._polylines: dict[str, Polyline | None] = {}
        self._known: dict[Hashable, Any] = {}
        self.lines: tuple[Line, ...] = lines_of_document(document)

    def segment(self, segment_id: str) -> Segment:
        return self._segments[segment_id]

    def component(self, component_id: str) -> Component:
        return self._components[component_id]

    def tank(self, tank_id: str) -> Tank:
        return self._tanks[tank_id]

    def compartment(self, compartment_id: str) -> Compartment:
        return self._compartments[compartment_id]

    def engine(self, engine_id: str) -> Engine:
        return self._engines[engine_id]

    def segments_at(self, component_id: str) -> tuple[Segment, ...]:
        """Segments with an end at the component, in document order; one that loops, once."""
        return self._at[component_id]

    def tank_of(self, component_id: str) -> Tank | None:
        """The tank a withdrawal, spud, nipple or return fitting belongs to."""
        tank_id = self._components[component_id].tank
        return None if tank_id is None else self._tanks[tank_id]

    def neighbor(self, segment_id: str, component_id: str) -> str:
        """The component at the other end of a segment."""
        segment = self._segments[segment_id]
        return segment.to_id if segment.from_id == component_id else segment.from_id

    def polyline(self, segment_id: str) -> Polyline | None:
        """The run of a segment in metres; None where its route was not surveyed."""
        if segment_id not in self._polylines:
            self._polylines[segment_id] = Polyline.of(self._segments[segment_id])
        return self._polylines[segment_id]

    def once(self, key: Hashable, work: Callable[[], Known]) -> Known:
        """What `work` answers, worked out the first time only: a graph does not change."""
        kept = self._known
        if key not in kept:
            kept[key] = work()
        known: Known = kept[key]
        return known

    def lines_of(self, segment_id: str) -> tuple[Line, ...]:
        """The lines that run through a segment."""
        self._segments[segment_id]
        return self._lines_by_segment.get(segment_id, ())

    @cached_property
    def _lines_by_segment(self) -> dict[str, tuple[Line, ...]]:
        found: dict[str, list[Line]] = {}
        for line in self.lines:
            for segment_id in line.segments:
                found.setdefault(segment_id, []).append(line)
        return {segment_id: tuple(lines) for segment_id, lines in found.items()}

    def _check_references(self) -> None:
        for segment in self.document.segments:
            _must_exist(self._components, f"segments[{segment.id}].from", segment.from_id)
            _must_exist(self._components, f"segments[{segment.id}].to", segment.to_id)
        for component in self.document.components:
            if component.tank is not None:
                _must_exist(self._tanks, f"components[{component.id}].tank", component.tank)


def _by_id(parts: Iterable[Part]) -> dict[str, Part]:
    found: dict[str, Part] = {}
    for part in parts:
        if part.id in found:
            raise GraphError(f"the id {part.id!r} stands twice; give each part an id of its own")
        found[part.id] = part
    return found


def _must_exist(parts: Mapping[str, object], path: str, wanted: str) -> None:
    if wanted not in parts:
        raise GraphError(f"{path} names {wanted!r}, which the document lacks; add or correct it")


def _segments_by_component(document: Document) -> dict[str, tuple[Segment, ...]]:
    found: dict[str, list[Segment]] = {component.id: [] for component in document.components}
    for segment in document.segments:
        for component_id in dict.fromkeys((segment.from_id, segment.to_id)):
            found[component_id].append(segment)
    return {component_id: tuple(segments) for component_id, segments in found.items()}
