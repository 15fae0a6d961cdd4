"""How much a severed-hose verdict leans on the survey."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from fuelsys.document.model import Component, Document, Segment
from fuelsys.graph import Graph, build
from fuelsys.hydraulics.discharge import discharge

SURVEY_M = Fraction(10, 1000)  # the project's own choice of what a survey may be out by

# What each survey is out by, in parts of the tolerance: the segment at its from end, at its to
# end, everything else, and the segment's points by turns.
PATTERNS = (
    (1, 1, 1, 0),
    (-1, -1, -1, 0),
    (1, 1, -1, 0),
    (-1, -1, 1, 0),
    (1, -1, 0, 0),
    (-1, 1, 0, 0),
    (0, 0, 0, 1),
    (0, 0, 0, -1),
)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The verdicts and volumes when every height may be out by a little."""

    verdicts: tuple[str, ...]  # each once, that of the survey as it stands first
    least_m3: float | None
    most_m3: float | None

    @property
    def steady(self) -> bool:
        return len(self.verdicts) == 1


def survey_tolerance(
    graph: Graph, segment_id: str, *, by_m: Fraction = SURVEY_M
) -> Tolerance | None:
    """The verdict for every height out by some millimeters either way.

    The run against the tank, the segment against the rest, the segment tilted either way and its
    points one up and one down: eight surveys besides the one on file.

    Parameters
    ----------
    graph : Graph
    segment_id : str
    by_m : Fraction, optional
        What a height may be out by [m].

    Returns
    -------
    Tolerance or None
        None for a segment without a discharge.

    Raises
    ------
    KeyError
        The graph has no such segment.

    Valid for
    ---------
    As `fuelsys.hydraulics.discharge.discharge`. The worst of all surveys within the tolerance
    may be a little worse than these.

    Source
    ------
    The project's own choice; 33 CFR 183.558(b) names no tolerance.

    Examples
    --------
    >>> from fuelsys.document.model import Hose, Tank
    >>> F = Fraction
    >>> graph = build(Document(
    ...     tanks=(Tank("T", fuel="gasoline", surface_m=F(0)),),
    ...     components=(Component("P", "withdrawal", tank="T", anti_siphon="none"),
    ...                 Component("E", "fuel_pump", check_valve=True)),
    ...     segments=(Segment("S", "feed", "P", "E",
    ...         route=((F(0), F(5, 1000)), (F(1), F(5, 1000))),
    ...         hose=Hose(inside_diameter_m=F("0.009525"))),)))
    >>> survey_tolerance(graph, "S").verdicts  # 5 mm above the tank's surface
    ('within', 'over')
    """
    first = discharge(graph, segment_id)
    if first is None:
        return None
    found = [first]
    for pattern in PATTERNS:
        varied = _shifted(graph.document, segment_id, tuple(by_m * part for part in pattern))
        again = discharge(build(varied), segment_id)
        found += [again] if again is not None else []
    volumes = [one.volume_m3 for one in found]
    known = [volume for volume in volumes if volume is not None]
    complete = len(known) == len(volumes)
    return Tolerance(
        tuple(dict.fromkeys(one.verdict for one in found)),
        min(known) if complete else None,
        max(known) if complete else None,
    )


def _shifted(document: Document, own_id: str, pattern: tuple[Fraction, ...]) -> Document:
    at_from, at_to, rest, by_turns = pattern
    segments = []
    for segment in document.segments:
        if segment.id != own_id:
            segments.append(_raised(segment, rest, rest, Fraction(0)))
        else:
            segments.append(_raised(segment, at_from, at_to, by_turns))
    return replace(
        document,
        components=tuple(_moved(part, rest) for part in document.components),
        segments=tuple(segments),
    )


def _moved(part: Component, by_m: Fraction) -> Component:
    return part if part.height_m is None else replace(part, height_m=part.height_m + by_m)


def _raised(segment: Segment, at_from: Fraction, at_to: Fraction, by_turns: Fraction) -> Segment:
    route = segment.route
    if not route or route[-1][0] <= route[0][0]:
        return segment
    first, span = route[0][0], route[-1][0] - route[0][0]
    points = [
        (s, z + at_from + (at_to - at_from) * (s - first) / span + by_turns * (-1) ** index)
        for index, (s, z) in enumerate(route)
    ]
    return replace(segment, route=tuple(points))
