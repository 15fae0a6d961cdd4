"""Walking outward from a cut: what is joined to one side of it, by the lowest path.

Each step is one segment, entered at its near end. The walk takes the segment with the
lowest barrier next, so the barrier of every step is the smallest possible highest point
over all paths from the cut (on a tree, the only path). A segment that would close a loop
is not walked twice; it is listed apart, for the computations to bound.
"""

from __future__ import annotations

from collections.abc import Callable
from heapq import heappop, heappush
from itertools import count
from math import inf
from typing import NamedTuple

from fuelsys.document.model import Segment
from fuelsys.graph.model import Graph

AT_THE_CUT = -1  # the index of the cut segment itself, before the first step
_new = tuple.__new__  # a named tuple from all its fields, without matching names


class Step(NamedTuple):
    """One segment as the walk meets it; `before` is the step that led to its near end."""

    segment: Segment
    near: str
    far: str
    before: int
    barrier_m: float  # highest point between the cut segment's end and the near end


class Arrival(NamedTuple):
    """A component reached; `step` led to it through the segment `entered`."""

    component: str
    entered: Segment
    step: int
    barrier_m: float
    onward: bool  # whether any other segment is joined there, passable or not


class Walk(NamedTuple):
    """Everything joined to one side of a cut, steps and arrivals in the order reached."""

    steps: tuple[Step, ...]
    arrivals: tuple[Arrival, ...]
    loops: tuple[Segment, ...]  # segments that join what the walk had already reached


def outward(
    graph: Graph,
    cut: Segment,
    start: str,
    *,
    passes: Callable[[str, Segment, Segment], bool],
    highest: Callable[[Segment], float],
) -> Walk:
    """Walk from one end of the cut segment, away from the cut.

    Parameters
    ----------
    graph : Graph
        The system.
    cut : Segment
        The segment that is cut; it is never a step of its own walk.
    start : str
        The component at which the walk leaves it.
    passes : callable
        Whether liquid can pass a component, given its id, the segment by which the walk
        enters it and the one by which it would go on.
    highest : callable
        Highest point of a segment [m].

    Returns
    -------
    Walk
        Steps, arrivals and the segments that close loops.

    Raises
    ------
    KeyError
        `start` is not a component of the graph.

    Valid for
    ---------
    Any shape, loops and self-loops included.

    Source
    ------
    Minimax path by Dijkstra's method.

    Examples
    --------
    >>> from fuelsys.document.model import Component, Document
    >>> graph = Graph(Document(
    ...     components=tuple(Component(name, "tee") for name in "ABCD"),
    ...     segments=(Segment("S1", "feed", "A", "B"), Segment("S2", "feed", "B", "C"),
    ...               Segment("S3", "feed", "B", "D")),
    ... ))
    >>> walk = outward(graph, graph.segment("S1"), "B",
    ...     passes=lambda component, entered, leaving: True, highest=lambda segment: 0.0)
    >>> [(step.segment.id, step.far) for step in walk.steps]
    [('S2', 'C'), ('S3', 'D')]
    """
    steps: list[Step] = []
    loops: dict[str, Segment] = {}
    arrivals: dict[str, Arrival] = {}
    waiting: list[tuple[float, int, Step]] = []
    order = count()  # equal barriers: in document order

    def arrive(component: str, entered: Segment, step: int, barrier_m: float) -> None:
        joined = graph.segments_at(component)  # the entered one is among them
        onward = len(joined) > 1
        arrivals[component] = _new(Arrival, (component, entered, step, barrier_m, onward))
        for leaving in joined:
            if leaving.id == entered.id or not passes(component, entered, leaving):
                continue
            far = leaving.to_id if leaving.from_id == component else leaving.from_id
            beyond = _new(Step, (leaving, component, far, step, barrier_m))
            heappush(waiting, (max(barrier_m, highest(leaving)), next(order), beyond))

    arrive(start, cut, AT_THE_CUT, -inf)
    while waiting:
        barrier_m, _, step = heappop(waiting)
        if step.segment.id == cut.id or step.far in arrivals:
            loops[step.segment.id] = step.segment
            continue
        steps.append(step)
        arrive(step.far, step.segment, len(steps) - 1, barrier_m)
    for step in steps if loops else ():
        loops.pop(step.segment.id, None)
    return Walk(tuple(steps), tuple(arrivals.values()), tuple(loops.values()))
