"""All facts of one part of a fuel system, to be corrected by measurement.

The form is made from the document's own tables. What stands empty is not known; what was not
touched is not written, however it was rendered meanwhile.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.digits import whole_number
from shop.exceptions import FactError
from shop.factwords import html_name, stem_of
from shop.forms.base import FaceForm
from shop.forms.dates import out_of_time
from shop.forms.factchecks import Remark, doubtful, impossible
from shop.forms.factgroups import COLUMN_FIELDS, HOSE, LINE_KIND, METAL, Group
from shop.forms.factrows import RowList
from shop.forms.factsent import (
    column_text,
    is_sent,
    plain_seen,
    plain_typed,
    row_count,
    rows_typed,
    seen_read,
)
from shop.forms.factslots import Facts, Names, Slot
from shop.forms.lengths import Length, LengthError, parse_length
from shop.selectors.facts_page import Joined, Port
from shop.services.corrections import Correction
from shop.services.facts import fact_edit

KINDS_OF_LINE = ((HOSE, gettext_lazy("Hose")), (METAL, gettext_lazy("Metal line")))


@dataclass(frozen=True)
class Subject:
    """What the form is about: its facts, the columns beside them, its place in the document."""

    kind: str
    ident: str
    facts: Facts
    columns: Mapping[str, Any]
    section: str  # "segments[S3]"


class FactsForm(FaceForm):
    """Fields named by the path of their fact: `hose.inside_diameter`, `route[2].height`."""

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        subject: Subject,
        groups: tuple[Group, ...],
        names: Names,
        typed: Mapping[str, Any] | None = None,
        today: date | None = None,
        ports: Sequence[Port] = (),
        runs: Sequence[Joined] = (),
    ) -> None:
        """`today` bounds years and days; `ports` are the components at the ends of a run, `runs`
        what joins a component."""
        self.today, self.ports, self.runs = today, ports, runs
        self.met: dict[str, Any] = {}  # what another person set meanwhile, once it was said
        self.subject, self.groups, self.names = subject, groups, names
        self.slots: dict[str, Slot] = {s.path: s for group in groups for s in group.slots}
        self.row_lists = [group.rows for group in groups if group.rows]
        self.shown = self._shown()  # what stands on file, as it would be typed
        source = data if data is not None else typed
        self.rows_in = {rows.path: row_count(source, rows, self.shown) for rows in self.row_lists}
        super().__init__(data, initial={**self.shown, **(typed or {})})
        self._add_fields()
        said = self._said(data) if data is not None else None
        self.was = self._was(said)
        self.rows_sent = {rows.path for rows in self.row_lists if is_sent(data, rows, self)}
        if data is not None:
            self.data = self._filled(data, said or {})

    def add_prefix(self, field_name: str) -> str:
        return html_name(field_name)

    def seen(self) -> dict[str, Any]:
        """What stood on file when the form was drawn, so that only what was typed is written.

        What was changed meanwhile and has been said counts as seen: to save again overwrites it.
        """
        return {**self.was, **self.met}

    def seen_json(self) -> str:
        return json.dumps(self.seen(), separators=(",", ":"))

    @property
    def has_line_kind(self) -> bool:
        return any(group.line_kind for group in self.groups)

    def corrections(self) -> list[Correction]:
        """What the person changed, as corrections of facts and columns."""
        changed: dict[str, Any] = {}
        for slot in self.slots.values():
            if self._touched(slot.path) and self._is_kept(slot):
                key, value = slot.take(self.cleaned_data.get(slot.path))
                changed[key] = value
        for rows in self.row_lists:
            if self._rows_touched(rows):
                read = [cells for _number, cells in self._rows_read(rows)]
                changed |= rows.take(read, self.subject.facts)
        if "compartments" in changed and self.subject.facts.get("compartment"):
            changed["compartment"] = None
        changed |= self._line_kind_change()
        corrections = [self._correction(key, value) for key, value in changed.items()]
        for name in self._columns():
            if self._touched(name):
                value = self.cleaned_data.get(name) or None
                subject = self.subject
                corrections.append(Correction(subject.kind, subject.ident, name, value))
        return corrections

    def take_fact_error(self, error: FactError) -> None:
        """Put each problem of the document beside the field of its fact."""
        for problem in error.problems:
            inside = problem.path.removeprefix(f"{self.subject.section}.")
            name = self._field_of(inside) if inside != problem.path else None
            if name is not None and name in self.fields:
                self.add_error(name, problem.message)
            else:
                words = _("%(fact)s: %(message)s")
                said = {"fact": problem.path, "message": problem.message}
                self.add_error(None, words % said)

    def typed(self) -> dict[str, Any]:
        """Everything as it was typed, to be drawn again."""
        return {name: self[name].data for name in self.fields}

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for slot in self.slots.values():
            if not self._is_kept(slot):
                self.errors.pop(slot.path, None)
        for name, now in self.shown.items():
            was = self.was.get(name, now)
            if was != now and self._touched(name) and name in self.fields:
                words = _("%(label)s was changed meanwhile and reads %(now)s. Look, then save.")
                shown = now if now not in ("", []) else _("not known")
                said = {"label": self.fields[name].label, "now": shown}
                self.add_error(name, words % said)
                self.met[name] = now
        for rows in self.row_lists:
            self._check_pairs(rows)
            self._check_rows_unchanged(rows)
        self._check_facts()
        return data

    def _check_facts(self) -> None:
        """Refuse at its field what cannot be."""
        for name, words in out_of_time(self, self.today):
            if self._touched(name):
                self.add_error(name, words)
        # All of them first: an entry that is refused no longer reads as a length.
        for remark in list(filter(self._speaks_of_typed, impossible(self))):
            self.add_error(self._place_of(remark), remark.words)

    def length_at(self, name: str) -> Length | None:
        """A length or height as it was read, or as it stands on file in a form just drawn."""
        if self.is_bound and self.errors is not None:  # to ask for them reads the form
            read = self.cleaned_data.get(name)
            return read if isinstance(read, Length) else None
        try:
            return parse_length(str(self.initial.get(name) or ""), signed=True)
        except LengthError:
            return None

    @property
    def warnings(self) -> dict[str, str]:
        """What wants a second look, by field; nothing is refused for it."""
        said: dict[str, str] = {}
        for each in doubtful(self, self.ports):
            said[each.field] = f"{said.get(each.field, '')} {each.words}".lstrip()
        return said

    def new_warnings(self) -> list[str]:
        """Those about figures that the person changed."""
        doubts = filter(self._speaks_of_typed, doubtful(self, self.ports))
        return [f"{self.fields[self._place_of(each)].label}: {each.words}" for each in doubts]

    def _speaks_of_typed(self, remark: Remark) -> bool:
        """Whether the person changed any of the figures that a remark compares."""
        return any(self._touched(name) for name in (remark.field, *remark.others))

    def _place_of(self, remark: Remark) -> str:
        """The field at which it is said: where its own is not drawn, the first that it compares."""
        return next(n for n in (remark.field, *remark.others) if n in self.fields)

    # What is drawn

    def _shown(self) -> dict[str, Any]:
        facts = self.subject.facts
        shown = {path: slot.show(facts) for path, slot in self.slots.items()}
        if "compartments" in shown and facts.get("compartment"):
            shown["compartments"] = [facts["compartment"]]
        for rows in self.row_lists:
            for index, row in enumerate(rows.show(facts)):
                shown |= {rows.name(index, cell): typed for cell, typed in row.items()}
        if any(group.line_kind for group in self.groups):
            shown[LINE_KIND] = METAL if facts.get(METAL) is not None else HOSE
        columns = self.subject.columns
        return shown | {name: column_text(columns.get(name)) for name in self._columns()}

    def _columns(self) -> list[str]:
        return [name for group in self.groups for name in group.columns]

    def _add_fields(self) -> None:
        if self.has_line_kind:
            self.fields[LINE_KIND] = forms.ChoiceField(
                label=_("Made as"), choices=KINDS_OF_LINE, widget=forms.RadioSelect()
            )
        for path, slot in self.slots.items():
            self.fields[path] = slot.make(self.names)
        for rows in self.row_lists:
            for index in range(self.rows_in[rows.path]):
                for cell, made in rows.cells(self.names).items():
                    self.fields[rows.name(index, cell)] = made
        makers = COLUMN_FIELDS.get(self.subject.kind, {})
        for name in self._columns():
            self.fields[name] = makers[name](self.names)

    # What was changed

    def _said(self, data: QueryDict) -> dict[str, Any] | None:
        """What the form that was sent had drawn; None where it does not say."""
        said = seen_read(data)
        return None if said is None else plain_seen(said)

    def _was(self, said: Mapping[str, Any] | None) -> dict[str, Any]:
        """What was drawn, and what is on file of a field of which the form does not say it.

        A row on file that was not drawn is another person's, not one that was taken out.
        """
        if said is None:
            return dict(self.shown)
        in_rows = tuple(f"{rows.path}[" for rows in self.row_lists)
        alone = {n: now for n, now in self.shown.items() if not n.startswith(in_rows)}
        return {**alone, **said}

    def _filled(self, data: QueryDict, said: Mapping[str, Any]) -> QueryDict:
        """What was sent; a field that was not sent stays as it was drawn.

        A browser leaves out boxes of which none is ticked. Only of a form that says it had drawn
        them is that an answer.
        """
        left = [name for name in self.fields if self._is_left_out(name, data, said)]
        if not left:
            return data
        filled = copy.copy(data)
        for name in left:
            held = self.was.get(name, self.shown.get(name, ""))
            filled.setlist(self.add_prefix(name), held if isinstance(held, list) else [held])
        return filled

    def _is_left_out(self, name: str, data: QueryDict, said: Mapping[str, Any]) -> bool:
        if self.add_prefix(name) in data:
            return False
        boxes = isinstance(self.fields[name].widget, forms.CheckboxSelectMultiple)
        return not (boxes and name in said)

    def _touched(self, name: str) -> bool:
        """Whether the person changed this field from what was drawn."""
        if name not in self.fields:
            return False
        return bool(plain_typed(self[name].data) != plain_typed(self.was.get(name)))

    def _is_kept(self, slot: Slot) -> bool:
        """A fact of the kind of line that the segment is not made as is not written."""
        if not self.has_line_kind:
            return True
        other = METAL if self.cleaned_data.get(LINE_KIND) != METAL else HOSE
        return not slot.path.startswith(f"{other}.")

    def _line_kind_change(self) -> dict[str, Any]:
        if not self.has_line_kind or not self._touched(LINE_KIND):
            return {}
        other = HOSE if self.cleaned_data[LINE_KIND] == METAL else METAL
        return {other: None} if self.subject.facts.get(other) is not None else {}

    def _rows_touched(self, rows: RowList) -> bool:
        if self.is_bound and rows.path not in self.rows_sent:
            return False
        before = rows_typed(self.was, rows)
        now = {name: self[name].data for name in self.fields if name.startswith(f"{rows.path}[")}
        return rows_typed(now, rows) != before

    def _rows_read(self, rows: RowList) -> Iterator[tuple[int, dict[str, Any]]]:
        """Rows that hold anything, as read, with the number under which they are drawn."""
        cells = list(rows.cells(self.names))
        for index in range(self.rows_in[rows.path]):
            if any(plain_typed(self[rows.name(index, cell)].data) for cell in cells):
                named = {cell: self.cleaned_data.get(rows.name(index, cell)) for cell in cells}
                yield index, named

    def _correction(self, key: str, value: Any) -> Correction:
        subject = self.subject
        previous = fact_edit(copy.deepcopy(dict(subject.facts)), key, value).previous
        return Correction(subject.kind, subject.ident, key, value, seen=previous)

    def _check_rows_unchanged(self, rows: RowList) -> None:
        """Rows are written whole: one that another person changed meanwhile would be lost."""
        names = [n for n in self.fields if n.startswith(f"{rows.path}[") and self._touched(n)]
        if not self._rows_touched(rows) or any(name in self.met for name in names):
            return
        if rows_typed(self.was, rows) != rows_typed(self.shown, rows):
            words = _("%(rows)s: another row was changed meanwhile. Open the page anew to see it.")
            self.add_error(names[0] if names else None, words % {"rows": rows.title})

    def _check_pairs(self, rows: RowList) -> None:
        """A point of a route needs both its figures."""
        if rows.path != "route" or not self._rows_touched(rows):
            return
        for index, read in self._rows_read(rows):
            for cell, value in read.items():
                name = rows.name(index, cell)
                if value is None and name not in self.errors:
                    said = {"label": self.fields[name].label}
                    self.add_error(name, _("%(label)s is empty. A point needs both.") % said)

    def _field_of(self, path: str) -> str | None:
        """The field of a fact inside the subject: its own, a row's, or the group's first."""
        for rows in self.row_lists:
            if path.startswith(f"{rows.path}["):
                return self._row_field(rows, path)
            if path == rows.path:
                return next((n for n in self.fields if n.startswith(f"{rows.path}[")), None)
        for slot in self.slots.values():
            if path in slot.keys or path == slot.path or path.startswith(f"{slot.path}["):
                return slot.path
        if path in (HOSE, METAL):
            return LINE_KIND
        return path if path in self.fields else None

    def _row_field(self, rows: RowList, path: str) -> str | None:
        place, _bracket, rest = path.removeprefix(f"{rows.path}[").partition("]")
        number = whole_number(place)
        drawn = [index for index, _cells in self._rows_read(rows)]
        if number is None or number >= len(drawn):
            return None
        cells = list(rows.cells(self.names))
        cell = cells[whole_number(rest[1:2]) or 0] if rows.path == "route" else stem_of(rest)
        return rows.name(drawn[number], cell if cell in cells else cells[0])
