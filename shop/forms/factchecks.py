"""Facts that cannot be, refused at their field, and pairs of figures that want a second look.

What cannot be: an outside diameter not above the bore, a run that rises more than its length, a
tank without height. What is doubted is saved and said, with both figures: the length of a hose
governs, and the points of its route keep their share of it (fuelsys.graph.geometry).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from django.utils.translation import gettext as _

from fuelsys.document.marking import read_marking
from fuelsys.hydraulics.geometry import length_tolerance_m
from fuelsys.units import from_base, to_base
from shop.forms.lengths import Length
from shop.inches import inch_text
from shop.selectors.facts_page import Port

if TYPE_CHECKING:
    from shop.forms.facts import FactsForm

# Heights are surveyed to the inch or so (common practice, no source).
PORT_TOLERANCE_IN: Final = 1


@dataclass(frozen=True)
class Remark:
    """What is said at one field, and the other fields it speaks of."""

    field: str
    words: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Point:
    """One point of a route as it stands in the form."""

    row: int
    distance: Length
    height: Length

    @property
    def distance_field(self) -> str:
        return f"route[{self.row}].distance"

    @property
    def height_field(self) -> str:
        return f"route[{self.row}].height"


def impossible(form: FactsForm) -> Iterator[Remark]:
    """What cannot be, whatever was measured."""
    yield from _not_above(
        form,
        "hose.outside_diameter",
        "hose.inside_diameter",
        _("The outside, %(one)s, is not more than the bore, %(other)s. Measure both again."),
    )
    yield from _not_above(
        form,
        "top",
        "bottom",
        _("The top, %(one)s, is not above the bottom, %(other)s. Measure both again."),
    )
    yield from _marked_ahead(form)
    for before, after in pairwise(route_points(form)):
        run = after.distance.inches - before.distance.inches
        rise = abs(after.height.inches - before.height.inches)
        if run > 0 and run + _tolerance_in(run) < rise:
            words = _("From the point before, %(rise)s of height in %(run)s of hose. Look again.")
            said = {"rise": _inches(rise), "run": _inches(run)}
            yield Remark(after.height_field, words % said, (after.distance_field,))


def _marked_ahead(form: FactsForm) -> Iterator[Remark]:
    """A marking whose year is still to come."""
    marking = form.cleaned_data.get("hose.marking")
    year = read_marking(marking).year if marking else None
    if year and form.today and year > form.today.year:
        words = _("The marking says %(year)s, which is still to come. Read it again.")
        yield Remark("hose.marking", words % {"year": year})


def doubtful(form: FactsForm, ports: Sequence[Port]) -> Iterator[Remark]:
    """Two figures for one thing that differ by more than a survey is off."""
    points = route_points(form)
    if len(points) < 2:
        return
    first, last = points[0], points[-1]
    length = form.length_at("length")
    if length is not None:
        run = last.distance.inches - first.distance.inches
        if abs(length.inches - run) > _tolerance_in(max(length.inches, run)):
            words = _(
                "The length is %(length)s and the route ends at %(route)s. "
                "The points keep their share of the length; look at both."
            )
            said = {"length": _inches(length.inches), "route": _inches(last.distance.inches)}
            yield Remark("length", words % said, (last.distance_field,))
    for point, port in zip((first, last), ports, strict=False):
        if port.height_in is None:
            continue
        if abs(point.height.inches - port.height_in) > PORT_TOLERANCE_IN:
            words = _(
                "The route is at %(route)s here and the ports of %(port)s at %(height)s. "
                "Look at both."
            )
            said = {"route": _inches(point.height.inches), "port": port.ident}
            said["height"] = _inches(port.height_in)
            yield Remark(point.height_field, words % said)


def route_points(form: FactsForm) -> list[Point]:
    """Points of the route of which both figures read."""
    points = []
    for index in range(form.rows_in.get("route", 0)):
        cells = (form.length_at(f"route[{index}].{cell}") for cell in ("distance", "height"))
        distance, height = cells
        if distance is not None and height is not None:
            points.append(Point(index, distance, height))
    return points


def _not_above(form: FactsForm, upper: str, lower: str, words: str) -> Iterator[Remark]:
    one, other = form.length_at(upper), form.length_at(lower)
    if one is not None and other is not None and one.inches <= other.inches:
        yield Remark(
            upper, words % {"one": _inches(one.inches), "other": _inches(other.inches)}, (lower,)
        )


def _tolerance_in(length_in: Fraction) -> Fraction:
    """How far a hose measured at this length may be off [in]."""
    if length_in <= 0:
        return Fraction(0)
    return from_base(length_tolerance_m(to_base(length_in, "in")), "in")


def _inches(value: Fraction) -> str:
    return _("%(inches)s in") % {"inches": inch_text(value)}
