"""The form of facts as its page draws it: groups of bound fields, and rows of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.forms import BoundField
from django.utils.translation import gettext as _

from shop.forms.factgroups import HOSE, LINE_KIND, Group, Label
from shop.forms.factrows import RowList, row_title
from shop.forms.facts import FactsForm


@dataclass(frozen=True)
class DrawnRow:
    fields: tuple[BoundField, ...]
    title: str
    is_open: bool


@dataclass(frozen=True)
class DrawnRows:
    path: str
    group: str
    count_name: str
    flat: bool
    rows: tuple[DrawnRow, ...]
    add_words: str


@dataclass(frozen=True)
class DrawnGroup:
    name: str
    title: Label
    help: Label
    part: str  # what stands at this end of a run
    fields: tuple[BoundField, ...]
    rows: DrawnRows | None


def drawn_groups(form: FactsForm, *, first: str = "", last: str = "") -> list[DrawnGroup]:
    """Groups in the order of the form; `first` and `last` name the parts at the ends of a run."""
    parts = {"from_end": first, "to_end": last}
    return [
        DrawnGroup(
            name=group.name,
            title=group.title,
            help=group.help,
            part=parts.get(group.name, ""),
            fields=tuple(_fields(form, group)),
            rows=_rows(form, group.name, group.rows) if group.rows else None,
        )
        for group in form.groups
    ]


def _fields(form: FactsForm, group: Group) -> Iterator[BoundField]:
    if group.name == HOSE:
        yield form[LINE_KIND]
    for slot in group.slots:
        yield form[slot.path]
    for name in group.columns:
        yield form[name]


def _rows(form: FactsForm, group: str, rows: RowList) -> DrawnRows:
    cells = list(rows.cells(form.names))
    drawn = []
    for index in range(form.rows_in[rows.path]):
        fields = tuple(form[rows.name(index, cell)] for cell in cells)
        typed: dict[str, Any] = {
            cell: bound.value() for cell, bound in zip(cells, fields, strict=True)
        }
        is_open = any(bound.errors for bound in fields) or not any(typed.values())
        drawn.append(DrawnRow(fields, row_title(rows, typed, index), is_open))
    words = {
        "route": _("Add a point at the end"),
        "open_to": _("Add an opening"),
    }.get(rows.path, _("Add a clamp"))
    return DrawnRows(rows.path, group, rows.count_name, rows.flat, tuple(drawn), words)
