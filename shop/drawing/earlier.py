"""The found state beneath a proposed one: thin lines where the course was another."""

from __future__ import annotations

from fuelsys.document.model import Document, Segment
from shop.drawing import canvas, facts
from shop.drawing.geometry import Point, Points, at_x
from shop.drawing.labels import Board, DrawnLine
from shop.drawing.placed import Frame, Node, Part
from shop.drawing.subject import Subject


def earlier_lines(part: Part, frame: Frame, subject: Subject, board: Board) -> str:
    """Every found course that the drawn state changes or leaves out, 1 px and soft."""
    if subject.found is None:
        return ""
    found = {segment.id: segment for segment in subject.found.segments}
    drawn: list[tuple[str, Points]] = []
    for run in part.runs:
        for placed in run.segments:
            before = found.get(placed.ident)
            if before is not None and before.route != placed.step.segment.route:
                points = _course(before, placed.near, placed.far.outward, placed.step.back, frame)
                drawn.append((placed.ident, points))
    drawn += _left_out(part, frame, subject.found, subject)
    svg = ""
    for ident, points in drawn:
        if len(points) > 1:
            board.add_line(DrawnLine("earlier", ident, points, 1.0))
            svg += canvas.stroke(canvas.path_of(points), "soft", 1)
    return svg


def _left_out(
    part: Part, frame: Frame, found: Document, subject: Subject
) -> list[tuple[str, Points]]:
    """Found segments that are gone, from the end that is still there."""
    still = {segment.id for segment in subject.document.segments}
    nodes = {node.part: node for node in part.nodes()}
    gone: list[tuple[str, Points]] = []
    for segment in found.segments:
        if segment.id in still:
            continue
        for end, back in ((segment.from_id, False), (segment.to_id, True)):
            if end in nodes:
                node = nodes[end]
                gone.append((segment.id, _course(segment, node, node.outward, back, frame)))
                break
    return gone


def _course(segment: Segment, near: Node, outward: int, back: bool, frame: Frame) -> Points:
    course = facts.course_of(segment)
    points = tuple(
        (near.x + outward * frame.along * (course.span_in - d if back else d), frame.y(h))
        for d, h in course.points
    )
    ordered = points[::-1] if back else points
    return _within(ordered, frame.size.staff, frame.size.width - 1)


def _within(points: Points, left: float, right: float) -> Points:
    """The line cut off where it would leave the drawing."""
    kept: list[Point] = []
    for x, y in points:
        inside = min(max(x, left), right)
        if inside != x and kept:
            kept.append((inside, at_x((kept[-1], (x, y)), inside)))
            break
        kept.append((inside, y))
    return tuple(kept)
