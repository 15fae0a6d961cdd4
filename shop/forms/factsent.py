"""What a form of facts was sent, and had drawn: its rows, its record of what stood on file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from django.http import QueryDict

from shop.digits import whole_number
from shop.forms.factrows import MOST_ROWS, RowList

if TYPE_CHECKING:
    from shop.forms.facts import FactsForm

SEEN: Final = "seen"


def rows_moved(typed: Mapping[str, Any], act: str, form: FactsForm) -> dict[str, Any]:
    """What was typed with one row more or less: `from_end.clamps:add:1`, `route:remove:3`."""
    path, _colon, rest = act.partition(":")
    verb, _colon, place = rest.partition(":")
    rows = next((each for each in form.row_lists if each.path == path), None)
    at = whole_number(place)
    if rows is None or verb not in ("add", "remove") or at is None:
        return dict(typed)
    cells = list(rows.cells(form.names))
    listed = [
        {cell: typed.get(rows.name(index, cell)) for cell in cells}
        for index in range(form.rows_in[path])
    ]
    if verb == "remove":
        del listed[at : at + 1]
    elif len(listed) < MOST_ROWS:
        listed.insert(at, dict.fromkeys(cells, ""))
    kept = {name: value for name, value in typed.items() if not name.startswith(f"{path}[")}
    for index, row in enumerate(listed):
        kept |= {rows.name(index, cell): value for cell, value in row.items()}
    return kept | {rows.count_name: len(listed)}


def row_count(source: Mapping[str, Any] | None, rows: RowList, shown: Mapping[str, Any]) -> int:
    """Rows drawn: as many as the form that was sent had, or those on file and a spare one."""
    held = sum(1 for name in shown if name.startswith(f"{rows.path}[")) // max(1, _cells(rows))
    said = whole_number(str(source.get(rows.count_name, ""))) if source is not None else None
    if said is not None:
        return min(said, MOST_ROWS)
    return min(held + (rows.spare if held == 0 else 0), MOST_ROWS)


def _cells(rows: RowList) -> int:
    return len(rows.cells({}))


def is_sent(data: QueryDict | None, rows: RowList, form: FactsForm) -> bool:
    """Whether anything of a list was sent: its count, or a cell of it."""
    if data is None:
        return False
    cells = (name for name in form.fields if name.startswith(f"{rows.path}["))
    return rows.count_name in data or any(form.add_prefix(name) in data for name in cells)


def seen_read(data: QueryDict) -> dict[str, Any] | None:
    """The record of what was drawn that a form sends along; None for one that does not read."""
    try:
        seen = json.loads(data.get(SEEN, ""))
    except (ValueError, RecursionError):  # the second: nested deeper than any page writes it
        return None
    return seen if isinstance(seen, dict) else None


def plain_seen(seen: Mapping[str, Any]) -> dict[str, Any]:
    """What can have been drawn: text, or the words that were ticked."""
    return {name: was for name, was in seen.items() if _is_drawable(was)}


def _is_drawable(was: Any) -> bool:
    words = was if isinstance(was, list) else [was]
    return all(isinstance(each, str) for each in words)


def plain_typed(value: Any) -> Any:
    """Typed text without the differences that mean nothing."""
    if isinstance(value, list | tuple):
        return sorted(str(each) for each in value)
    return "" if value is None else str(value).strip()


def rows_typed(typed: Mapping[str, Any], rows: RowList) -> list[dict[str, Any]]:
    listed: dict[int, dict[str, Any]] = {}
    for name, value in typed.items():
        if name.startswith(f"{rows.path}["):
            place, _bracket, cell = name.removeprefix(f"{rows.path}[").partition("].")
            number = whole_number(place)
            if number is not None and plain_typed(value):
                listed.setdefault(number, {})[cell] = plain_typed(value)
    return [listed[index] for index in sorted(listed)]


def column_text(value: Any) -> str:
    return "" if value in (None, 0) else str(value)
