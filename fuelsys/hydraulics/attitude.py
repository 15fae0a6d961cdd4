"""Turning a survey taken at some trim and heel into the attitude of a boat afloat at rest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import cos, sin

from fuelsys.document.model import Component, Document, Segment, Tank

Place = tuple[float, float]  # aft and to starboard of the survey's point
# Either way: the project's own choice. A boat at rest lies within it; the formula holds for any.
MOST_DEG = 10


@dataclass(frozen=True, slots=True)
class Turned:
    """The document in its new attitude; None where the place of a part is not on file."""

    document: Document | None
    missing: tuple[str, ...]


def turned_height(
    height_m: float, aft_m: float, starboard_m: float, *, trim_rad: float, heel_rad: float
) -> float:
    """Height of a point once the boat is turned: bow up and starboard down above zero.

    Parameters
    ----------
    height_m, aft_m, starboard_m : float
        From the survey's point [m].
    trim_rad, heel_rad : float
        [rad].

    Returns
    -------
    float
        [m].

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Any angle; the trim is turned first.

    Source
    ------
    z' = z cos(trim) - x sin(trim), then likewise with the heel.

    Examples
    --------
    2 degrees of trim lower a point 3 m aft by 105 mm:

    >>> round(turned_height(0.0, 3.0, 0.0, trim_rad=0.0349066, heel_rad=0.0), 4)
    -0.1047
    """
    trimmed = height_m * cos(trim_rad) - aft_m * sin(trim_rad)
    return trimmed * cos(heel_rad) - starboard_m * sin(heel_rad)


def turned(document: Document, *, trim_rad: float, heel_rad: float) -> Turned:
    """A document with every height turned by a trim and a heel.

    Parameters
    ----------
    document : Document
        As surveyed.
    trim_rad, heel_rad : float
        From the survey's attitude to that afloat at rest [rad].

    Returns
    -------
    Turned
        Or the paths of `aft_in` and `starboard_in` that are lacking.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Runs that lead straight in plan from one component to the next: a point takes its share of
    the way between them. A tank is turned about the middle of its fittings.

    Source
    ------
    33 CFR 183.505: static floating position, every tank at its label capacity.

    Examples
    --------
    >>> part = Component("A", "tee", height_m=Fraction(1))
    >>> turned(Document(components=(part,)), trim_rad=0.1, heel_rad=0.0).missing
    ('components[A].aft_in',)
    """
    missing: list[str] = []
    placed = _placed(document)
    for component in document.components:
        if component.id not in placed:
            continue
        if trim_rad and component.aft_m is None:
            missing.append(f"components[{component.id}].aft_in")
        if heel_rad and component.starboard_m is None:
            missing.append(f"components[{component.id}].starboard_in")
    if missing:
        return Turned(None, tuple(missing))
    turn = _Turn(document, trim_rad, heel_rad)
    return Turned(
        replace(
            document,
            tanks=tuple(turn.tank(tank) for tank in document.tanks),
            components=tuple(turn.component(part) for part in document.components),
            segments=tuple(turn.segment(segment) for segment in document.segments),
        ),
        (),
    )


def _placed(document: Document) -> frozenset[str]:
    """Components whose place a height hangs on: their own, a run's that ends there, a tank's."""
    tanks = {tank.id for tank in document.tanks if _has_height(tank)}
    runs = [segment for segment in document.segments if segment.route]
    ends = {end for segment in runs for end in (segment.from_id, segment.to_id)}
    return frozenset(
        part.id
        for part in document.components
        if part.height_m is not None or part.id in ends or part.tank in tanks
    )


def _has_height(tank: Tank) -> bool:
    heights = (tank.bottom_m, tank.top_m, tank.surface_m, tank.lowest_usable_m)
    return any(height is not None for height in heights)


class _Turn:
    def __init__(self, document: Document, trim_rad: float, heel_rad: float) -> None:
        self.trim_rad = trim_rad
        self.heel_rad = heel_rad
        self.document = document
        self.places = {part.id: _place(part) for part in document.components}

    def height(self, height_m: Fraction, place: Place) -> Fraction:
        return Fraction(
            turned_height(float(height_m), *place, trim_rad=self.trim_rad, heel_rad=self.heel_rad)
        )

    def component(self, part: Component) -> Component:
        if part.height_m is None:
            return part
        return replace(part, height_m=self.height(part.height_m, self.places[part.id]))

    def tank(self, tank: Tank) -> Tank:
        parts = self.document.components
        fittings = [self.places[part.id] for part in parts if part.tank == tank.id]
        if not fittings:
            return tank
        aft, starboard = (sum(along) / len(fittings) for along in zip(*fittings, strict=True))

        def height(height_m: Fraction | None) -> Fraction | None:
            return None if height_m is None else self.height(height_m, (aft, starboard))

        return replace(
            tank,
            bottom_m=height(tank.bottom_m),
            top_m=height(tank.top_m),
            surface_m=height(tank.surface_m),
            lowest_usable_m=height(tank.lowest_usable_m),
        )

    def segment(self, segment: Segment) -> Segment:
        route = segment.route
        if not route or route[-1][0] <= route[0][0]:
            return segment
        start, end = self.places[segment.from_id], self.places[segment.to_id]
        first, span = route[0][0], route[-1][0] - route[0][0]
        points = []
        for distance, height in route:
            share = float((distance - first) / span)
            place = (
                start[0] + share * (end[0] - start[0]),
                start[1] + share * (end[1] - start[1]),
            )
            points.append((distance, self.height(height, place)))
        return replace(segment, route=tuple(points))


def _place(part: Component) -> Place:
    return float(part.aft_m or 0), float(part.starboard_m or 0)
