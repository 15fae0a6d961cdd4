"""Which facts of a subject stand together, and under what head. No fact is left out of a form.

What the groups do not name of a subject's keys goes into the first one, so that a key added to
the document's tables appears here by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, Final

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from fuelsys.document import fields as tables
from fuelsys.document.table import Table
from shop.forms.base import choice, count, words
from shop.forms.factrows import RowList, clamp_rows, opening_rows, route_rows
from shop.forms.factslots import Names, Slot, slots_of
from shop.models import Access, SubjectKind

Label = str | Promise

# Keys that name an object or join it to others; they are not facts to be corrected.
JOINS: Final[dict[str, frozenset[str]]] = {
    SubjectKind.SEGMENT: frozenset({"id", "service", "from", "to"}),
    SubjectKind.COMPONENT: frozenset({"id", "kind", "tank"}),
}
# Written through another field: the route's unit, the single form of a list.
CARRIED: Final = frozenset({"route_unit", "compartment"})

HOSE, METAL = "hose", "metal_line"
LINE_KIND: Final = "line_kind"


@dataclass(frozen=True)
class Group:
    """A part of the form: its fields, and the rows that follow them."""

    name: str
    title: Label
    slots: tuple[Slot, ...] = ()
    rows: RowList | None = None
    help: Label = ""
    line_kind: str = ""  # shown only for a hose, or only for a metal line
    columns: tuple[str, ...] = field(default=())


def groups_of(kind: str, component_kind: str = "") -> tuple[Group, ...]:
    """The groups of one kind of subject."""
    match kind:
        case SubjectKind.SEGMENT:
            return _segment_groups()
        case SubjectKind.COMPARTMENT:
            slots = slots_of(tables.COMPARTMENT, leave={"id", "open_to"})
            return (Group("facts", _("Compartment"), tuple(slots), opening_rows()),)
        case SubjectKind.COMPONENT:
            return _component_groups(component_kind)
        case SubjectKind.TANK:
            return (*_plain(tables.TANK, _("Tank")), _notes(kind))
        case SubjectKind.ENGINE:
            return _plain(tables.ENGINE, _("Engine"))
        case SubjectKind.FUEL:
            return _plain(tables.FUEL, _("Fuel aboard"))
    return _plain(tables.BOAT, _("Boat"))


def _plain(table: Table, title: Label) -> tuple[Group, ...]:
    return (Group("facts", title, tuple(slots_of(table, leave={"id"}))),)


def _component_groups(component_kind: str) -> tuple[Group, ...]:
    table = tables.COMPONENT.tables.get(component_kind, tables.COMPONENT.any_kind)
    own = {key.name for group in tables.OWN_KEYS.get(component_kind, ()) for key in group}
    joins = JOINS[SubjectKind.COMPONENT]
    common = {key.name for key in table.keys.values()} - own
    groups = [Group("place", _("Place"), tuple(slots_of(table, leave={*joins, *own})))]
    if own - joins:
        slots = slots_of(table, leave={*joins, *common})
        groups.append(Group("facts", _("What it is"), tuple(slots)))
    return (*groups, _notes(SubjectKind.COMPONENT))


def _segment_groups() -> tuple[Group, ...]:
    grade = {"condition", "observations"}
    inner = {HOSE, METAL, "from_end", "to_end", "route"}
    run = slots_of(tables.SEGMENT, leave={*JOINS[SubjectKind.SEGMENT], *CARRIED, *inner})
    hose = slots_of(tables.HOSE, "hose.", leave=grade)
    return (
        Group("run", _("Run"), tuple(run)),
        Group(
            "route",
            _("Route"),
            rows=route_rows(),
            help=_("From the first end on. Heights from one level plane, boat afloat at rest."),
        ),
        Group("hose", _("Hose"), tuple(hose), line_kind=HOSE),
        Group(
            "metal_line",
            _("Metal line"),
            tuple(slots_of(tables.METAL_LINE, "metal_line.")),
            line_kind=METAL,
        ),
        *_end("from_end", _("From end")),
        *_end("to_end", _("To end")),
        Group(
            "condition",
            _("Condition"),
            tuple(_only(slots_of(tables.HOSE, "hose."), grade, "hose.")),
            line_kind=HOSE,
        ),
        _notes(SubjectKind.SEGMENT),
    )


def _end(name: str, title: Label) -> tuple[Group, ...]:
    slots = slots_of(tables.END, f"{name}.", leave={"clamps"})
    return (Group(name, title, tuple(slots), clamp_rows(name)),)


def _only(slots: Iterable[Slot], names: set[str], at: str) -> Iterable[Slot]:
    return (slot for slot in slots if slot.path.removeprefix(at) in names)


def _notes(kind: str) -> Group:
    return Group(
        "notes",
        _("Shop notes"),
        columns=tuple(COLUMN_FIELDS[kind]),
        help=_("For the shop’s own work; no rule reads them."),
    )


def _name(names: Names) -> forms.Field:
    return words(_("Name"), width="w24", most=120)


def _note(names: Names) -> forms.Field:
    return words(_("Note"), width="w32", most=300)


def _access(names: Names) -> forms.Field:
    return choice(_("Access"), Access.choices)


def _clips(names: Names) -> forms.Field:
    return count(_("Clips"), most=999, required=False)


COLUMN_FIELDS: Final[dict[str, dict[str, Callable[[Names], Any]]]] = {
    SubjectKind.SEGMENT: {"name": _name, "access": _access, "clips": _clips, "note": _note},
    SubjectKind.COMPONENT: {"name": _name, "note": _note},
    SubjectKind.TANK: {"note": _note},
}
