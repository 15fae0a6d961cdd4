"""A document with other parts put into it, evaluated; each such document once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from fuelsys.document.model import Component, Document, Segment
from fuelsys.evaluation import Evaluation, OfOne, evaluate, evaluate_segment
from fuelsys.rules.base import CANNOT_TELL, FAIL, NOT_APPLICABLE, PASS, REVIEW, Finding

# What keeps a choice from being lawful as it stands; a fact that is lacking frees nothing.
OPEN = frozenset({FAIL, REVIEW, CANNOT_TELL})
BLOCKING = frozenset({FAIL, REVIEW})
_RANK = {NOT_APPLICABLE: 0, PASS: 0, CANNOT_TELL: 1, REVIEW: 2, FAIL: 3}


@dataclass(slots=True)
class Judge:
    """One document on one day, and every change of it that was asked for.

    Parameters
    ----------
    document : Document
    on : date
        The day whose rules apply.

    Raises
    ------
    InputProblems
        As `fuelsys.evaluation.evaluate`.

    Valid for
    ---------
    Documents of format fuel-system/1. A hypothetical document has no hash of its own.

    Source
    ------
    `fuelsys.evaluation.evaluate`.

    Examples
    --------
    >>> from fuelsys.document.model import Hose
    >>> run = Segment("S", "return", "A", "B", hose=Hose(mark="B1"))
    >>> boat = Document(components=(Component("A", "tee"), Component("B", "tee")), segments=(run,))
    >>> judge = Judge(boat, date(2026, 11, 25))
    >>> judge.evaluation() is judge.evaluation([run])
    True
    >>> judge.evaluated
    1
    """

    document: Document
    on: date
    _by_parts: dict[frozenset[Segment | Component], Evaluation] = field(default_factory=dict)
    _of_one: dict[tuple[str, frozenset[Segment | Component]], OfOne] = field(default_factory=dict)

    @property
    def evaluated(self) -> int:
        """How many documents were evaluated so far, in whole or for one segment."""
        return len(self._by_parts.keys() | {parts for _ident, parts in self._of_one})

    def segment(self, ident: str) -> Segment:
        """The segment of that id as it stands in the document; KeyError without one."""
        found = next((each for each in self.document.segments if each.id == ident), None)
        if found is None:
            raise KeyError(ident)
        return found

    def evaluation(
        self, segments: Iterable[Segment] = (), components: Iterable[Component] = ()
    ) -> Evaluation:
        """The document with these parts in the place of those of the same id, or besides."""
        parts = self._parts(segments, components)
        if parts not in self._by_parts:
            self._by_parts[parts] = evaluate(self.document_with(parts), on=self.on)
        return self._by_parts[parts]

    def of_segment(
        self, ident: str, segments: Iterable[Segment] = (), components: Iterable[Component] = ()
    ) -> OfOne:
        """The same of one segment alone, where nothing else is asked: a fraction of the work."""
        parts = self._parts(segments, components)
        held = (ident, parts)
        if held not in self._of_one:
            document = self.document_with(parts)
            self._of_one[held] = evaluate_segment(document, ident, on=self.on)
        return self._of_one[held]

    def _parts(
        self, segments: Iterable[Segment], components: Iterable[Component]
    ) -> frozenset[Segment | Component]:
        """What is put in that does not stand in the document already."""
        given: tuple[Segment | Component, ...] = (*segments, *components)
        return frozenset(given) - {*self.document.segments, *self.document.components}

    def document_with(self, parts: Iterable[Segment | Component]) -> Document:
        """The document with these parts put in."""
        if not parts:
            return self.document
        runs = {each.id: each for each in parts if isinstance(each, Segment)}
        others = {each.id: each for each in parts if isinstance(each, Component)}
        document = self.document
        segments = [runs.pop(each.id, each) for each in document.segments]
        components = [others.pop(each.id, each) for each in document.components]
        return replace(
            document,
            segments=(*segments, *(runs[name] for name in sorted(runs))),
            components=(*components, *(others[name] for name in sorted(others))),
            canonical={},
            sha256="",
        )


def open_regimes(evaluation: Evaluation | OfOne, ident: str) -> dict[str, str]:
    """The regimes in which a segment does not pass although they reach it, with the outcome."""
    outcomes = evaluation.segment(ident).outcomes
    return {regime: outcome for regime, outcome in outcomes.items() if outcome in OPEN}


def is_lawful(evaluation: Evaluation | OfOne, ident: str) -> bool:
    """Whether every regime that reaches a segment says pass of it."""
    return not open_regimes(evaluation, ident)


def deciding(evaluation: Evaluation | OfOne, ident: str) -> tuple[Finding, ...]:
    """The findings that keep a segment from passing: those that count, the worst first."""
    told = evaluation.findings_of(ident)
    found = [each for each in told if each.counts and each.outcome in OPEN]
    return tuple(sorted(found, key=lambda each: -_RANK[each.outcome]))


def advised(evaluation: Evaluation | OfOne, ident: str) -> tuple[Finding, ...]:
    """What is said against a segment as advice: shown, and counted for nothing."""
    told = evaluation.findings_of(ident)
    return tuple(each for each in told if each.advice and each.outcome in OPEN)


def missing_facts(findings: Iterable[Finding]) -> tuple[str, ...]:
    """The paths of the facts that these findings lack, each once."""
    paths = (path for each in findings if each.outcome == CANNOT_TELL for path in each.missing)
    return tuple(dict.fromkeys(paths))


def worsened(before: Evaluation, after: Evaluation, *, but: Iterable[str] = ()) -> tuple[str, ...]:
    """Subjects that stand worse after than before in some regime, but those named."""
    left_out = set(but)
    was = _outcomes(before)
    return tuple(
        ident
        for ident, outcomes in _outcomes(after).items()
        if ident not in left_out and ident in was and _is_worse(was[ident], outcomes)
    )


def _outcomes(evaluation: Evaluation) -> dict[str, Mapping[str, str]]:
    of_segments = {each.id: each.outcomes for each in evaluation.segments}
    return of_segments | {each.id: each.outcomes for each in evaluation.others}


def _is_worse(was: Mapping[str, str], now: Mapping[str, str]) -> bool:
    return any(_RANK[outcome] > _RANK[was.get(regime, PASS)] for regime, outcome in now.items())
