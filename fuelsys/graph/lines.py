"""Lines: the paths that fuel takes from a tank's withdrawal to an engine's end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fuelsys.document.model import Document, Segment
from fuelsys.graph.errors import GraphError

LINE_SERVICES = frozenset({"feed", "pump_to_carburetor"})
# Diamonds of tees double the paths with each one; no boat comes near this many.
MOST_LINES = 2000


@dataclass(frozen=True)
class Line:
    """One path, in the direction of flow: `components` has one more than `segments`."""

    source: str
    segments: tuple[str, ...]
    components: tuple[str, ...]

    @property
    def end(self) -> str:
        """The component at the engine's end."""
        return self.components[-1]


def lines_of_document(document: Document) -> tuple[Line, ...]:
    """Every path from a withdrawal through feed and pump_to_carburetor segments to its end.

    A path never visits a component twice, so a loop in the survey cannot run for ever; a
    path that can only go on into itself ends there.

    Raises GraphError above 2000 paths.
    """
    outgoing: dict[str, list[Segment]] = {}
    for segment in document.segments:
        if segment.service in LINE_SERVICES:
            outgoing.setdefault(segment.from_id, []).append(segment)
    found: list[Line] = []
    for component in document.components:
        if component.kind != "withdrawal":
            continue
        for line in _paths(component.id, outgoing):
            found.append(line)
            if len(found) > MOST_LINES:
                raise GraphError(
                    f"more than {MOST_LINES} paths lead from the tanks to the engines; "
                    "check the segments that rejoin"
                )
    return tuple(found)


def _paths(source: str, outgoing: dict[str, list[Segment]]) -> Iterator[Line]:
    """Depth first, without recursion, so that a long survey cannot exhaust the stack."""
    stack: list[tuple[tuple[str, ...], tuple[str, ...]]] = [((), (source,))]
    while stack:
        segments, components = stack.pop()
        onward = [s for s in outgoing.get(components[-1], ()) if s.to_id not in components]
        if segments and not onward:
            yield Line(source, segments, components)
        for segment in reversed(onward):
            stack.append(((*segments, segment.id), (*components, segment.to_id)))
