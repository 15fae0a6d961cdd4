"""The one CSV writer: quotes, single quotes before formulas, typed columns, names of files."""

from __future__ import annotations

import csv
import doctest
import io
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from shop import csvout
from shop.csvout import Column, Export, file_name, text_cell, text_read

EXPORT = Export("test", (Column("Name"), Column("=Amount", "number"), Column("Day")))


def parsed(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_every_field_is_quoted_and_read_back() -> None:
    rows: list[list[object]] = [
        ['Ann "A", x\r\n=1', Decimal("-4.10"), date(2026, 9, 18)],
        ["", None, None],
    ]
    data = EXPORT.data(rows)
    assert data.decode("utf-8-sig").splitlines()[0] == '"Name","\'=Amount","Day"'
    assert parsed(data)[1:] == [['Ann "A", x\r\n=1', "-4.10", "2026-09-18"], ["", "", ""]]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "－", "＠"])
@pytest.mark.parametrize("before", ["", " ", "   ", "\u00a0", " \u200b "])
def test_what_a_program_could_take_for_a_formula_is_text(before: str, start: str) -> None:
    text = f"{before}{start}cmd()"
    if start in "\t\r\n" and "\u200b" in before:
        text = f"{start}{before}cmd()"
    assert text_cell(text) == f"'{text}"
    assert text_read(text_cell(text)) == text


@pytest.mark.parametrize("text", ["Slack Tide", "3-1/2 in", "a=b", "", " plain", "O'Hara"])
def test_plain_text_stays_as_it_is(text: str) -> None:
    assert text_cell(text) == text


def test_a_single_quote_that_was_typed_comes_back() -> None:
    assert text_cell("'tis") == "''tis"
    assert text_read("''tis") == "'tis"


@pytest.mark.parametrize("value", [1.5, "7", True, Decimal("NaN"), Decimal("Infinity"), "=1"])
def test_a_numeric_column_takes_numbers_only(value: object) -> None:
    with pytest.raises(ValueError, match="=Amount"):
        EXPORT.data([["x", value, None]])


def test_numbers_are_written_plainly() -> None:
    rows = parsed(EXPORT.data([["x", Decimal("1E+3"), ""], ["x", 7, ""], ["x", Decimal("-0"), ""]]))
    assert [row[1] for row in rows[1:]] == ["1000", "7", "0"]


def test_times_and_days_are_iso() -> None:
    at = datetime(2026, 9, 18, 15, 10, tzinfo=UTC)
    assert parsed(EXPORT.data([["x", 1, at]]))[1][2] == "2026-09-18T15:10:00+00:00"


def test_a_row_that_does_not_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="2 values for 3 columns"):
        EXPORT.data([["x", 1]])


def test_file_names_are_data_too() -> None:
    assert file_name("day book", "=1", "../../etc") == "day-book-1-etc.csv"
    assert file_name("\r\n") == "export.csv"
    assert EXPORT.file_name(date(2026, 9, 1)) == "test-2026-09-01.csv"
    assert len(file_name("x" * 500)) == 84


def test_nothing_else_in_the_shop_writes_csv() -> None:
    root = Path(csvout.__file__).parent
    writers = {
        str(path.relative_to(root))
        for path in root.rglob("*.py")
        if "import csv\n" in path.read_text() or "from csv import" in path.read_text()
    }
    assert writers == {"csvout.py"}


def test_examples() -> None:
    assert doctest.testmod(csvout).failed == 0
