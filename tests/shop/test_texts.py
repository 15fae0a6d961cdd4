"""Sentences keep their figures in a snapshot, escape what was typed, slope what was computed."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

import fuelsys.rules
from fuelsys.text import Figure, Text
from shop.templatetags.texts import sentence
from shop.texts import text_html, text_owner, text_pack, text_unpack, text_words

SENTENCE = Text(
    "Cut here, {line} lets {volume} run out: {why}",
    {
        "line": "S<3>",
        "volume": Figure(8.7812, "floz", computed=True),
        "why": Text("the limit is {limit}.", {"limit": Figure(5, "floz")}),
    },
)


def test_computed_figures_slope_and_typed_words_are_escaped() -> None:
    html = text_html(SENTENCE)
    assert '<i class="c">8.78</i> fl oz run out' in html
    assert "the limit is 5 fl oz." in html
    assert "S&lt;3&gt;" in html
    assert "<3>" not in html


def test_a_figure_s_own_sentences_have_both_systems() -> None:
    said = Text(
        "{fuel}: {density}, {head} of {level}.",
        {
            "fuel": Text("At {warmth}", {"warmth": Figure(-30, "c")}),
            "density": Figure(740.0, "kg/m3", computed=True),
            "head": Figure(10, "in"),
            "level": Figure(50, "pct"),
        },
    )
    assert text_html(said, paired=True) == (
        "At \u221230 °C (\u221222 °F): "
        '<i class="c">6.18</i> lb/gal (<i class="c">740</i> kg/m3), 10 in (254 mm) of 50%.'
    )
    assert "mm" not in text_html(said)


def test_a_snapshot_reads_back_to_the_same_words() -> None:
    stored = json.loads(json.dumps(text_pack(SENTENCE)))
    assert str(text_unpack(stored)) == str(SENTENCE)
    assert text_html(text_unpack(stored)) == text_html(SENTENCE)


def test_braces_in_typed_words_stay_words() -> None:
    assert text_html(Text("Reason: {reason}", {"reason": "{volume}"})) == "Reason: {volume}"


def test_days_are_written_as_people_write_them_and_other_texts_stay() -> None:
    days = Text("From {start}, {typed}.", {"start": "2009-01-01", "typed": "2009-02-30"})
    assert text_html(days) == "From 1 January 2009, 2009-02-30."
    assert text_words(days) == "From 1 January 2009, 2009-02-30."


def rule_sentences() -> list[str]:
    """Every text in the rules, joined as the compiler joins it; docstrings are left out."""
    found = []
    for path in sorted(Path(fuelsys.rules.__file__).parent.glob("*.py")):
        nodes = list(ast.walk(ast.parse(path.read_text())))
        docs = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
        found += [
            node.value
            for node in nodes
            if isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in docs
        ]
    return found


def test_owners_are_not_told_what_a_lead_has_to_do() -> None:
    to_staff = [words for words in rule_sentences() if " lead decides" in words]
    assert len(to_staff) > 5
    for words in to_staff:
        said = text_owner(Text(words))
        assert said is not None
        assert "lead" not in said.msgid, words
        assert said.msgid.endswith((".", ". ")), words


def test_a_sentence_within_a_sentence_is_for_the_owner_too() -> None:
    inner = Text("It is kinked. A lead decides if it stays.")
    said = text_owner(Text("S1: {why}", {"why": inner}))
    assert str(said) == "S1: It is kinked."
    assert text_owner(None) is None


@pytest.mark.parametrize(
    ("typed", "told"),
    [("old crazed hose", "old crazed hose."), ("Measure it.", "Measure it."), (" ", "")],
)
def test_what_was_typed_ends_as_a_sentence(typed: str, told: str) -> None:
    assert sentence(typed) == told
