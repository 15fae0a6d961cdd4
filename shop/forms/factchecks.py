"""Facts that cannot be, refused at their field, and pairs of figures that want a second look.

What cannot be: an outside diameter not above the bore, a bore wider than any fuel line's, a run
that rises more than its length or is shorter than its ends are apart in height, a tank without
height or with a level outside it. Ends that a hose reaches if their heights are off by as much as
a survey may be are doubted alone. What is doubted is saved and said, with its figures: the length
of a hose governs, and the points of its route keep their share of it (fuelsys.graph.geometry).
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
from shop.forms.factgroups import HOSE, METAL
from shop.forms.lengths import Length
from shop.inches import inch_text
from shop.selectors.facts_page import Port

if TYPE_CHECKING:
    from shop.forms.facts import FactsForm

# Heights are surveyed to the inch or so (common practice, no source).
PORT_TOLERANCE_IN: Final = 1
HEIGHTS_OFF_IN: Final = 2 * PORT_TOLERANCE_IN  # of two ends against each other: each may be off
# Far above any fuel line: fill hose is of 1-1/2 or 2 in (common practice, no source).
MOST_BORE_IN: Final = Fraction(6)
BORES: Final = (f"{HOSE}.inside_diameter", f"{METAL}.inside_diameter")
LEVELS: Final = ("surface", "lowest_usable")


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
    yield from _too_wide(form)
    yield from _outside_the_tank(form)
    yield from _marked_ahead(form)
    yield from _too_short(form)
    yield from _out_of_reach(form)
    for before, after in pairwise(route_points(form)):
        run = after.distance.inches - before.distance.inches
        rise = abs(after.height.inches - before.height.inches)
        if run > 0 and run + _tolerance_in(run) < rise:
            words = _("From the point before, %(rise)s of height in %(run)s of hose. Look again.")
            said = {"rise": _inches(rise), "run": _inches(run)}
            yield Remark(after.height_field, words % said, (after.distance_field,))


def _too_wide(form: FactsForm) -> Iterator[Remark]:
    """A bore that is most likely in feet, or lacks its fraction stroke."""
    for name in BORES:
        bore = form.length_at(name)
        if bore is not None and bore.inches > MOST_BORE_IN:
            words = _(
                "No fuel line has a bore of %(bore)s; %(most)s is the most taken. Look again."
            )
            yield Remark(
                name, words % {"bore": _inches(bore.inches), "most": _inches(MOST_BORE_IN)}
            )


def _outside_the_tank(form: FactsForm) -> Iterator[Remark]:
    """A level of the fuel above the tank's top or below its bottom."""
    top, bottom = form.length_at("top"), form.length_at("bottom")
    if top is not None and bottom is not None and top.inches <= bottom.inches:
        return  # that is said by itself
    for name in LEVELS:
        level = form.length_at(name)
        if level is None:
            continue
        said = {"level": _inches(level.inches)}
        if top is not None and level.inches > top.inches:
            said["top"] = _inches(top.inches)
            words = _(
                "This level, %(level)s, is above the tank's top, %(top)s. Measure both again."
            )
            yield Remark(name, words % said, ("top",))
        elif bottom is not None and level.inches < bottom.inches:
            said["bottom"] = _inches(bottom.inches)
            words = _(
                "This level, %(level)s, is below the tank's bottom, %(bottom)s. Measure both again."
            )
            yield Remark(name, words % said, ("bottom",))


def _marked_ahead(form: FactsForm) -> Iterator[Remark]:
    """A marking whose year is still to come."""
    marking = form.cleaned_data.get("hose.marking")
    year = read_marking(marking).year if marking else None
    if year and form.today and year > form.today.year:
        words = _("The marking says %(year)s, which is still to come. Read it again.")
        yield Remark("hose.marking", words % {"year": year})


def _too_short(form: FactsForm) -> Iterator[Remark]:
    """A run that cannot reach from the height of one end to that of the other."""
    for said, lacking_in in _short_length(form):
        if lacking_in > HEIGHTS_OFF_IN:
            words = _(
                "%(length)s is too short: %(one)s is at %(low)s and %(other)s at %(high)s, "
                "%(apart)s apart in height. Measure again."
            )
            yield Remark("length", words % said)


def _out_of_reach(form: FactsForm) -> Iterator[Remark]:
    """A height of a component to which a run that joins it does not reach."""
    for said, lacking_in in _short_runs(form):
        if lacking_in > HEIGHTS_OFF_IN:
            words = _(
                "%(run)s is %(length)s long and %(other)s at %(there)s: at %(here)s the ends are "
                "%(apart)s apart in height. Measure again; heights and lengths can be changed "
                'together on the page "%(page)s".'
            )
            yield Remark("height", words % {**said, "page": _("Heights and lengths")})


def _barely_short(form: FactsForm) -> Iterator[Remark]:
    """A run that reaches if the heights of its ends are off by as much as a survey may be."""
    for said, lacking_in in _short_length(form):
        if lacking_in <= HEIGHTS_OFF_IN:
            words = _(
                "%(length)s is short: %(one)s is at %(low)s and %(other)s at %(high)s, "
                "%(apart)s apart in height. Look at all three."
            )
            yield Remark("length", words % said)
    for said, lacking_in in _short_runs(form):
        if lacking_in <= HEIGHTS_OFF_IN:
            words = _(
                "%(run)s is %(length)s long and %(other)s at %(there)s: at %(here)s the ends are "
                "%(apart)s apart in height. Look at all three."
            )
            yield Remark("height", words % said)


def _short_length(form: FactsForm) -> Iterator[tuple[dict[str, str], Fraction]]:
    """What is said of a run shorter than its ends are apart, and how much it lacks [in]."""
    length = form.length_at("length")
    if length is None or len(form.ports) < 2:
        return
    one, other = form.ports[:2]
    if one.height_in is None or other.height_in is None:
        return
    apart = abs(one.height_in - other.height_in)
    lacking_in = _lacking_in(length.inches, apart)
    if lacking_in > 0:
        said = {"length": _inches(length.inches), "apart": _inches(apart)}
        said |= {"one": one.ident, "low": _inches(one.height_in)}
        said |= {"other": other.ident, "high": _inches(other.height_in)}
        yield said, lacking_in


def _short_runs(form: FactsForm) -> Iterator[tuple[dict[str, str], Fraction]]:
    """The same of each run that joins a component, from the component's height."""
    height = form.length_at("height") if form.runs else None
    if height is None:
        return
    for run in form.runs:
        if run.length_in is None or run.other.height_in is None:
            continue
        apart = abs(height.inches - run.other.height_in)
        lacking_in = _lacking_in(run.length_in, apart)
        if lacking_in > 0:
            said = {"run": run.ident, "length": _inches(run.length_in), "apart": _inches(apart)}
            said |= {"other": run.other.ident, "there": _inches(run.other.height_in)}
            yield {**said, "here": _inches(height.inches)}, lacking_in


def _lacking_in(length_in: Fraction, apart_in: Fraction) -> Fraction:
    """How much a hose, taken as long as it may be, lacks to hang from end to end [in]."""
    if length_in <= 0:  # that is said by itself
        return Fraction(0)
    return apart_in - length_in - _tolerance_in(length_in)


def doubtful(form: FactsForm, ports: Sequence[Port]) -> Iterator[Remark]:
    """Figures that do not agree and are saved all the same."""
    yield from _barely_short(form)
    yield from _off_the_route(form, ports)


def _off_the_route(form: FactsForm, ports: Sequence[Port]) -> Iterator[Remark]:
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
