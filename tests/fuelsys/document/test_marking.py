"""Printed markings; what they must hold: 33 CFR 183.540(e) and (f).

`markings.csv` holds one print a row. `class` NONE is a print that shows no class; empty is not
read. `lacks` names what 183.540(e) asks and the print does not show: the words USCG TYPE with the
class, the class, the year, the maker. The maker's name in the table is no maker's.
"""

from __future__ import annotations

import csv
import doctest
from collections import Counter
from pathlib import Path

import pytest

from fuelsys.document import marking
from fuelsys.document.marking import Marking, lacks_of, read_marking, standards_of

TABLE = Path(__file__).with_name("markings.csv")
with TABLE.open(encoding="utf-8", newline="") as opened:
    ROWS = list(csv.DictReader(opened))


def expected(row: dict[str, str]) -> Marking:
    return Marking(
        mark=row["class"] or None,
        low_permeation=True if row["suffix"] else None,
        year=int(row["year"]) if row["year"] else None,
        epa_label=True if row["label"] else None,
    )


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['kind']}: {row['printed']}")
def test_a_marking(row: dict[str, str]) -> None:
    assert read_marking(row["printed"]) == expected(row)
    assert list(standards_of(row["printed"])) == [s for s in row["standards"].split("; ") if s]
    assert list(lacks_of(row["printed"])) == row["lacks"].split()


def test_the_table_holds_every_kind_of_print() -> None:
    kinds = Counter(row["kind"] for row in ROWS)
    assert sum(kinds.values()) >= 60
    assert {"right", "worn", "misspelt", "older", "foreign", "two marks"} <= set(kinds)
    assert len({row["printed"] for row in ROWS}) == len(ROWS)


@pytest.mark.parametrize("digit", ["I", "l", "_", "?", ".", "3", "0", "/", " 1", "11"])
@pytest.mark.parametrize("letter", ["A", "B"])
def test_a_class_is_never_guessed_at(letter: str, digit: str) -> None:
    assert read_marking(f"USCG TYPE {letter}{digit} 2020").mark is None


def test_the_suffix_alone_is_no_label() -> None:
    # 40 CFR 1060.137 asks for the words; "-15" comes from SAE J1527 alone.
    assert read_marking("USCG TYPE A1-15 2026 SAE J1527").epa_label is None


def test_the_examples_of_the_docstring_hold() -> None:
    assert doctest.testmod(marking).failed == 0
