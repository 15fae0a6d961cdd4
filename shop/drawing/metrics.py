"""How wide and how high a piece of text is, from the font's own table.

A label is placed by its measured box, never by a guess from its letter count.
"""

from __future__ import annotations

from shop.drawing.advances import CHARACTERS, REGULAR, SLOPING, STRONG

_TABLES = {
    "regular": dict(zip(CHARACTERS, REGULAR, strict=True)),
    "strong": dict(zip(CHARACTERS, STRONG, strict=True)),
    "sloping": dict(zip(CHARACTERS, SLOPING, strict=True)),
}
# A character outside the table takes an em, wider than every letter of the font but the dashes.
_UNKNOWN = 1000
# The highest and lowest ink of the letters and figures in the font, 0.744 and -0.200 em.
ASCENT_EM = 0.75
DESCENT_EM = 0.2
# Sloping letters reach at most 0.08 em past their advance ("f", "(").
_OVERHANG_EM = 0.08
LINE_EM = 1.28


def text_width(text: str, size: float, face: str = "regular") -> float:
    """Width of `text` in px at `size` px in one of the faces regular, strong, sloping.

    >>> text_width("", 13)
    0.0
    >>> text_width("Fail, law", 13) < text_width("Fail, law", 13, "strong")
    True
    """
    table = _TABLES[face]
    advance = sum(table.get(letter, _UNKNOWN) for letter in text) / 1000
    if text and face == "sloping":
        advance += _OVERHANG_EM
    return advance * size


def shortened(text: str, size: float, room: float, face: str = "regular") -> str:
    """`text`, or its beginning with an ellipsis where it is wider than `room` px.

    >>> shortened("FLT", 13, 100)
    'FLT'
    """
    if text_width(text, size, face) <= room:
        return text
    kept = text
    while len(kept) > 1 and text_width(kept + "…", size, face) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def wrapped(text: str, size: float, room: float, face: str = "regular") -> tuple[str, ...]:
    """`text` broken at spaces into lines of at most `room` px; a longer word is shortened.

    >>> wrapped("S3: route not measured", 13, 90)
    ('S3: route not', 'measured')
    """
    lines: list[str] = []
    current = ""
    for word in text.split():
        longer = f"{current} {word}" if current else word
        if current and text_width(longer, size, face) > room:
            lines.append(current)
            current = word
        else:
            current = longer
    lines.append(current)
    return tuple(shortened(line, size, room, face) for line in lines)
