"""The form of heights and lengths as its table draws it: a part, and its lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.forms import BoundField

from shop.forms.measures import ROUTE, MeasuresForm, PartForm, measured_paths
from shop.models import SubjectKind
from shop.selectors.measures_page import MeasuredPart


@dataclass(frozen=True)
class Line:
    """One row: a height, or the length and bore of a run."""

    height: BoundField | None = None
    length: BoundField | None = None
    bore: BoundField | None = None


@dataclass(frozen=True)
class DrawnPart:
    part: MeasuredPart
    lines: tuple[Line, ...]
    hidden: tuple[BoundField, ...]
    points: int  # of a run's route
    route_drawn: bool  # its heights follow as lines

    @property
    def is_run(self) -> bool:
        return self.part.kind == SubjectKind.SEGMENT


def drawn_parts(form: MeasuresForm) -> list[DrawnPart]:
    """The parts in the form's order; the first entry that is wrong takes the keyboard."""
    form.focus_first_wrong()
    return [
        DrawnPart(
            each.part,
            tuple(_lines(each)),
            tuple(each.hidden()),
            len(each.part.facts.get(ROUTE) or ()),
            each.route_drawn,
        )
        for each in form.parts
    ]


def _lines(form: PartForm) -> Iterator[Line]:
    paths = measured_paths(form.part)
    if form.part.kind == SubjectKind.SEGMENT:
        length, bore = paths
        yield Line(length=form[length], bore=form[bore])
        paths = tuple(form.route_names())
    for path in paths:
        yield Line(height=form[path])
