"""Text is measured by the font itself, not guessed."""

from __future__ import annotations

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

from shop.drawing.advances import CHARACTERS
from shop.drawing.metrics import shortened, text_width, wrapped

FONTS = Path(__file__).parents[3] / "static/vendor/atkinson-hyperlegible-next"


@pytest.mark.parametrize(
    ("face", "name", "weight"),
    [("regular", "normal", 400), ("strong", "normal", 650), ("sloping", "italic", 400)],
)
def test_the_table_is_that_of_the_served_font(face: str, name: str, weight: int) -> None:
    """Advances in the vendored woff2; figures take the wider of their two forms."""
    file = FONTS / f"atkinson-hyperlegible-next-latin-wght-{name}.woff2"
    font = instantiateVariableFont(TTFont(file), {"wght": weight})
    glyphs, advances = font.getBestCmap(), font["hmtx"]
    tabular = _tabular(font)
    for letter in CHARACTERS:
        name = glyphs[ord(letter)]
        own = max(advances[name][0], advances[tabular.get(name, name)][0]) / 1000
        overhang = 0.08 if face == "sloping" else 0.0
        measured = text_width(letter, 1, face) - overhang
        assert measured == pytest.approx(own)


def _tabular(font: TTFont) -> dict[str, str]:
    """The tabular form of each figure that has one, from the font's substitutions."""
    table = font["GSUB"].table
    lookups = [
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag == "tnum"
        for index in record.Feature.LookupListIndex
    ]
    return {
        name: form
        for index in lookups
        for part in table.LookupList.Lookup[index].SubTable
        for name, form in getattr(part, "ExtSubTable", part).mapping.items()
    }


def test_an_unknown_character_counts_as_an_em() -> None:
    assert text_width("漢", 10) == 10


def test_shortened_and_wrapped_keep_to_the_room() -> None:
    long = "S3: route not measured between the filter and the pump"
    assert text_width(shortened(long, 13, 80), 13) <= 80
    assert all(text_width(line, 13) <= 120 for line in wrapped(long, 13, 120))
    assert wrapped("x" * 80, 13, 120)[0].endswith("…")
