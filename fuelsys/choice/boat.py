"""The whole boat: lawful candidates of each segment, and the two best choices of all at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from fuelsys.choice.changes import Remedies, remedies
from fuelsys.choice.judge import Judge, advised, deciding, is_lawful, worsened
from fuelsys.choice.parts import as_laid
from fuelsys.choice.whole import COST, REELS, Chosen, Option, Picks, choose
from fuelsys.document.model import Hose, Segment
from fuelsys.rules.base import Finding

# The safer class first: fire resistance, then permeation, 33 CFR 183.540.
SAFER = ("A1", "A2", "B1", "B2", "NONE")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A segment with a product fitted; `cents` is None where it has no price."""

    segment: Segment
    product: str
    cents: int | None


@dataclass(frozen=True, slots=True)
class Tried:
    """A candidate as it was judged; `findings` are what keeps it from being lawful.

    `advice` counts for nothing and is told all the same.
    """

    candidate: Candidate
    is_lawful: bool
    findings: tuple[Finding, ...]
    advice: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class OfSegment:
    """Every candidate of one segment; `remedies` where none of them is lawful."""

    segment: str
    tried: tuple[Tried, ...]
    remedies: Remedies | None = None

    @property
    def lawful(self) -> tuple[Candidate, ...]:
        return tuple(each.candidate for each in self.tried if each.is_lawful)

    @property
    def is_chosen(self) -> bool:
        """Whether the choice for the boat takes one of them: lawful, and with a price."""
        return any(each.cents is not None for each in self.lawful)


@dataclass(frozen=True, slots=True)
class Boat:
    """What was tried on each segment, and both choices of the segments that have a product."""

    segments: tuple[OfSegment, ...]
    least_cost: Chosen
    fewest: Chosen
    evaluated: int


def boat_choice(
    judge: Judge, candidates: Iterable[Candidate], *, fixed: Mapping[str, int] | None = None
) -> Boat:
    """Choose a product for each segment that is renewed.

    A candidate counts as lawful where it passes with the rest as it stands, or with the safest
    candidate on every other segment, led in no bend tighter than its maker allows. Rules look
    across segments, so each choice is evaluated as one document, and one that does not hold or
    makes another part worse is not taken.

    Parameters
    ----------
    judge : Judge
    candidates : iterable of Candidate
        Each segment with each of its products fitted.
    fixed : mapping of str to int
        What a product costs once [cents].

    Returns
    -------
    Boat
        Segments in the order of the document. A segment without a lawful product that has a
        price is in neither choice.

    Raises
    ------
    KeyError
        A candidate is of a segment that the document has not.

    Valid for
    ---------
    As `fuelsys.choice.whole.choose`. That a candidate unlawful in both surroundings is lawful
    in no other rests on a safer class never being worse, which the rules are tested for.

    Source
    ------
    `fuelsys.evaluation.evaluate`; `fuelsys.choice.whole`.

    Examples
    --------
    >>> from datetime import date
    >>> from fuelsys.choice.parts import new_hose
    >>> from fuelsys.document.model import Component, Document, Engine
    >>> run = Segment("S", "return", "A", "B", engine="E")
    >>> boat = Document(
    ...     engines=(Engine("E", mount="inboard", fuel="gasoline", use="propulsion"),),
    ...     components=(Component("A", "tee"), Component("B", "tee")), segments=(run,))
    >>> fitted = new_hose(run, "B1", label=True, helix=False, year=2026)
    >>> told = boat_choice(Judge(boat, date(2026, 11, 25)), [Candidate(fitted, "H-B1", 100)])
    >>> told.least_cost.picks, told.segments[0].lawful  # a lead decides on type B1 here
    ((), ())
    """
    by_segment: dict[str, list[Candidate]] = {}
    for each in sorted(candidates, key=lambda each: each.product):
        laid = replace(each, segment=as_laid(each.segment))
        by_segment.setdefault(judge.segment(each.segment.id).id, []).append(laid)
    safest = {ident: min(held, key=_danger).segment for ident, held in by_segment.items()}
    ordered = [each.id for each in judge.document.segments if each.id in by_segment]
    segments = tuple(_of_segment(judge, by_segment[ident], safest) for ident in ordered)
    options = [
        Option(each.segment, candidate.product, candidate.cents)
        for each in segments
        for candidate in each.lawful
        if candidate.cents is not None
    ]
    fitted = {
        (each.segment.id, each.product): each.segment for c in by_segment.values() for each in c
    }

    def holds(picks: Picks) -> Sequence[str]:
        return failing(judge, [fitted[pick] for pick in picks.items()])

    chosen = {
        objective: choose(options, objective=objective, fixed=fixed, holds=holds)
        for objective in (COST, REELS)
    }
    return Boat(segments, chosen[COST], chosen[REELS], judge.evaluated)


def _of_segment(
    judge: Judge, held: Sequence[Candidate], safest: Mapping[str, Segment]
) -> OfSegment:
    ident = held[0].segment.id
    others = [segment for name, segment in safest.items() if name != ident]
    tried = tuple(_tried(judge, each, others) for each in held)
    if any(each.is_lawful for each in tried):
        return OfSegment(ident, tried)
    return OfSegment(ident, tried, remedies(judge, safest[ident], others))


def _tried(judge: Judge, candidate: Candidate, others: Sequence[Segment]) -> Tried:
    ident = candidate.segment.id
    best = judge.of_segment(ident, (candidate.segment, *others))
    if is_lawful(best, ident) or is_lawful(judge.of_segment(ident, (candidate.segment,)), ident):
        return Tried(candidate, True, (), advised(best, ident))
    return Tried(candidate, False, deciding(best, ident), advised(best, ident))


def failing(judge: Judge, segments: Iterable[Segment]) -> tuple[str, ...]:
    """The segments of a choice that do not pass together, and other parts it makes worse."""
    segments = [as_laid(each) for each in segments]
    after = judge.evaluation(segments)
    own = [each.id for each in segments]
    fallen = [ident for ident in own if not is_lawful(after, ident)]
    return (*fallen, *worsened(judge.evaluation(), after, but=own))


def _danger(candidate: Candidate) -> tuple[int, bool, bool, str]:
    """Small for what the rules ask the least of."""
    hose = candidate.segment.hose or Hose()
    rank = SAFER.index(hose.mark) if hose.mark in SAFER else len(SAFER)
    return (rank, hose.epa_label is not True, hose.low_permeation is not True, candidate.product)
