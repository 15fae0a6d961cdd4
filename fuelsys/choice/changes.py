"""What would have to change for a rejected choice to be lawful, each change tried.

No table says which change helps: each is put into the document and judged, alone and then two
together. What is told is the smallest set that leaves nothing against the choice and makes no
other part worse.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from fuelsys.choice.judge import (
    BLOCKING,
    Judge,
    deciding,
    is_lawful,
    missing_facts,
    worsened,
)
from fuelsys.choice.possible import Change, applied, possible_changes
from fuelsys.document.model import Component, Segment
from fuelsys.evaluation import OfOne
from fuelsys.rules.base import Finding
from fuelsys.text import Text

MOST_WAYS = 4
NONE_FOUND = Text(
    "No change tried here makes it lawful: another class, an anti-siphon valve, a shutoff, another"
    " route or new clamps, alone or two of them together."
)
ALONE = "{change}"
TOGETHER = "{change} {other}"

__all__ = ["NONE_FOUND", "Change", "Remedies", "Way", "remedies"]


@dataclass(frozen=True, slots=True)
class Way:
    """Changes that together leave nothing against the choice; `missing` stays to be measured."""

    changes: tuple[Change, ...]
    missing: tuple[str, ...] = ()

    @property
    def text(self) -> Text:
        names = ("change", "other")
        said = dict(zip(names, (each.text for each in self.changes), strict=False))
        return Text(TOGETHER if len(said) > 1 else ALONE, said)


@dataclass(frozen=True, slots=True)
class Remedies:
    """Why a choice is rejected, and the smallest sets of changes that would make it lawful.

    `missing` are facts without which it cannot be told; with no finding against it besides,
    nothing need change before they are measured.
    """

    findings: tuple[Finding, ...]
    ways: tuple[Way, ...]
    missing: tuple[str, ...]

    @property
    def is_rejected(self) -> bool:
        return any(each.outcome in BLOCKING for each in self.findings)

    @property
    def text(self) -> Text | None:
        """The way that was found first, or that none was; None where only facts are lacking."""
        if not self.is_rejected:
            return None
        return self.ways[0].text if self.ways else NONE_FOUND


def remedies(judge: Judge, choice: Segment, besides: Sequence[Segment] = ()) -> Remedies:
    """The smallest sets of changes that make a choice at a segment lawful.

    Parameters
    ----------
    judge : Judge
    choice : Segment
        The segment as it would be with what was chosen.
    besides : sequence of Segment
        What is chosen for other segments at the same time.

    Returns
    -------
    Remedies
        With at most `MOST_WAYS` ways of the same number of changes, in the order tried.

    Raises
    ------
    KeyError
        The document has no such segment.

    Valid for
    ---------
    The changes of `possible_changes`, one or two at a time. That none was found does not say
    that there is none.

    Source
    ------
    `fuelsys.evaluation.evaluate`.

    Examples
    --------
    >>> from datetime import date
    >>> from fuelsys.document.model import Document, Engine, Hose
    >>> run = Segment("S", "return", "A", "B", engine="E")
    >>> boat = Document(
    ...     engines=(Engine("E", mount="inboard", fuel="gasoline", use="propulsion"),),
    ...     components=(Component("A", "tee"), Component("B", "tee")), segments=(run,))
    >>> judge = Judge(boat, date(2026, 11, 25))
    >>> from fuelsys.choice.parts import new_hose
    >>> told = remedies(judge, new_hose(run, "B1", label=True, helix=False, year=2026))
    >>> [str(way.text) for way in told.ways], "boat.built" in told.missing
    (['Fit type A1.'], True)
    """
    judge.segment(choice.id)
    chosen = (choice, *besides)
    before = judge.of_segment(choice.id, chosen)
    found = deciding(before, choice.id)
    missing = missing_facts(found)
    if not any(each.outcome in BLOCKING for each in found):
        return Remedies(found, (), missing)
    trial = _Trial(judge, chosen, before, frozenset(missing))
    changes = tuple(possible_changes(judge, choice, found))
    ways = [way for each in changes if (way := trial.way((each,)))]
    if not ways:
        # Two together are tried where one of them alone changes what is said.
        telling = [each for each in changes if trial.tells((each,))]
        pairs = (pair for pair in combinations(changes, 2) if any(each in telling for each in pair))
        ways = [way for pair in pairs if (way := trial.way(pair))]
    ways = _needed(ways)
    ways.sort(key=lambda way: bool(way.missing))  # first what leaves nothing to measure
    return Remedies(found, tuple(ways[:MOST_WAYS]), missing)


def _needed(ways: Sequence[Way]) -> list[Way]:
    """Without a second shutoff where the first alone serves as well."""
    kinds = {tuple(each.kind for each in way.changes) for way in ways}
    return [
        way
        for way in ways
        if not (
            any(each.kind == "shutoffs" for each in way.changes)
            and tuple(each.kind.replace("shutoffs", "shutoff") for each in way.changes) in kinds
        )
    ]


@dataclass(slots=True)
class _Trial:
    """A choice, and what becomes of it with changes."""

    judge: Judge
    chosen: tuple[Segment, ...]
    before: OfOne
    missing: frozenset[str]

    def way(self, changes: tuple[Change, ...]) -> Way | None:
        """The changes as a way, where they leave nothing against the choice."""
        parts = _changed(self.judge, self.chosen, changes)
        if parts is None:
            return None
        after = self.judge.of_segment(self._ident, *parts)
        left = deciding(after, self._ident)
        still = missing_facts(left)
        if any(each.outcome in BLOCKING for each in left) or set(still) - self.missing:
            return None
        if not left and not is_lawful(after, self._ident):
            return None
        # Only now is all the rest asked about: most changes do not come so far.
        whole = self.judge.evaluation(self.chosen), self.judge.evaluation(*parts)
        return None if worsened(*whole, but=(self._ident,)) else Way(changes, still)

    def tells(self, changes: tuple[Change, ...]) -> bool:
        """Whether anything that is said against the choice is said otherwise."""
        parts = _changed(self.judge, self.chosen, changes)
        if parts is None:
            return False
        after = self.judge.of_segment(self._ident, *parts)
        return self._said(after) != self._said(self.before)

    @property
    def _ident(self) -> str:
        return self.chosen[0].id

    def _said(self, evaluation: OfOne) -> set[tuple[str, str, str]]:
        found = deciding(evaluation, self._ident)
        return {(each.rule, each.outcome, each.message.msgid) for each in found}


def _changed(
    judge: Judge, chosen: Sequence[Segment], changes: tuple[Change, ...]
) -> tuple[tuple[Segment, ...], tuple[Component, ...]] | None:
    """The parts with every change made; None where two contradict or one lacks the other."""
    things = {each.of for each in changes}
    if len(things) < len(changes) or any({each.only_with} - things - {""} for each in changes):
        return None
    segments = {each.id: each for each in (*judge.document.segments, *chosen)}
    components = {each.id: each for each in judge.document.components}
    for change in changes:
        applied(change, segments, components)
    return tuple(segments.values()), tuple(components.values())
