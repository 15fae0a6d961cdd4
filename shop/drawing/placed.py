"""Runs set in the plane: every part and every known course at its place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from fuelsys.document.model import Component, Tank
from shop.drawing import facts
from shop.drawing.geometry import Box, Point, Points
from shop.drawing.runs import Run, Step
from shop.drawing.sizes import Size


@dataclass(frozen=True, slots=True)
class Frame:
    """Heights and distances to px: `top` is the height drawn at y 0."""

    size: Size
    per_in: float
    top: float
    bottom: float
    along: float = 1.0  # px an inch along a hose

    def y(self, height: float) -> float:
        return (self.top - height) * self.per_in

    @property
    def depth(self) -> float:
        return (self.top - self.bottom) * self.per_in


@dataclass(frozen=True, slots=True)
class Node:
    """A part of the boat at its place; `y` is None where its height is not known."""

    part: str
    x: float
    y: float | None
    outward: int  # the direction its run leaves the tank
    flow: int  # the direction of the fuel along x
    role: str  # root, inline or end of its run

    @property
    def point(self) -> Point | None:
        return None if self.y is None else (self.x, self.y)


@dataclass(frozen=True, slots=True)
class PlacedSegment:
    """One segment drawn outward; `points` is its known course, empty where there is none."""

    step: Step
    points: Points
    near: Node
    far: Node
    whole: bool

    @property
    def ident(self) -> str:
        return self.step.segment.id


@dataclass(frozen=True, slots=True)
class PlacedRun:
    run: Run
    outward: int
    segments: tuple[PlacedSegment, ...]

    @property
    def course(self) -> Points:
        """All known points from the root outward, for telling whether lines cross."""
        points: list[Point] = []
        for segment in self.segments:
            for point in (segment.near.point, *segment.points, segment.far.point):
                if point and (not points or math.dist(point, points[-1]) > 1e-6):
                    points.append(point)
        return tuple(points)


@dataclass(frozen=True, slots=True)
class Part:
    """One drawing: a tank, or no tank, and the runs around x 0."""

    tank: Tank | None
    runs: tuple[PlacedRun, ...] = ()

    def nodes(self) -> Iterator[Node]:
        for run in self.runs:
            for segment in run.segments:
                yield segment.near
                yield segment.far

    def reach(self, half: float) -> tuple[float, float]:
        """The leftmost and rightmost x of the tank and the parts."""
        xs = [node.x for node in self.nodes()]
        edge = half if self.tank else 0.0
        return min([*xs, -edge]), max([*xs, edge])


def place(
    run: Run, outward: int, x: float, frame: Frame, components: Mapping[str, Component]
) -> PlacedRun:
    """The run from its root at `x` outward, -1 to the left or 1 to the right."""
    courses = [_outward_course(step) for step in run.steps]
    height = height_of(run.root, components)
    if height is None:
        height = courses[0].near_height
    near = Node(run.root, x, _y(frame, height), outward, _flow(run.steps[0], outward), "root")
    segments: list[PlacedSegment] = []
    for i, (step, course) in enumerate(zip(run.steps, courses, strict=True)):
        points = tuple((x + outward * frame.along * d, frame.y(h)) for d, h in course.points)
        height = height_of(step.far, components)
        if height is None:
            height = course.far_height
        last = i + 1 == len(courses)
        if height is None and not last:
            height = courses[i + 1].near_height
        x += outward * frame.along * course.span
        role = "end" if last else "inline"
        far = Node(step.far, x, _y(frame, height), outward, _flow(step, outward), role)
        segments.append(PlacedSegment(step, points, near, far, course.whole))
        near = far
    return PlacedRun(run, outward, tuple(segments))


def moved(part: Part, dx: float) -> Part:
    """The part with everything `dx` px to the right."""

    def node(old: Node) -> Node:
        return replace(old, x=old.x + dx)

    def segment(old: PlacedSegment) -> PlacedSegment:
        points = tuple((x + dx, y) for x, y in old.points)
        return replace(old, points=points, near=node(old.near), far=node(old.far))

    runs = tuple(
        replace(run, segments=tuple(segment(each) for each in run.segments)) for run in part.runs
    )
    return Part(part.tank, runs)


def height_of(part: str, components: Mapping[str, Component]) -> float | None:
    component = components.get(part)
    return facts.inches(component.height_m) if component else None


def tank_box(tank: Tank | None, frame: Frame) -> Box | None:
    """The outline of a tank around x 0, where both its edges are known."""
    if tank is None:
        return None
    top, bottom = facts.inches(tank.top_m), facts.inches(tank.bottom_m)
    if top is None or bottom is None:
        return None
    half = frame.size.tank / 2
    return Box(-half, frame.y(top), half, frame.y(bottom))


@dataclass(frozen=True, slots=True)
class _Outward:
    """A course seen from the tank's side."""

    span: float
    points: tuple[tuple[float, float], ...]
    whole: bool

    @property
    def near_height(self) -> float | None:
        known = self.points and self.points[0][0] <= 0.02 * self.span
        return self.points[0][1] if known else None

    @property
    def far_height(self) -> float | None:
        known = self.points and self.points[-1][0] >= 0.98 * self.span
        return self.points[-1][1] if known else None


def _outward_course(step: Step) -> _Outward:
    course = facts.course_of(step.segment)
    points = course.points
    if step.back:
        points = tuple((course.span_in - d, h) for d, h in reversed(points))
    return _Outward(course.span_in, points, course.whole)


def _y(frame: Frame, height: float | None) -> float | None:
    return None if height is None else frame.y(height)


def _flow(step: Step, outward: int) -> int:
    return -outward if step.back else outward
