"""What may never be seen in a drawing: labels that overlap, lines that strike a label."""

from __future__ import annotations

from itertools import combinations

from shop.drawing import Drawing
from shop.drawing.geometry import Box, strikes


def faults(drawing: Drawing) -> list[str]:
    """Every overlap of labels and symbols, every struck label, everything out of the picture."""
    texts = [box for box in drawing.boxes if box.kind == "text"]
    symbols = [box for box in drawing.boxes if box.kind == "symbol"]
    found = [
        f"{one.text!r} overlaps {other.text!r}"
        for one, other in combinations(texts, 2)
        if one.box.overlaps(other.box)
    ]
    found += [
        f"{text.text!r} overlaps the symbol {symbol.text!r}"
        for text in texts
        for symbol in symbols
        if text.box.overlaps(symbol.box)
    ]
    for line in drawing.lines:
        for text in texts:
            ends_there = line.kind == "leader" and text.text == line.owner
            room = text.box if ends_there else text.box.grown(line.width / 2)
            if strikes(line.points, room):
                found.append(f"{line.kind} of {line.owner!r} strikes {text.text!r}")
    whole = Box(0, 0, drawing.width, drawing.height)
    found += [f"{box.text!r} is cut off" for box in texts if not whole.contains(box.box)]
    return found
