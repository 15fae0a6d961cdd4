"""Which classes of hose may be fitted at a segment: each put there and judged.

A class says nothing of EPA's label, of a wire in a fill hose, of an engine maker's part or of how
tightly the hose may be bent. So a class is put there twice, without any of them and with all: what
only the second passes is permitted on the condition that it has what the first lacked. Clamps are
judged apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from fuelsys.choice.judge import OPEN, Judge, missing_facts
from fuelsys.choice.parts import new_hose
from fuelsys.document.model import Segment
from fuelsys.evaluation import OfOne
from fuelsys.rules.base import CANNOT_TELL, FAIL, NOT_APPLICABLE, PASS, REVIEW, Finding, worst
from fuelsys.text import Text

NO_CLASS = "NONE"
LOW = "-15"
CLASSES = ("A1", "A1-15", "A2", "A2-15", "B1", "B1-15", "B2", "B2-15", NO_CLASS)

PERMITTED = "permitted"
CONDITIONS = "conditions"
LEAD = "lead"  # the text is silent, or needs a person's judgement
REFUSED = "not_permitted"
UNKNOWN = "cannot_tell"
SILENT = "silent"  # no regime that reaches the boat says anything of this segment
_ANSWERS = {PASS: PERMITTED, FAIL: REFUSED, REVIEW: LEAD, CANNOT_TELL: UNKNOWN}
_WORST_FIRST = (REFUSED, UNKNOWN, LEAD, CONDITIONS, PERMITTED)


@dataclass(frozen=True, slots=True)
class Here:
    """What one regime says of a class at a segment; `findings` decide it."""

    regime: str
    answer: str
    findings: tuple[Finding, ...]
    conditions: tuple[Text, ...] = ()
    reason: Text | None = None  # of the scope, where that is not settled
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ClassAnswer:
    """One class at a segment: every regime that reaches it, and the worst of them."""

    hose_class: str
    regimes: tuple[Here, ...]
    advice: tuple[Finding, ...]

    @property
    def answer(self) -> str:
        given = {each.answer for each in self.regimes}
        return next((each for each in _WORST_FIRST if each in given), SILENT)


def permitted_classes(judge: Judge, segment_id: str) -> tuple[ClassAnswer, ...]:
    """Whether hose of each class may be fitted at a segment as it is led.

    Parameters
    ----------
    judge : Judge
    segment_id : str

    Returns
    -------
    tuple of ClassAnswer
        One for each of `CLASSES`, in that order.

    Raises
    ------
    KeyError
        The document has no such segment.

    Valid for
    ---------
    New hose of the segment's own bore, its mark complete. A fact that the document lacks is
    never taken for granted: the answer is then `cannot_tell` and names it.

    Source
    ------
    `fuelsys.evaluation.evaluate`.

    Examples
    --------
    >>> from datetime import date
    >>> from fuelsys.document.model import Boat, Component, Document, Engine, PartialDate
    >>> boat = Document(boat=Boat(kind="motorboat", built=PartialDate(2008)),
    ...     engines=(Engine("E", mount="inboard", fuel="gasoline", use="propulsion"),),
    ...     components=(Component("A", "tee"), Component("B", "tee")),
    ...     segments=(Segment("S", "return", "A", "B", engine="E"),))
    >>> told = permitted_classes(Judge(boat, date(2026, 11, 25)), "S")
    >>> [(each.hose_class, each.regimes[0].answer) for each in told[::4]]
    [('A1', 'permitted'), ('B1', 'lead'), ('NONE', 'lead')]
    """
    segment = judge.segment(segment_id)
    return tuple(_class(judge, segment, mark) for mark in CLASSES)


def _class(judge: Judge, segment: Segment, name: str) -> ClassAnswer:
    full = judge.of_segment(segment.id, [_fitted(judge, segment, name, full=True)])
    told = full.result.outcomes.items()
    reached = [regime for regime, outcome in told if outcome != NOT_APPLICABLE]
    mark = name.removesuffix(LOW)
    first = [_here(regime, mark, full) for regime in reached]
    regimes = tuple(each for each in first if each is not None)
    if any(each.answer in (PERMITTED, CONDITIONS) for each in regimes):
        plain = judge.of_segment(segment.id, [_fitted(judge, segment, name, full=False)])
        regimes = tuple(_besides(each, plain) for each in regimes)
    advice = tuple(f for f in full.findings if f.advice and f.outcome in OPEN and f.end is None)
    return ClassAnswer(name, regimes, advice)


def _fitted(judge: Judge, segment: Segment, name: str, *, full: bool) -> Segment:
    return new_hose(
        segment,
        name.removesuffix(LOW),
        low_permeation=name.endswith(LOW),
        label=full,
        helix=full,
        year=judge.on.year,
        assembly=full and segment.service == "pump_to_carburetor",
        bends=full,
    )


def _here(regime: str, mark: str, full: OfOne) -> Here | None:
    told = _counting(full, regime)
    scope = full.scope_of(regime)
    unsettled = [f for f in told if f.provisional]
    if unsettled or scope.applies in (REVIEW, CANNOT_TELL):
        outcome = full.result.outcomes[regime]
        gates = tuple(f for f in told if not f.provisional and f.outcome == outcome)
        missing = (*scope.missing, *missing_facts(gates))
        return Here(regime, _ANSWERS[outcome], gates, reason=scope.reason, missing=missing)
    outcome = worst(f.outcome for f in told)
    if outcome == NOT_APPLICABLE:
        return None
    decides = tuple(f for f in told if f.outcome == outcome)
    if outcome != PASS:
        return Here(regime, _ANSWERS[outcome], decides, missing=missing_facts(decides))
    conditions = _measured(full, regime, mark, told)
    return Here(regime, CONDITIONS if conditions else PERMITTED, decides, tuple(conditions))


def _besides(here: Here, plain: OfOne) -> Here:
    """With what hose of the class must have besides, in the words of the rules that ask for it."""
    if here.answer not in (PERMITTED, CONDITIONS):
        return here
    lacking = [f for f in _counting(plain, here.regime) if f.outcome in OPEN]
    asked = {str(said): said for f in lacking if (said := f.remedy or f.message)}
    conditions = (*here.conditions, *asked.values())
    return replace(here, answer=CONDITIONS if conditions else PERMITTED, conditions=conditions)


def _counting(told: OfOne, regime: str) -> list[Finding]:
    """The findings of a regime about the run itself; its ends are a matter of the clamps."""
    return [f for f in told.findings if f.regime == regime and f.counts and f.end is None]


def _measured(full: OfOne, regime: str, mark: str, told: Iterable[Finding]) -> list[Text]:
    """What was measured where a class is permitted only as long as little runs out."""
    bound = {
        each.permit.citation
        for each in full.result.permitted
        if (each.regime, each.permit.hose_class, each.permit.condition)
        == (regime, mark, "discharge")
    }
    return [f.message for f in told if f.outcome == PASS and f.citation in bound]
