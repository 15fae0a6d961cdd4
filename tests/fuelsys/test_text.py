from __future__ import annotations

import doctest
from decimal import Decimal
from fractions import Fraction

import pytest

from fuelsys import text
from fuelsys.text import Figure, Text


@pytest.mark.parametrize(
    ("figure", "shown"),
    [
        (Figure(13.316, "floz", computed=True), "13.3 fl oz"),
        (Figure(Fraction(3, 8), "in"), "0.375 in"),
        (Figure(Decimal("30"), "pct"), "30%"),
        (Figure("A1"), "A1"),
        (Figure(8411.3, "ml", computed=True), "8410 mL"),
        (Figure(7, "years"), "7 years"),
    ],
)
def test_a_figure_is_printed_with_its_unit(figure: Figure, shown: str) -> None:
    assert str(figure) == shown


def test_a_text_sets_figures_and_texts_within() -> None:
    inner = Text("over {limit}", {"limit": Figure(5, "floz")})
    assert str(Text("{segment}: {why}", {"segment": "S3", "why": inner})) == "S3: over 5 fl oz"


def test_a_translation_reaches_the_texts_within() -> None:
    german = {"{a} and {b}": "{a} und {b}", "hose": "Schlauch", "clamp": "Schelle"}
    whole = Text("{a} and {b}", {"a": Text("hose"), "b": Text("clamp")})
    assert whole.render(lambda msgid: german[msgid]) == "Schlauch und Schelle"


def test_braces_in_what_was_typed_stay() -> None:
    assert str(Text("marked {marking}", {"marking": "{x}"})) == "marked {x}"


def test_the_examples_of_the_docstrings_hold() -> None:
    assert doctest.testmod(text).failed == 0
