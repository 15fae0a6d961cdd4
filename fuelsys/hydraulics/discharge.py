"""Severed-hose discharge: 33 CFR 183.558(b), for one segment at a time.

Each unknown fact is read twice, as adding the least and as adding the most it can. What both
readings agree on is reported; where they disagree the facts that decide are named.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import NamedTuple

from fuelsys.document.model import Segment
from fuelsys.graph import Graph, Pocket
from fuelsys.hydraulics.curves import curves_of, same
from fuelsys.hydraulics.cuts import Cut, Section
from fuelsys.hydraulics.joined import joined_volume
from fuelsys.hydraulics.reading import DOUBT_MARK, UNBOUNDED_M3, Reading
from fuelsys.hydraulics.reseating import narrow_share
from fuelsys.hydraulics.result import LIMIT_M3, MARGINAL_M3, Discharge
from fuelsys.hydraulics.runs import DRY_SERVICES, bore, bore_fact, liquid_area, pieces
from fuelsys.hydraulics.sides import Side, SideBuilder
from fuelsys.hydraulics.spill import spill_levels
from fuelsys.hydraulics.transition import in_transition_at
from fuelsys.hydraulics.wording import about_limits, assumptions, reseats
from fuelsys.hydraulics.worst import Worst, worst_cut

SERVICES = frozenset({"fill", "vent", "feed"})
NEGLIGIBLE_M3 = 1e-12  # a millionth of a milliliter is rounding
KNOWN_BELOW_M3 = 1e6  # a volume above has an unbounded part in it
ROUNDING_SHARE = 1e-12  # of floats; the comparison is otherwise made before any rounding
TIE_LENGTH_M = 1e-5
MOST_FACTS_TRIED = 12  # beyond, all unknown facts are named without finding those that decide


class _Answer(NamedTuple):
    """What one reading of the facts answers."""

    volume_m3: float
    tank_side_m3: float
    far_side_m3: float
    first_m: float
    last_m: float
    upper_bound_m3: float
    state: str
    cut: Cut
    section: Section
    sides: tuple[Side, Side]
    pockets: tuple[Pocket, ...]

    @property
    def verdict(self) -> str:
        if _exceeds_limit(self.volume_m3):
            return "over"
        return "review" if _exceeds_limit(self.upper_bound_m3) else "within"


def discharge(graph: Graph, segment_id: str, *, curves: bool = False) -> Discharge | None:
    """Fuel out of both ends of a segment severed at its worst place, in 2 1/2 minutes.

    Parameters
    ----------
    graph : Graph
        The system, filled to the tanks' label capacity, in static floating position.
    segment_id : str
        The segment that is severed.
    curves : bool, optional
        Whether to add the discharge along the segment, at every candidate cut and at least
        every 25 mm. A side that the unknown facts leave open is None there.

    Returns
    -------
    Discharge or None
        Volumes in [m3], distances from the segment's `from` end in [m]. None for a segment
        that is neither fill, vent nor feed. A figure that the missing facts leave open is
        None in it, and `missing` names them.

    Raises
    ------
    KeyError
        The graph has no such segment.

    Valid for
    ---------
    Fuel hoses of boats; bores above 3.2 mm, others are named in `assumptions`. In transition
    flow (Re 2000 to 4000) figures are a wide band, and the hoses are named there too. Several
    tanks on one side are solved as a network where all between them and the cut is known, else
    bounded; loops are bounded.

    Source
    ------
    33 CFR 183.505, 183.528(a)(1), 183.558(b). Steady flow with the friction of the EPANET 2.2
    User Manual. What the text leaves open (ounces, both ends, hand valves) is this project's
    reading and named in `assumptions`.

    Examples
    --------
    Two meters of 3/8 in hose, all of it uphill from a valve that holds to a check valve:

    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Component, Document, Hose, Segment, Tank
    >>> from fuelsys.graph import build
    >>> graph = build(Document(
    ...     tanks=(Tank("T1", fuel="gasoline", surface_m=F(0)),),
    ...     components=(
    ...         Component("T1-P", "withdrawal", tank="T1", anti_siphon="spring_valve",
    ...                   opening_head_m=F(1, 2)),
    ...         Component("ENG", "fuel_pump", check_valve=True)),
    ...     segments=(Segment("S1", "feed", "T1-P", "ENG", route=((F(0), F(0)), (F(2), F(1))),
    ...                       hose=Hose(inside_diameter_m=F("0.009525"))),)))
    >>> found = discharge(graph, "S1")
    >>> round(found.volume_m3 * 1e6, 1), found.worst_cut_m, found.state, found.verdict
    (142.5, 0.0, 'held_valve', 'within')
    """
    segment = graph.segment(segment_id)
    if segment.service not in SERVICES:
        return None
    unsurveyed = _lacking_geometry(graph, segment)
    if unsurveyed:
        return _not_computed(segment, unsurveyed)

    def read(most: bool, flipped: frozenset[str] = frozenset()) -> tuple[_Answer, Reading]:
        reading = Reading(most=most, flipped=flipped)
        return _answer(graph, segment, reading), reading

    least, reading = read(False)
    if not reading.asked:
        return _report(graph, segment, least, least, (), curves)
    most, reading_most = read(True)
    facts = tuple(dict.fromkeys([*reading.asked, *reading_most.asked]))
    if _agree(least, most) and least.verdict == most.verdict:
        return _report(graph, segment, least, most, (), curves)

    def decides(fact: str) -> bool:
        """Whether an end changes with the fact; one that was never met there cannot change it."""
        ends = ((True, most, reading_most), (False, least, reading))
        return any(
            fact in met.asked and not _agree(read(up, frozenset({fact}))[0], end)
            for up, end, met in ends
        )

    deciding = _deciding(facts, decides)
    return _report(graph, segment, least, most, deciding, curves)


def _lacking_geometry(graph: Graph, segment: Segment) -> tuple[str, ...]:
    if graph.polyline(segment.id) is not None:
        return ()
    lacking = [f"segments[{segment.id}].route"]
    if bore(segment) is None:
        lacking.append(bore_fact(segment))
    return tuple(lacking)


def _not_computed(segment: Segment, missing: tuple[str, ...]) -> Discharge:
    return Discharge(
        segment.id, None, None, None, None, "indeterminate", None, False, (), "cannot_tell", missing
    )


def section_of(graph: Graph, segment_id: str) -> Section:
    """A segment of known geometry between its two sides, each unknown fact adding the least."""
    return _section(graph, graph.segment(segment_id), Reading(most=False))[0]


def _section(
    graph: Graph, segment: Segment, reading: Reading
) -> tuple[Section, tuple[Side, Side], tuple[Pocket, ...]]:
    run = graph.polyline(segment.id)
    assert run is not None
    tank_first = segment.service != "fill"  # a fill runs deck -> tank, the others from the tank
    ends = (segment.from_id, segment.to_id) if tank_first else (segment.to_id, segment.from_id)
    sides = (
        SideBuilder(graph, segment, ends[0], reading).build(),
        SideBuilder(graph, segment, ends[1], reading).build(),
    )
    rims: tuple[float, float] | None = None
    pockets: tuple[Pocket, ...] = ()
    if segment.service in DRY_SERVICES:
        levels = spill_levels(graph, segment, reading)
        rims = (levels[segment.from_id], levels[segment.to_id])
        pockets = run.pockets(start_rim_m=rims[0], end_rim_m=rims[1])
    straight = pieces(run, liquid_area(segment, reading), rims_m=rims)

    def together(at_m: float, toward_to: bool) -> float | None:
        return joined_volume(graph, segment.id, at_m=at_m, toward_to=toward_to)

    section = Section(straight, (sides[0], tank_first), sides[1], bore(segment), reading, together)
    return section, sides, pockets


def _answer(graph: Graph, segment: Segment, reading: Reading) -> _Answer:
    section, sides, pockets = _section(graph, segment, reading)
    worst = worst_cut(section)
    if (
        _fed_from_nowhere(segment, sides, reading)
        or _looped(sides, reading)
        or _pressed(segment, sides, reading)
    ):
        return _unbounded(worst, section, sides, pockets)
    return _bounded(segment, worst, section, sides, pockets)


def _fed_from_nowhere(segment: Segment, sides: tuple[Side, Side], reading: Reading) -> bool:
    """A feed that leads to no tank: the survey lacks a part, which may let any amount run."""
    tank_side = sides[0]
    if segment.service != "feed" or tank_side.sources or tank_side.closed_by is not None:
        return False
    return reading.most(f"segments[{segment.id}].from")


def _looped(sides: tuple[Side, Side], reading: Reading) -> bool:
    """A loop gives the fuel more than one way; its tree is the least, no most is claimed."""
    return bool(sides[0].loops or sides[1].loops) and reading.doubt("loop")


def _pressed(segment: Segment, sides: tuple[Side, Side], reading: Reading) -> bool:
    """A sealed tank's vapor may push a line's liquid out past its dips."""
    if segment.service in DRY_SERVICES or not (sides[0].pressed or sides[1].pressed):
        return False
    return reading.doubt("pressure")


def _unbounded(
    worst: Worst, section: Section, sides: tuple[Side, Side], pockets: tuple[Pocket, ...]
) -> _Answer:
    cut = worst.cut
    return _Answer(
        UNBOUNDED_M3,
        UNBOUNDED_M3,
        cut.far_side_m3,
        worst.first_m,
        worst.last_m,
        UNBOUNDED_M3,
        "indeterminate",
        cut,
        section,
        sides,
        pockets,
    )


def _bounded(
    segment: Segment,
    worst: Worst,
    section: Section,
    sides: tuple[Side, Side],
    pockets: tuple[Pocket, ...],
) -> _Answer:
    cut = worst.cut
    state = cut.state
    empty = cut.volume_m3 < NEGLIGIBLE_M3
    if segment.service in DRY_SERVICES and state != "open":
        state = "dry" if empty else "trapped"
    return _Answer(
        0.0 if empty else cut.volume_m3,
        0.0 if empty else cut.tank_side_m3,
        0.0 if empty else cut.far_side_m3,
        worst.first_m,
        worst.last_m,
        0.0 if worst.upper_bound_m3 < NEGLIGIBLE_M3 else worst.upper_bound_m3,
        state,
        cut,
        section,
        sides,
        pockets,
    )


def _exceeds_limit(volume_m3: float) -> bool:
    return volume_m3 > LIMIT_M3 * (1.0 + ROUNDING_SHARE)


def _agree(a: _Answer, b: _Answer) -> bool:
    return (
        same(a.volume_m3, b.volume_m3)
        and same(a.upper_bound_m3, b.upper_bound_m3)
        and a.state == b.state
    )


def _deciding(facts: tuple[str, ...], decides: Callable[[str], bool]) -> tuple[str, ...]:
    """The unknown facts that change the answer, from either end; all, where none does alone."""
    if len(facts) > MOST_FACTS_TRIED:
        return facts
    return tuple(fact for fact in facts if decides(fact)) or facts


def _report(
    graph: Graph,
    segment: Segment,
    least: _Answer,
    most: _Answer,
    deciding: tuple[str, ...],
    curves: bool,
) -> Discharge:
    known = same(least.volume_m3, most.volume_m3)
    same_state = least.state == most.state
    ends_known = known and same(least.tank_side_m3, most.tank_side_m3)
    volume = least.volume_m3 if known else None
    curve, least_curve = curves_of(least.section, most.section) if curves else ((), ())
    doubts = tuple(fact for fact in deciding if fact.startswith(DOUBT_MARK))
    missing = tuple(fact for fact in deciding if fact not in doubts)
    verdict = least.verdict
    if verdict != most.verdict:
        # Where no fact is lacking but the method is in doubt, a person must judge.
        verdict = "cannot_tell" if missing else "review"
    held_share = _held_share(least)
    said = assumptions(graph, segment, least.sides, least.state, doubts)
    said += about_limits(graph, segment, least.sides, _banded(graph, segment, least, most))
    return Discharge(
        segment_id=segment.id,
        volume_m3=volume,
        worst_cut_m=_place(least) if known and _same_place(least, most) else None,
        tank_side_m3=least.tank_side_m3 if ends_known else None,
        far_side_m3=least.far_side_m3 if ends_known else None,
        state=least.state if same_state else "indeterminate",
        upper_bound_m3=most.upper_bound_m3 if most.upper_bound_m3 < KNOWN_BELOW_M3 else None,
        marginal=volume is not None and MARGINAL_M3[0] <= volume <= MARGINAL_M3[1],
        assumptions=said if held_share is None else (*said, reseats(held_share)),
        verdict=verdict,
        missing=missing,
        curve=curve,
        trapped=tuple((p.start_m, p.end_m, p.level_m) for p in least.pockets),
        least_m3=least.volume_m3,
        least_curve=least_curve,
        held_share=held_share,
    )


def _held_share(answer: _Answer) -> float | None:
    """The most that any cut uses of the opening head of valves that hold it narrowly."""
    shares: list[float] = []
    for half in (answer.section.tank, answer.section.far):
        for source in half.side.sources:
            if 0.0 < source.opening_m < inf and source.primed:
                share = narrow_share(source.surface_m - half.lowest_m, source.opening_m)
                shares += [] if share is None else [share]
    return max(shares, default=None)


def _banded(graph: Graph, segment: Segment, least: _Answer, most: _Answer) -> tuple[str, ...]:
    """Hoses and pick-ups in transition flow at the worst cut, by either reading."""
    answers = (least,) if least is most else (least, most)
    found = [
        part
        for answer in answers
        if answer.cut.flowing
        for part in in_transition_at(graph, segment.id, answer.section, answer.cut)
    ]
    return tuple(dict.fromkeys(found))


def _same_place(a: _Answer, b: _Answer) -> bool:
    return abs(a.first_m - b.first_m) < TIE_LENGTH_M and abs(a.last_m - b.last_m) < TIE_LENGTH_M


def _place(answer: _Answer) -> float | tuple[float, float] | None:
    """Where the worst cut lies; nowhere where nothing runs out."""
    if answer.volume_m3 == 0.0:
        return None
    if answer.last_m - answer.first_m < TIE_LENGTH_M:
        return answer.first_m
    return answer.first_m, answer.last_m
