"""What stands under every drawing: the line samples and how the scales are to be read."""

from __future__ import annotations

from collections.abc import Iterable

from shop.drawing import canvas, strokes, words
from shop.drawing.geometry import Box
from shop.drawing.labels import LabelBox
from shop.drawing.metrics import ASCENT_EM, DESCENT_EM, text_width, wrapped
from shop.drawing.subject import Subject

_ORDER = ("fill", "vent", "feed", "pump_to_carburetor", "return", "transfer")


def legend(
    subject: Subject, services: Iterable[str], top: float, *, earlier: bool, computed: bool
) -> tuple[str, list[LabelBox], float]:
    """Samples of the services drawn, then the sentences; broken to the width of the drawing."""
    size, text = subject.size, subject.size.text
    left, right = size.staff, size.width - 2
    pieces: list[str] = []
    boxes: list[LabelBox] = []
    x, base = left, top + text
    sample = 44 * max(size.stroke, 0.55)
    names = [name for name in _ORDER if name in set(services)] + (["found"] if earlier else [])
    for name in names:
        word = subject.say(words.LEGEND[name])
        wide = sample + text * 0.5 + text_width(word, text)
        if x > left and x + wide > right:
            x, base = left, base + text * 1.5
        pieces.append(_sample(name, x, base - text * 0.35, sample, size.stroke))
        pieces.append(canvas.words(word, (x + sample + text * 0.5, base), text, "soft"))
        boxes.append(_box(word, x + sample + text * 0.5, base, text, "regular"))
        x += wide + text * 1.7
    base += text * 1.6 if names else 0.0
    sentences = [(subject.say(words.SCALE), "regular"), (subject.say(words.SIDEWAYS), "regular")]
    if computed:
        sentences.append((subject.say(words.SLOPING), "sloping"))
    loose = _not_joined(subject)
    if loose:
        sentences.append((subject.say(words.NOT_JOINED, parts=", ".join(loose)), "regular"))
    x = left
    for sentence, face in sentences:
        for line in wrapped(sentence, text, right - left, face):
            wide = text_width(line, text, face)
            if x > left and x + wide > right:
                x, base = left, base + text * 1.4
            pieces.append(canvas.words(line, (x, base), text, "soft", face))
            boxes.append(_box(line, x, base, text, face))
            x += wide + text * 0.4
    return "".join(pieces), boxes, base + text * 0.5


def _not_joined(subject: Subject) -> list[str]:
    """Parts that no segment reaches: they have no place along a hose."""
    joined = {
        end for segment in subject.document.segments for end in (segment.from_id, segment.to_id)
    }
    return [part.id for part in subject.document.components if part.id not in joined]


def _sample(name: str, x: float, y: float, long: float, scale: float) -> str:
    points = ((x, y), (x + long, y))
    if name == "found":
        return canvas.stroke(canvas.path_of(points), "soft", 1)
    drawn = strokes.line(points, name, scale)
    return drawn + strokes.arrows(points, name, scale, back=False)


def _box(text: str, x: float, base: float, size: float, face: str) -> LabelBox:
    right = x + text_width(text, size, face)
    return LabelBox("text", text, Box(x, base - size * ASCENT_EM, right, base + size * DESCENT_EM))
