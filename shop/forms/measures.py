"""Heights, lengths and bores of a whole state in one form, each part with its own form of facts.

A part's form is the one of its own page with fewer fields; what it compares with and does not
draw is read from the file.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any, Final

from django.core.exceptions import NON_FIELD_ERRORS
from django.forms import BoundField, HiddenInput
from django.forms.utils import ErrorDict
from django.http import QueryDict
from django.utils.translation import gettext as _

from shop.exceptions import FactError
from shop.factwords import html_name
from shop.forms.base import FaceForm
from shop.forms.factgroups import HOSE, METAL, Group, groups_of
from shop.forms.factrows import route_rows
from shop.forms.facts import FactsForm, Subject
from shop.forms.factsent import plain_seen, seen_read
from shop.forms.factslots import Slot
from shop.forms.lengths import Length, LengthError, parse_length
from shop.inches import inch_text
from shop.models import SubjectKind
from shop.selectors.facts_page import Joined, Port
from shop.selectors.measures_page import MeasuredPart
from shop.services.corrections import Correction

ROUTE: Final = "route"
# Both ends and one point between: what fits into a table. A longer route has its own page.
SIMPLE_ROUTE_POINTS: Final = 3
# What is measured of each kind of part, from the top down.
MEASURED: Final[dict[str, tuple[str, ...]]] = {
    SubjectKind.TANK: ("top", "surface", "lowest_usable", "bottom"),
    SubjectKind.COMPONENT: ("height",),
    SubjectKind.SEGMENT: ("length", "inside_diameter"),
}


class PartForm(FactsForm):
    """The measured facts of one part, its fields named after it: `segment-S3-length`."""

    takes_focus = False

    def __init__(
        self,
        data: QueryDict | None,
        *,
        part: MeasuredPart,
        seen: Mapping[str, Any] | None,
        today: date | None,
        was_drawn: bool = True,
    ) -> None:
        """`seen` is what the form that was sent had drawn; None where it does not say.

        A part that the form had not drawn, as one added meanwhile, stays as it is.
        """
        self.part, self.key = part, part_key(part.kind, part.ident)
        self.seen_here = seen
        sent, data = data, data if was_drawn or data is None else QueryDict()
        whole = groups_of(part.kind, str(part.facts.get("kind", "")))
        listed = {slot.path: slot for group in whole for slot in group.slots}
        self.on_file = _lengths_on_file(listed.values(), part.facts)
        points = part.facts.get(ROUTE) or ()
        self.route_drawn = 0 < len(points) <= SIMPLE_ROUTE_POINTS
        rows = route_rows() if self.route_drawn else None
        slots = tuple(listed[path] for path in measured_paths(part))
        super().__init__(
            data,
            subject=Subject(part.kind, part.ident, part.facts, {}, part.section),
            groups=(Group("measures", "", slots, rows),),
            names={},
            today=today,
            ports=part.ports,
            runs=part.runs,
        )
        self.rows_in.setdefault(ROUTE, len(points))
        self.strays = not was_drawn and self._says_other(sent)
        self._fit_fields()

    def add_prefix(self, field_name: str) -> str:
        return f"{self.key}-{super().add_prefix(field_name)}"

    def clean(self) -> dict[str, Any]:
        """Only what was typed is judged: what stands on file already keeps no other from saving."""
        if self.strays:
            words = _("%(part)s was not on the page that was sent. Open the page anew to see it.")
            self.add_error(None, words % {"part": self.part.ident})
        for name in [name for name in self.errors if not self._is_judged(name)]:
            del self.errors[name]
        return super().clean()

    def _says_other(self, sent: QueryDict | None) -> bool:
        """Whether figures were sent that are not those on file."""
        if sent is None:
            return False
        drawn = {self.add_prefix(name): name for name in self.fields}
        return any(sent[n] != self.shown.get(drawn[n], "") for n in drawn.keys() & sent.keys())

    def _is_judged(self, name: str) -> bool:
        """Rows are written whole: all of them are judged where one was changed."""
        rows = next((r for r in self.row_lists if name.startswith(f"{r.path}[")), None)
        if rows is not None:
            return self._rows_touched(rows)
        return name not in self.fields or self._touched(name)

    def _said(self, data: QueryDict) -> dict[str, Any] | None:
        return None if self.seen_here is None else plain_seen(self.seen_here)

    def length_at(self, name: str) -> Length | None:
        if name in self.fields:
            return super().length_at(name)
        try:
            return parse_length(self.on_file.get(name, ""), signed=True)
        except LengthError:
            return None

    def length_typed(self, name: str) -> Fraction | None:
        """A length [in] as it stands in the form, before anything is judged; None unread."""
        try:
            return parse_length(str(self[name].value() or ""), signed=True).inches
        except LengthError:
            return None

    def was_typed(self, name: str) -> bool:
        return self._touched(name)

    def route_names(self) -> list[str]:
        """The heights of the route's points, where they are drawn."""
        points = range(self.rows_in[ROUTE] if self.route_drawn else 0)
        return [f"{ROUTE}[{index}].height" for index in points]

    def hidden(self) -> list[BoundField]:
        return [bound for bound in self if bound.is_hidden]

    def _fit_fields(self) -> None:
        """Entries of a table: one width, their part in their name, and what stands when empty."""
        for index, name in enumerate(self.route_names()):
            distance = f"{ROUTE}[{index}].distance"
            along = parse_length(self.shown[distance], signed=True)
            words = _("Height %(distance)s in along the hose")
            self.fields[name].label = words % {"distance": inch_text(along.inches)}
            self.fields[distance].widget = HiddenInput()
        for field in self.fields.values():
            label = f"{self.part.ident}, {field.label}"
            said = {"class": "w8", "aria-label": label, "placeholder": _("not measured")}
            field.widget.attrs.update({} if field.widget.is_hidden else said)


class MeasuresForm(FaceForm):
    """All parts of a state, saved as one act. Its fields are those of the parts."""

    def __init__(
        self, data: QueryDict | None = None, *, parts: Sequence[MeasuredPart], today: date | None
    ) -> None:
        super().__init__(data)
        seen = seen_read(data) if data is not None else None
        self.parts = [_part_form(data, part, seen, today) for part in parts]
        self._join_ports()

    def __iter__(self) -> Iterator[BoundField]:
        return (bound for part in self.parts for bound in part)

    @property
    def errors(self) -> ErrorDict:
        """Those of the whole, then those of the parts under their names in the page."""
        found = ErrorDict(super().errors)
        for part in self.parts:
            for name, said in part.errors.items():
                drawn = name in part.fields and not part[name].is_hidden
                place = part.add_prefix(name) if drawn else NON_FIELD_ERRORS
                found[place] = found[place] + said if place in found else said
        return found

    def seen_json(self) -> str:
        """What stood on file of each part when the form was drawn."""
        return json.dumps({part.key: part.seen() for part in self.parts}, separators=(",", ":"))

    def corrections(self) -> list[Correction]:
        return [each for part in self.parts for each in part.corrections()]

    def new_warnings(self) -> list[str]:
        """What wants a second look of the figures that were changed, with the part's name."""
        return [f"{p.part.ident}, {words}" for p in self.parts for words in p.new_warnings()]

    def take_fact_error(self, error: FactError) -> None:
        """Give each problem of the document to the part that it speaks of."""
        for problem in error.problems:
            at = (p for p in self.parts if problem.path.startswith(f"{p.subject.section}."))
            if part := next(at, None):
                part.take_fact_error(FactError((problem,)))
            else:
                said = {"fact": problem.path, "message": problem.message}
                self.add_error(None, _("%(fact)s: %(message)s") % said)

    def focus_first_wrong(self) -> None:
        """Let the keyboard go to the first entry that is wrong, and to no other."""
        wrong = (part for part in self.parts if self.is_bound and part.errors)
        if first := next(wrong, None):
            first.takes_focus = True

    def _join_ports(self) -> None:
        """A run and its ends are compared as they are typed beside each other.

        Where the length was typed, what is wrong is said there and not at the heights as well.
        """
        typed = {p.part.ident: p for p in self.parts if p.part.kind != SubjectKind.TANK}
        for form in self.parts:
            form.ports = [_port_typed(typed, port) for port in form.part.ports]
            form.runs = [
                replace(_run_typed(typed, run), other=_port_typed(typed, run.other))
                for run in form.part.runs
                if run.ident not in typed or not typed[run.ident].was_typed("length")
            ]


def part_key(kind: str, ident: str) -> str:
    """The part's name in HTML: any text is an id in a drawing, not every one in a selector."""
    plain = re.sub(r"[^A-Za-z0-9-]", lambda found: f"_{ord(found[0]):x}_", ident)
    return html_name(f"{kind}-{plain}")


def measured_paths(part: MeasuredPart) -> tuple[str, ...]:
    """The facts of a part that are measured here; a bore stands in what the run is made of."""
    if part.kind != SubjectKind.SEGMENT:
        return MEASURED[part.kind]
    line = HOSE if part.facts.get(METAL) is None else METAL
    length, bore = MEASURED[part.kind]
    return (length, f"{line}.{bore}")


def _port_typed(typed: Mapping[str, PartForm], port: Port) -> Port:
    form = typed.get(port.ident)
    return port if form is None else Port(port.ident, form.length_typed("height"))


def _run_typed(typed: Mapping[str, PartForm], run: Joined) -> Joined:
    form = typed.get(run.ident)
    return run if form is None else replace(run, length_in=form.length_typed("length"))


def _lengths_on_file(slots: Iterable[Slot], facts: Mapping[str, Any]) -> dict[str, str]:
    """Every length of a part as it would be typed, its route's among them."""
    lengths = {slot.path: str(slot.show(facts)) for slot in slots if slot.is_length}
    rows = route_rows()
    for index, row in enumerate(rows.show(facts)):
        lengths |= {rows.name(index, cell): typed for cell, typed in row.items()}
    return lengths


def _part_form(
    data: QueryDict | None, part: MeasuredPart, seen: Mapping[str, Any] | None, today: date | None
) -> PartForm:
    """A part's form, told what the page that was sent had drawn of it."""
    key = part_key(part.kind, part.ident)
    was = seen.get(key) if seen is not None else None
    return PartForm(
        data,
        part=part,
        seen=was if isinstance(was, dict) else None,
        today=today,
        was_drawn=seen is None or key in seen,
    )
