"""What is read of a print in words, over the table of prints; 33 CFR 183.540(e) and (f)."""

from __future__ import annotations

from typing import Any

import pytest

from shop.markings import LACKING, NO_CLASS, NOT_READ, print_read
from tests.fuelsys.document.test_marking import ROWS

PARAGRAPHS = {"words": "(e)(1)", "class": "(e)(1)", "year": "(e)(2)", "maker": "(e)(3)"}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['kind']}: {row['printed']}")
def test_a_print_is_said_back(row: dict[str, Any]) -> None:
    told = print_read(row["printed"])
    if told is None:
        assert not row["printed"].strip()
        return
    assert told.printed == row["printed"].strip()
    read = "; ".join(told.read)
    for key, words in (("class", "class {}"), ("year", "year {}"), ("standards", "standard ")):
        wanted = row[key] and row[key] != "NONE"
        assert (words.format(row[key]) in read) == bool(wanted)
    assert ("suffix -15" in read) == bool(row["suffix"])
    assert ("EPA COMPLIANT" in read) == bool(row["label"])
    assert ("no Coast Guard class" in read) == (row["class"] == "NONE")
    for name in row["standards"].split("; "):
        assert name in read


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['kind']}: {row['printed']}")
def test_each_thing_that_lacks_is_a_sentence(row: dict[str, Any]) -> None:
    told = print_read(row["printed"])
    if told is None:
        return
    lacks = [str(words) for words in told.lacks]
    if not told.is_read:
        assert lacks == [str(NOT_READ)]
        return
    names = row["lacks"].split()
    none = row["class"] == "NONE"
    assert lacks == [str(NO_CLASS if n == "class" and none else LACKING[n]) for n in names]
    for name, words in zip(names, lacks, strict=True):
        assert words.endswith(".")
        assert f"33 CFR 183.540{PARAGRAPHS[name]}" in words
    assert told.is_complete == (not names)


def test_a_print_that_is_not_read_keeps_its_words() -> None:
    told = print_read("  ~~ smudge ~~ ")
    assert told is not None
    assert (told.printed, told.read, told.is_complete) == ("~~ smudge ~~", (), False)
    assert print_read("   ") is print_read(None) is None
