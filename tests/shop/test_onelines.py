"""Names without signs that nobody sees; the categories are those of the Unicode database."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from shop.onelines import JOINERS, has_letter, one_line

INVISIBLE = ["\u200b", "\u2060", "\ufeff", "\u00ad", "\u202e", "\u2066", "\u061c", "\x07", "\u3164"]


@pytest.mark.parametrize("sign", INVISIBLE)
def test_what_nobody_sees_is_no_name(sign: str) -> None:
    assert not has_letter(one_line(sign * 3))


def test_no_mark_of_direction_is_left_of_any() -> None:
    marks = {"LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI", "FSI", "PDI", "BN"}
    signs = [chr(point) for point in range(sys.maxunicode + 1)]
    turning = [
        s for s in signs if s not in JOINERS + "\0" and unicodedata.bidirectional(s) in marks
    ]
    assert len(turning) > 50
    assert [s for s in [*turning, "\u200e", "\u200f", "\u061c"] if s in one_line(f"A{s}B")] == []


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Ada\u202e Brae", "Ada Brae"),
        ("  Ada\tBrae\n", "Ada Brae"),
        ("Öländer-O’Brien 李", "Öländer-O’Brien 李"),
        ("می\u200cخواهم", "می\u200cخواهم"),
        ("\u200dAda\u200c", "Ada"),
        ("T1\ud800", "T1"),
    ],
)
def test_what_is_seen_stays(typed: str, kept: str) -> None:
    assert one_line(typed) == kept
