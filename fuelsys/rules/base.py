"""What a rule is, what it answers, and how a rule module declares one.

A rule module holds a few declarations of this shape::

    @rule(
        id="cfr-33-183-530",
        title="Fitting shape under a clamp",
        words=Text("The builder uses ... at least {groove_depth_min} deep. ... are left out."),
        regime="33-cfr-183",
        applies_to="segment_end",
        citation="33 CFR 183.530",
        force="boat builder",
        evidence="V",
        services=("feed", "vent"),
        parameters=("33-cfr/183-530/groove_depth_min",),
    )
    def fitting_shape(part: EndPart, context: Context) -> Result:
        ...
        return failed(Text("..."), remedy=Text("..."))

The check sees one part and never walks the boat; the engine does that. It returns one verdict,
several, or None where the rule has nothing to say of the part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from fuelsys.document.model import Clamp, End, Segment
from fuelsys.text import Figure, Text

if TYPE_CHECKING:
    from fuelsys.rules.context import Context

PASS = "pass"  # noqa: S105  (an outcome, not a password)
FAIL = "fail"
REVIEW = "review"
CANNOT_TELL = "cannot_tell"
NOT_APPLICABLE = "not_applicable"
OUTCOMES = (PASS, FAIL, REVIEW, CANNOT_TELL, NOT_APPLICABLE)
WORST_FIRST = (FAIL, REVIEW, CANNOT_TELL, PASS, NOT_APPLICABLE)
RANKS = {outcome: rank for rank, outcome in enumerate(WORST_FIRST)}

SUBPART_J = "33-cfr-183"
SUBPART_K = "33-cfr-183-k"
UNINSPECTED = "46-cfr-25"
UNSAFE = "33-cfr-177"
EPA = "40-cfr-1060"
ETHANOL = "40-cfr-80"
PRACTICE = "practice"
CANADA = "ca"
EUROPE = "eu"
SUBPART_J_FROM = date(1977, 1, 31)  # first published, 42 FR 5950
SUBPART_K_FROM = date(1980, 8, 1)  # boats built after July 31, 1980, 33 CFR 175.201
REGIMES = (SUBPART_J, SUBPART_K, UNINSPECTED, UNSAFE, EPA, ETHANOL, PRACTICE)
MARKET_REGIMES = {"CA": CANADA, "EU": EUROPE}  # asked besides, where the boat is for that market
ALL_REGIMES = (*REGIMES, *MARKET_REGIMES.values())

NO_WORDS = Text("")
# What many declarations say of their source and of who is bound.
COMMON = "common practice, no source"
BUILDER = "boat builder"

FORCES = (
    "boat builder",
    "tank maker",
    "hose maker",
    "seller",
    "operator",
    "vessel or engine maker",
    "everyone",
    "voluntary",
    "shop",
)
EVIDENCE = ("V", "V+", "S", "I", "CP")

APPLIES_TO = (
    "segment",
    "segment_end",
    "clamp",
    "line",
    "component",
    "tank",
    "engine",
    "compartment",
    "boat",
)


@dataclass(frozen=True, slots=True)
class EndPart:
    """One recorded end of a segment: `side` is "from" or "to"."""

    segment: Segment
    side: str
    end: End


@dataclass(frozen=True, slots=True)
class ClampPart:
    """One recorded clamp at one end of a segment."""

    segment: Segment
    side: str
    end: End
    index: int
    clamp: Clamp


@dataclass(frozen=True, slots=True)
class Permit:
    """A hose class (or "metal") that may be fitted, with its condition and citation."""

    hose_class: str
    condition: str | None
    citation: str


class Verdict(NamedTuple):
    """What one check says of one part; the engine adds rule, regime and subject."""

    outcome: str
    message: Text
    remedy: Text | None = None
    measured: Figure | None = None
    limit: Figure | None = None
    missing: tuple[str, ...] = ()
    citation: str | None = None  # a narrower paragraph than the rule's own
    evidence: str | None = None
    end: str | None = None
    clamp: int | None = None


Result = Verdict | Iterable[Verdict] | None
Check = Callable[[Any, "Context"], Result]
Permits = Callable[[Segment, "Context"], tuple[Permit, ...]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One cited rule. The id comes from the citation, or starts with `practice-`."""

    id: str
    title: str
    regime: str
    applies_to: tuple[str, ...]
    citation: str
    force: str
    evidence: str
    check: Check
    # What it asks, of whom, and what it leaves out, in our own words; a number stands as the last
    # part of its parameter's name in braces.
    words: Text = NO_WORDS
    services: tuple[str, ...] = ()  # segments, ends, clamps: only these; empty means every one
    kinds: tuple[str, ...] = ()  # components: only these; empty means every one
    parameters: tuple[str, ...] = ()  # "<body>/<section>/<name>"
    in_force_from: date | None = None
    in_force_to: date | None = None  # first day on which it no longer holds
    # A gate speaks first: a verdict of not_applicable silences the regime for the part, review
    # and cannot_tell become the part's outcome and make the other findings provisional.
    gate: bool = False
    setting: str = "count"  # a practice rule's setting where the document's policy is silent
    practice_id: str | None = None  # the rule's name where it is read as practice
    # The last part of the parameter that a shop may tighten, and whether more or less asks more.
    own_number: str = ""
    tighter: str = "more"
    # Sections that name the carburetor are not read across to a diesel.
    names_carburetor: bool = False
    # Guards against gasoline vapor or static: read as practice, it is not asked of a diesel.
    gasoline_practice: bool = False
    undated: str = ""  # why a rule of law has no first day
    permits: Permits | None = None

    def holds_on(self, day: date) -> bool:
        started = self.in_force_from is None or self.in_force_from <= day
        return started and (self.in_force_to is None or day < self.in_force_to)


class Finding(NamedTuple):
    """One rule's answer about one subject, as the evaluation reports it.

    A tuple, because more than a thousand stand in one evaluation of a large boat.
    """

    rule: str
    regime: str
    subject: str
    advice: bool
    end: str | None
    clamp: int | None
    outcome: str
    provisional: bool
    citation: str
    force: str
    evidence: str
    message: Text
    remedy: Text | None = None
    measured: Figure | None = None
    limit: Figure | None = None
    missing: tuple[str, ...] = ()

    @property
    def counts(self) -> bool:
        """Whether the finding enters its subject's outcome."""
        return not self.advice


REGISTRY: dict[str, Rule] = {}


class DuplicateRuleError(ValueError):
    """Two rules were declared under one id."""


def rule(*, id: str, applies_to: str | tuple[str, ...], **fields: Any) -> Callable[[Check], Rule]:
    """Declare the decorated check as a rule and register it under its id."""
    parts = (applies_to,) if isinstance(applies_to, str) else applies_to

    def declare(check: Check) -> Rule:
        if id in REGISTRY:
            raise DuplicateRuleError(f"Rule {id!r} is declared twice; give the second its own id.")
        REGISTRY[id] = Rule(id=id, applies_to=parts, check=check, **fields)
        return REGISTRY[id]

    return declare


def passed(message: Text, **fields: Any) -> Verdict:
    return Verdict(PASS, message, **fields) if fields else _plain(PASS, message)


def failed(message: Text, **fields: Any) -> Verdict:
    return Verdict(FAIL, message, **fields)


def review(message: Text, **fields: Any) -> Verdict:
    return Verdict(REVIEW, message, **fields)


def cannot_tell(message: Text, *missing: str, **fields: Any) -> Verdict:
    """A fact is lacking; `missing` are its document paths and may not be empty."""
    if not missing:
        raise ValueError("A cannot_tell verdict names the fact that is lacking.")
    return Verdict(CANNOT_TELL, message, missing=missing, **fields)


def not_applicable(message: Text, **fields: Any) -> Verdict:
    return Verdict(NOT_APPLICABLE, message, **fields) if fields else _plain(NOT_APPLICABLE, message)


def _plain(outcome: str, message: Text) -> Verdict:
    """A sentence alone, as nearly every verdict is: at once, without matching names."""
    return tuple.__new__(Verdict, (outcome, message, None, None, None, (), None, None, None, None))


def worst(outcomes: Iterable[str]) -> str:
    """The worst of some outcomes; not_applicable when there are none."""
    return min(outcomes, key=RANKS.__getitem__, default=NOT_APPLICABLE)
