"""R14: 10,000 hostile values in every export; parsed again, no text begins like a formula."""

from __future__ import annotations

import csv
import importlib
import io
import pkgutil
import random
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest

import shop
from shop import csvout
from shop.csvout import Export, file_name, text_cell, text_read
from shop.selectors.daybook import DAYBOOK_EXPORT, SUMS, DayEntry, daybook_data
from tests.shop.trust.report import measured

pytestmark = pytest.mark.trust

SEED = 20261025
VALUES = 10_000
# How texts begin that some spreadsheet program or other has taken for a formula.
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")
BLANKS = ("", " ", "   ", "\u00a0", "\u2003", "\u200b", "\ufeff", " \u200e ")
BODIES = (
    "1+1", "cmd|' /C calc'!A0", 'HYPERLINK("http://owner.example";"x")', "SUM(A1:A9)*cmd",
    '"\r\n=1+1', '","=2+2', "2+5+cmd|'", "\n=x", ";=1", "'=1", "\u202e=1", "plain",
)  # fmt: skip


def hostile(chance: random.Random) -> str:
    if chance.random() < 0.1:
        return "".join(chance.choice("'\"=,;+-@ \t\r\n\0x") for _ in range(chance.randrange(1, 9)))
    return chance.choice(BLANKS) + chance.choice(STARTS) + chance.choice(BODIES)


def all_exports() -> dict[str, Export]:
    """Every export that a module of the shop declares."""
    found: dict[str, Export] = {}
    for module in pkgutil.walk_packages(shop.__path__, "shop."):
        if module.name.split(".")[1] in ("selectors", "services", "views"):
            for value in vars(importlib.import_module(module.name)).values():
                if isinstance(value, Export):
                    found[value.stem] = value
    return found


def rows_for(export: Export, chance: random.Random) -> Iterator[list[object]]:
    texts = sum(1 for column in export.columns if column.kind == "text")
    for _ in range(VALUES // texts + 1):
        yield [
            hostile(chance) if column.kind == "text" else Decimal(chance.randrange(-999, 999)) / 100
            for column in export.columns
        ]


def formula_cells(export: Export, data: bytes) -> int:
    """Cells outside numeric columns that begin, blanks aside, like a formula; numeric ones that
    are no number."""
    faults = 0
    for row in list(parsed(data))[1:]:
        for column, cell in zip(export.columns, row, strict=True):
            if column.kind == "number":
                faults += not csvout.NUMBER.fullmatch(cell)
            else:
                faults += begins_like_a_formula(cell)
    return faults


def begins_like_a_formula(cell: str) -> bool:
    if cell[:1] in ("\t", "\r", "\n", "\0"):
        return True
    shown = cell
    while shown and (shown[0].isspace() or shown[0] in "\u200b\u200e\ufeff"):
        shown = shown[1:]
    return shown[:1] != "" and shown[0] in "=+-@\0＝＋－＠"


def parsed(data: bytes) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))


def test_no_hostile_value_becomes_a_formula_in_any_export() -> None:
    exports = all_exports()
    assert DAYBOOK_EXPORT.stem in exports
    with measured("R14", seed=SEED) as counted:
        values = 0
        for export in exports.values():
            chance = random.Random(SEED)
            rows = list(rows_for(export, chance))
            data = export.data(rows)
            assert formula_cells(export, data) == 0, export.stem
            values += recovered(export, rows, data)
        assert values >= VALUES * len(exports)
        counted.update(n=values, exports=len(exports), formula_cells=0, twin=twins_found())


def recovered(export: Export, rows: list[list[object]], data: bytes) -> int:
    """How many texts came back as they went in; all rows and columns are there."""
    read = list(parsed(data))[1:]
    assert len(read) == len(rows)
    texts = 0
    for sent, got in zip(rows, read, strict=True):
        assert len(got) == len(export.columns)
        for column, value, cell in zip(export.columns, sent, got, strict=True):
            if column.kind == "text":
                assert text_read(cell) == value
                texts += 1
            else:
                assert Decimal(cell) == value
    return texts


def twins_found() -> str:
    """Writers with a hole each: no quote, only the first character, only after no blank."""
    holes = {
        "nothing": lambda text: text,
        "plain signs only": lambda text: f"'{text}" if text[:1] in tuple("=+-@") else text,
        "blanks forgotten": lambda text: f"'{text}" if text[:1] in STARTS else text,
    }
    found = 0
    for hole in holes.values():
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(csvout, "text_cell", hole)
            rows = rows_for(DAYBOOK_EXPORT, random.Random(SEED))
            found += formula_cells(DAYBOOK_EXPORT, DAYBOOK_EXPORT.data(rows)) > 0
    assert found == len(holes)
    return f"{found}/{len(holes)}"


def test_the_day_book_s_own_way_to_the_file() -> None:
    """The same, through the entries of the day book."""
    chance = random.Random(SEED)
    entries = [
        DayEntry(
            day=date(2026, 9, 18), kind=hostile(chance), number=hostile(chance),
            corrects=hostile(chance), job=hostile(chance), boat=hostile(chance),
            owner=hostile(chance), charged=dict.fromkeys(SUMS, Decimal("-4.37")), received=None,
            means=hostile(chance), reference=hostile(chance), by=hostile(chance),
        )
        for _ in range(1_000)
    ]  # fmt: skip
    read = list(parsed(daybook_data(entries)))[1:]
    assert len(read) == len(entries)
    index = [column.name for column in DAYBOOK_EXPORT.columns].index("boat")
    assert [text_read(row[index]) for row in read] == [entry.boat for entry in entries]
    assert not any(begins_like_a_formula(row[index]) for row in read)


def test_names_of_files_are_never_paths_or_headers() -> None:
    chance = random.Random(SEED)
    for _ in range(1_000):
        name = file_name("day-book", hostile(chance) + "/../\r\nX: y")
        assert set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.")
        assert name.count(".") == 1


def test_a_header_is_data_too() -> None:
    export = Export("x", (csvout.Column("=1+1"),))
    assert next(parsed(export.data([]))) == [text_cell("=1+1")] == ["'=1+1"]
