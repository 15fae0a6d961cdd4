"""Facts that come in rows: the points of a route, the clamps of an end, openings between spaces.

A row that is left blank is no row. Rows are added and removed by buttons that send the form back
to be drawn again; nothing is saved by that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document.fields import CLAMP, OPENING
from fuelsys.units import from_base, to_base
from shop.factwords import choice_words, html_name
from shop.forms.factslots import Facts, Names, Slot, slots_of
from shop.forms.lengths import Length
from shop.forms.quantities import LengthField, number_text
from shop.services.facts import fact_get

MOST_ROWS = 40
CELLS = ("distance", "height")

Typed = dict[str, Any]
MakeCells = Callable[[Names], dict[str, forms.Field]]


@dataclass(frozen=True)
class RowList:
    """A list of the document as rows of fields, named `path[0].cell` and so on."""

    path: str
    title: Any
    cells: MakeCells
    show: Callable[[Facts], list[Typed]]  # facts of the whole subject -> rows as typed
    take: Callable[[Sequence[Typed], Facts], dict[str, Any]]  # rows as read -> corrections
    spare: int = 0  # blank rows offered below
    flat: bool = False  # a row is one line of small fields

    @property
    def count_name(self) -> str:
        return f"{html_name(self.path)}-rows"

    def name(self, index: int, cell: str) -> str:
        return f"{self.path}[{index}].{cell}"


def route_rows() -> RowList:
    """The surveyed points: distance from the from end along the hose, and height there."""
    return RowList(
        "route", gettext_lazy("Route"), _route_cells, _route_shown, _route_taken, 1, flat=True
    )


def _route_cells(names: Names) -> dict[str, forms.Field]:
    return {
        "distance": LengthField(label=_("Along the hose"), required=False, width="w6"),
        "height": LengthField(label=_("Height"), required=False, width="w6", signed=True),
    }


def _route_shown(facts: Facts) -> list[Typed]:
    unit = facts.get("route_unit") or "in"
    words = "" if unit == "in" else f" {unit}"
    return [
        {
            "distance": f"{number_text(distance)}{words}",
            "height": f"{number_text(height)}{words}",
        }
        for distance, height in facts.get("route") or ()
    ]


def _route_taken(rows: Sequence[Typed], facts: Facts) -> dict[str, Any]:
    """Inches, or millimeters once a metric point was typed: a route has one unit."""
    metric = any(row[cell].unit != "in" for row in rows for cell in CELLS if row.get(cell))
    unit = "mm" if metric else "in"
    pairs = [[_in_unit(row.get(cell), unit) for cell in CELLS] for row in rows]
    taken: dict[str, Any] = {"route": pairs or None}
    if (facts.get("route_unit") or "in") != unit:
        taken["route_unit"] = None if unit == "in" else unit
    return taken


def _in_unit(length: Length | None, unit: str) -> Any:
    """The number of a length in the route's unit, as typed where that is its own unit."""
    if length is None:
        return None
    if length.unit == unit:
        return length.fact()
    value: Fraction = from_base(to_base(length.value, length.unit), unit)
    return Length(value, unit).fact()


def clamp_rows(end: str) -> RowList:
    """The clamps of one end, the outermost last."""
    return dict_rows(f"{end}.clamps", slots_of(CLAMP), _("Clamps"))


def opening_rows() -> RowList:
    """Openings of a compartment to others."""
    return dict_rows("open_to", slots_of(OPENING), _("Open to other compartments"), flat=True)


def dict_rows(path: str, slots: list[Slot], title: str, *, flat: bool = False) -> RowList:
    """Rows that are objects of the document, one field a key."""

    def shown(facts: Facts) -> list[Typed]:
        listed = fact_get(dict(facts), path) or ()
        return [{slot.path: slot.show(item) for slot in slots} for item in listed]

    def taken(rows: Sequence[Typed], facts: Facts) -> dict[str, Any]:
        items = [_item(row, slots) for row in rows]
        return {path: items or ([] if fact_get(dict(facts), path) else None)}

    return RowList(
        path, title, lambda names: {s.path: s.make(names) for s in slots}, shown, taken, flat=flat
    )


def _item(row: Typed, slots: list[Slot]) -> dict[str, Any]:
    taken = (slot.take(row.get(slot.path)) for slot in slots)
    return {key: value for key, value in taken if value is not None}


def row_title(rows: RowList, typed: Mapping[str, Any], index: int) -> str:
    """What a row is called before it is opened: "1, worm drive, 0.51"."""
    parts = [str(index + 1)]
    if kind := typed.get("kind"):
        parts.append(choice_words(kind).lower())
    if width := typed.get("band_width"):
        parts.append(_("band %(width)s in") % {"width": width})
    return ", ".join(parts)
