"""The parts of the boat in one drawing: their symbols, and what is written at them."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.document.model import Component
from shop.drawing import facts, symbols, words
from shop.drawing.geometry import Box, Point
from shop.drawing.ground import Outline
from shop.drawing.labels import Block, Board, Request, Row, Span
from shop.drawing.metrics import shortened, wrapped
from shop.drawing.placed import Node, Part, PlacedRun
from shop.drawing.subject import Subject

_QUIET_FITTINGS = frozenset({"fill_spud", "vent_nipple", "return_fitting"})
_TAG_ROOM = 14  # text sizes a tag may be wide


def placed_nodes(part: Part) -> list[tuple[Node, PlacedRun]]:
    """Every part once at each of its places, roots first."""
    seen: dict[tuple[str, float], tuple[Node, PlacedRun]] = {}
    for run in part.runs:
        for segment in run.segments:
            for node in (segment.near, segment.far):
                seen.setdefault((node.part, round(node.x, 1)), (node, run))
    return list(seen.values())


def symbol(
    node: Node, subject: Subject, outline: Outline | None, board: Board
) -> tuple[str, Box | None]:
    """The glyph of one part, its room put on the board; none where its height is not known."""
    if node.y is None:
        return "", None
    part = subject.components.get(node.part)
    kind = part.kind if part else ""
    scale = subject.size.symbol
    glyph = symbols.glyph_of(kind, part.anti_siphon if part else None)
    at: Point = (node.x, node.y)
    turn = node.flow
    if kind in symbols.FACES_OUTWARD:
        turn = node.outward
    stem = ""
    if part is not None and facts.is_tank_fitting(part) and outline and node.role == "root":
        if _through_side(node, outline):
            glyph, turn = symbols.SIDE_NIPPLE, node.outward
        elif outline.top is not None and node.y <= outline.top + 2:
            at, stem = _standing(node.x, node.y, outline.top, scale)
    box = symbols.room_of(glyph, at, turn, scale)
    board.add_box("symbol", node.part, box)
    return stem + symbols.draw(glyph, at, turn, scale), box


def _through_side(node: Node, outline: Outline) -> bool:
    """Whether a fitting enters the tank below its top, where its line was set at the edge."""
    at_edge = min(abs(node.x - outline.left), abs(node.x - outline.right)) < 0.5
    return at_edge and node.y is not None and outline.top is not None and node.y > outline.top + 1


def _standing(x: float, y: float, top: float, scale: float) -> tuple[Point, str]:
    """A fitting stands on the tank; a port well above it is carried by a stem."""
    foot = 10 * scale
    if top - y <= foot * 1.4:
        return (x, top - foot), ""
    return (x, y), symbols.stem(x, y, top, scale)


def label_requests(
    part: Part, subject: Subject, rooms: dict[tuple[str, float], Box]
) -> Iterator[Request]:
    """Tag and height of every part, and what is to be said of its valve."""
    nodes = placed_nodes(part)
    twice = [node.part for node, _ in nodes]
    for node, run in nodes:
        room = rooms.get((node.part, round(node.x, 1)))
        component = subject.components.get(node.part)
        rows = _rows(node, run, component, subject)
        if room is None or node.y is None or not rows:
            continue
        must = _must(node, component, subject, repeated=twice.count(node.part) > 1)
        order = "leftward" if node.outward < 0 else "around"
        align = "right" if node.outward < 0 else "left"
        yield Request(Block(rows, subject.size.text, align), room, (node.x, node.y), must, order)


def _must(node: Node, part: Component | None, subject: Subject, *, repeated: bool) -> bool:
    if subject.on_phone or part is None:
        return not subject.on_phone or node.role == "end"
    if part.kind in _QUIET_FITTINGS and node.role == "root":
        return repeated and subject.on_desk
    return subject.on_desk or part.kind != "withdrawal" or part.anti_siphon == "none"


def _rows(node: Node, run: PlacedRun, part: Component | None, subject: Subject) -> tuple[Row, ...]:
    if subject.on_phone:
        name = _phone_name(node, run, part, subject)
        return ((Span(name),),) if name else ()
    size = subject.size
    height = facts.inches(part.height_m) if part else None
    if height is None:
        height = _route_height(node, run)
    tag = shortened(subject.tag(node.part, height), size.text, size.text * _TAG_ROOM)
    valve = subject.valve_words(part, run.run) if part and _says_valve(node, part) else None
    if valve is None:
        return ((Span(tag),),)
    if subject.on_desk and valve.color == "ink":
        return ((Span(f"{tag}, {valve.text}"),),)
    if subject.on_desk:
        return ((Span(tag),), (valve,))
    return ((valve,),) if valve.color == "mark" else ((Span(tag),),)


def _says_valve(node: Node, part: Component) -> bool:
    return part.kind == "anti_siphon_valve" or (part.kind == "withdrawal" and node.role == "root")


def _route_height(node: Node, run: PlacedRun) -> float | None:
    """The height a route gives for a part whose own was not measured."""
    for segment in run.segments:
        points = facts.course_of(segment.step.segment).points
        if not points:
            continue
        first, last = points[0][1], points[-1][1]
        if segment.far.part == node.part:
            return first if segment.step.back else last
        if segment.near.part == node.part:
            return last if segment.step.back else first
    return None


def _phone_name(node: Node, run: PlacedRun, part: Component | None, subject: Subject) -> str | None:
    """Deck fill, vent, engine and generator by name; the list beside the drawing says the rest."""
    if part is not None and part.kind in ("deck_fill", "vent_fitting"):
        return subject.say(words.NAMES[part.kind])
    service = run.segments[-1].step.segment.service
    if node.role != "end" or service not in ("feed", "pump_to_carburetor"):
        return None
    if part is not None and facts.is_tank_fitting(part):
        return None
    served = next((s.step.segment.engine for s in run.segments if s.step.segment.engine), None)
    engine = next((e for e in subject.document.engines if e.id == served), None)
    generator = engine is not None and engine.use == "generator"
    return subject.say(words.NAMES["generator" if generator else "engine"])


def missing_requests(part: Part, subject: Subject, gaps: dict[str, Point]) -> Iterator[Request]:
    """What is not on file, named at the place where the drawing stops for it."""
    half = subject.size.text * 0.5
    named: set[str] = set()
    for run in part.runs:
        for segment in run.segments:
            at = gaps.get(segment.ident)
            lines: list[str] = []
            if at is not None:
                phrase = words.ROUTE_PARTLY if segment.points else words.ROUTE_MISSING
                lines.append(subject.say(phrase, segment=segment.ident))
            for node in (segment.near, segment.far):
                if node.y is None and node.part not in named:
                    named.add(node.part)
                    lines.append(subject.say(words.HEIGHT_MISSING, part=node.part))
            if lines:
                place = at or _known_end(segment.near, segment.far)
                room = Box(place[0] - half, place[1] - half, place[0] + half, place[1] + half)
                yield Request(_missing(lines, subject), room, place, not subject.on_phone)


def _known_end(near: Node, far: Node) -> Point:
    return near.point or far.point or (near.x, 0.0)


def _missing(lines: list[str], subject: Subject) -> Block:
    size = subject.size.text
    broken = [piece for line in lines for piece in wrapped(line, size, size * 13)]
    return Block(tuple((Span(piece, "mark"),) for piece in broken), size)


def tank_request(outline: Outline, subject: Subject) -> Request:
    """Name, size and edges of the tank, inside it where there is room."""
    size = subject.size.text
    block = Block(tuple(_tank_rows(outline, subject)), size, "center")
    box = outline.box
    middle = (outline.left + outline.right) / 2
    if box is None:
        at = outline.top if outline.top is not None else outline.bottom
        anchor = (middle, at or 0.0)
        room = Box(outline.left, anchor[1] - size, outline.right, anchor[1] + size)
        return Request(block, room, anchor, not subject.on_phone)
    top = max(box.top, outline.surface if outline.surface is not None else box.top)
    places = [
        (middle - block.width / 2 + dx, (top + box.bottom - block.height) / 2 + dy)
        for dy in (0.0, -8.0, 8.0, -16.0, 16.0, -26.0, 26.0)
        for dx in (0.0, -18.0, 18.0)
    ]
    below = (middle - block.width / 2, box.bottom + 4)
    beside = [
        (middle - block.width / 2 + shift, box.bottom + 4) for shift in (-30.0, 30.0, -60.0, 60.0)
    ]
    return Request(
        block, box, (middle, box.bottom), not subject.on_phone, places=(*places, below, *beside)
    )


def _tank_rows(outline: Outline, subject: Subject) -> Iterator[Row]:
    tank, size = outline.tank, subject.size
    if subject.on_phone:
        yield (Span(subject.say(words.NAMES["tank"])),)
        return
    room = (outline.right - outline.left) * 0.86
    name = shortened(tank.id, size.text, room * 0.6, "strong")
    gallons = facts.gallons_text(tank.capacity_m3)
    if subject.on_desk:
        head = name if gallons is None else subject.say(words.TANK_SIZE, tank=name, gallons=gallons)
        yield (Span(head, face="strong"),)
        if tank.material is not None:
            material = words.MATERIALS.get(tank.material, words.MATERIALS["other"])
            yield (Span(subject.say(material)),)
    else:
        yield (Span(name, face="strong"),)
        if gallons is not None:
            yield (Span(subject.say(words.GALLONS, gallons=gallons)),)
    yield from _edge_rows(outline, subject, room)


def _edge_rows(outline: Outline, subject: Subject, room: float) -> Iterator[Row]:
    tank, size = outline.tank, subject.size.text
    top, bottom = facts.inches(tank.top_m), facts.inches(tank.bottom_m)
    if top is not None and bottom is not None:
        if subject.on_desk:
            text = subject.say(
                words.TANK_EDGES, top=facts.height_text(top), bottom=facts.height_text(bottom)
            )
            yield (Span(text),)
        return
    phrase = words.TANK_MISSING
    if top is not None:
        phrase = words.BOTTOM_MISSING
    elif bottom is not None:
        phrase = words.TOP_MISSING
    for line in wrapped(subject.say(phrase, tank=tank.id), size, max(room, size * 9)):
        yield (Span(line, "mark"),)
