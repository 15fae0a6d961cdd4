"""The one writer of spreadsheet exports. What a person typed never becomes a formula.

Every field is quoted (RFC 4180, 2.6 and 2.7). A text that a spreadsheet program could take for
a formula gets a single quote before it, also after leading spaces; so does one that begins with
a single quote, so that `text_read` gives back every text. Names of columns are data too.

Source: OWASP ASVS 5.0.0, V1.2.10; OWASP, CSV Injection.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

# Blank to a person, skipped by some programs: spaces, and marks of direction and joining.
BLANK = r"[\s\u200b-\u200f\u2060\ufeff]*"
# The full-width forms are read as their plain ones by some programs.
DANGEROUS = re.compile(rf"'|[\t\r\n]|{BLANK}[=+\-@\0\uff1d\uff0b\uff0d\uff20]|[ \u00a0]+[\t\r\n]")
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
NAME_LENGTH = 80

TEXT = "text"
NUMERIC = "number"


@dataclass(frozen=True, slots=True)
class Column:
    name: str
    kind: str = TEXT  # or "number": such a column holds nothing but plain numbers


@dataclass(frozen=True, slots=True)
class Export:
    """One kind of export: the stem of its file's name, and its columns."""

    stem: str
    columns: tuple[Column, ...]

    def data(self, rows: Iterable[Sequence[object]]) -> bytes:
        """The file: UTF-8 with a mark that lets a spreadsheet program see that it is.

        Raises
        ------
        ValueError
            When a row has not one value a column, or a numeric column gets no number.
        """
        out = io.StringIO(newline="")
        writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        writer.writerow([text_cell(column.name) for column in self.columns])
        for row in rows:
            if len(row) != len(self.columns):
                raise ValueError(f"{len(row)} values for {len(self.columns)} columns.")
            pairs = zip(self.columns, row, strict=True)
            writer.writerow([_cell(column, value) for column, value in pairs])
        return out.getvalue().encode("utf-8-sig", "surrogatepass")

    def file_name(self, *parts: object) -> str:
        return file_name(self.stem, *parts)


def _cell(column: Column, value: object) -> str:
    if column.kind == NUMERIC:
        return "" if value is None else number_cell(column, value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    return text_cell("" if value is None else str(value))


def number_cell(column: Column, value: object) -> str:
    if not isinstance(value, int | Decimal) or isinstance(value, bool):
        raise ValueError(f"{column.name}: {value!r} is no whole number and no Decimal.")
    plain = abs(value) if value == 0 else value  # no negative zero
    text = f"{plain:f}" if isinstance(plain, Decimal) else str(plain)
    if not NUMBER.fullmatch(text):
        raise ValueError(f"{column.name}: {text} is not a plain number.")
    return text


def text_cell(text: str) -> str:
    """The text as a cell that no program takes for a formula.

    Examples
    --------
    >>> text_cell("=1+1"), text_cell("  @SUM(A1)"), text_cell("Slack Tide"), text_cell("'tis")
    ("'=1+1", "'  @SUM(A1)", 'Slack Tide', "''tis")
    """
    return f"'{text}" if DANGEROUS.match(text) else text


def text_read(cell: str) -> str:
    """The text that `text_cell` wrote."""
    return cell.removeprefix("'")


def file_name(*parts: object) -> str:
    """A file's name from data: letters, digits, hyphens, never a path.

    Examples
    --------
    >>> file_name("day-book", "2026-09-01", "../x")
    'day-book-2026-09-01-x.csv'
    """
    words = [re.sub(r"[^A-Za-z0-9]+", "-", str(part)).strip("-") for part in parts]
    stem = "-".join(word for word in words if word)[:NAME_LENGTH].strip("-")
    return f"{stem or 'export'}.csv"
