"""The figures of an evaluation as plain text: value, limit, parts, inputs, method, source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from fuelsys.management.lines import WORDS, cited, heading, wrapped
from fuelsys.text import Figure

Row = dict[str, Any]
HOW: Final = ("method", "source")

BY_ID: Final = (
    ("suction", "Suction of each engine at rated power"),
    ("vent", "Pressure in each tank while it is filled"),
    ("vapor", "Gasoline to the lower explosive limit of each compartment"),
    ("expansion", "Fuel that each full tank gives off on warming"),
)
BY_END: Final = (
    ("clamp_size", "Diameter that each clamp closes to"),
    ("clearance", "Gap between hose and fitting"),
    ("bend", "Tightest bend towards each end"),
)


def figure_parts(figures: Row) -> Iterator[list[str]]:
    """Each kind of figure as a part of the report; a kind without any is left out."""
    yield _part("Test pressure of each tank system", _tests(figures["test_pressure"]))
    for key, title in BY_ID:
        yield _part(title, figures[key].items())
    permeation = figures["permeation"]
    yield _part("Permeation of each hose in a day, at most", permeation["segments"].items())
    yield _part("Permeation of all hoses in a day, at most", [("In all", permeation["in_all"])])
    for key, title in BY_END:
        rows = ((f"{name}, {side} end", row) for name, ends in figures[key].items()
                for side, row in ends.items())  # fmt: skip
        yield _part(title, rows)
    yield _curves(figures.get("discharge_curve", {}))


def _tests(tests: dict[str, Row]) -> Iterator[tuple[str, Row]]:
    for tank, test in tests.items():
        yield tank, test
        for number, reading in enumerate(test.get("readings", ()), start=1):
            yield f"{tank}, drop as read, test {number} on file", reading


def _part(title: str, rows: Iterable[tuple[str, Row]]) -> list[str]:
    """One kind; what all its figures rest on stands once, after them."""
    listed = list(rows)
    if not listed:
        return []
    shared = _shared([row for _, row in listed])
    lines = heading(title)
    for name, row in listed:
        lines += _figure(name, row, shared)
    for text in shared["assumptions"]:
        lines += wrapped(text, 2)
    return lines + _how(shared, 2)


def _shared(rows: list[Row]) -> Row:
    first = rows[0]
    weighed = [row for row in rows if row["value"] is not None or row["missing"]] or rows
    said = [
        text
        for text in weighed[0]["assumptions"]
        if all(text in row["assumptions"] for row in weighed)
    ]
    same = {key: first[key] for key in HOW if all(row[key] == first[key] for row in rows)}
    return {"assumptions": said, **same}


def _how(row: Row, indent: int) -> list[str]:
    lines: list[str] = []
    for key in HOW:
        if key in row:
            lines += wrapped(f"{key.capitalize()}: {row[key]}", indent)
    return lines


def _figure(name: str, row: Row, shared: Row) -> list[str]:
    lines = wrapped(f"{name}: {_value(row)}", 2)
    parts = dict(row.get("details") or {})
    if row.get("wait_min") is not None:
        parts["wait"] = {"value": row["wait_min"], "unit": "min"}
    for words, figures, computed in (("", parts, True), ("From ", row["inputs"], False)):
        if said := _listed(figures, computed=computed):
            lines += wrapped(words + said, 6)
    if row.get("sizes"):
        lines += wrapped(f"Worm-drive sizes {', '.join(row['sizes'])}", 6)
    for choice in row.get("choices") or ():
        lines += wrapped(_listed(choice, computed=True), 6)
    for text in row["assumptions"]:
        if text not in shared["assumptions"]:
            lines += wrapped(text, 6)
    lines += _how({key: row[key] for key in HOW if key not in shared}, 6)
    return lines + cited("", row["missing"])


def _value(row: Row) -> str:
    words = "cannot tell" if row["missing"] else "none"
    if row["value"] is not None:
        words = _number(row, computed=True)
    if row.get("limit"):
        words += f", limit {_number(row['limit'])}"
    if row.get("outcome"):
        words += f": {WORDS[row['outcome']]}"
    return words


def _listed(figures: dict[str, Row | None], *, computed: bool) -> str:
    known = ((name, figure) for name, figure in figures.items() if figure is not None)
    return "; ".join(
        f"{name.replace('_', ' ')} {_number(figure, computed=computed)}" for name, figure in known
    )


def _number(figure: Row, *, computed: bool = False) -> str:
    return str(Figure(figure["value"], figure["unit"], computed=computed))


def _curves(curves: dict[str, list[list[float | None]]]) -> list[str]:
    """By place of the cut in inches: tank side and far side in milliliters."""
    if not curves:
        return []
    lines = heading("What runs out by place of the cut: in, mL tank side + mL far side")
    for name, curve in curves.items():
        points = (f"{_or(at)}: {_or(tank)} + {_or(far)}" for at, tank, far in curve)
        lines += wrapped(f"{name}  {'; '.join(points)}", 2)
    return lines


def _or(value: float | None) -> str:
    return "not known" if value is None else Figure(value).number()
