"""Runs every rule over every part it applies to and gathers the findings.

Nothing here knows a section of any law: scope rows say which regime reaches the boat, gates say
which parts a regime leaves out, rules judge, and the engine puts the answers in order.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from itertools import chain
from typing import Any

import fuelsys.rules
from fuelsys.document.model import Document
from fuelsys.graph import Graph
from fuelsys.rules import base
from fuelsys.rules.base import (
    CANNOT_TELL,
    NOT_APPLICABLE,
    PRACTICE,
    REVIEW,
    SUBPART_J,
    ClampPart,
    EndPart,
    Finding,
    Rule,
    Verdict,
)
from fuelsys.rules.context import Context, DischargeResults
from fuelsys.rules.fastening import EACH_CLAMP
from fuelsys.rules.own_numbers import counts_on
from fuelsys.rules.parts import PartOf, Parts, parts_of, subjects_in_order
from fuelsys.rules.replies import Asked, asked_of
from fuelsys.rules.scope import NO, YES, Scope

OWN_NUMBER = "the shop's own number"
GATE_ORDER = (NOT_APPLICABLE, REVIEW, CANNOT_TELL)
CLEAR = (base.PASS, NOT_APPLICABLE)
SIDES = {None: 0, "from": 1, "to": 2}
# Kinds whose parts come once for each subject, in the order of its ends and clamps.
ONE_BY_ONE = {(kind,) for kind in base.APPLIES_TO if kind != "line"} | {EACH_CLAMP}
WITHIN_SEGMENT = frozenset({"segment_end", "clamp", "line"})  # what is said of them, it bears


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every declared rule, by id; importing the modules of the package declares them."""
    for module in pkgutil.iter_modules(fuelsys.rules.__path__):
        importlib.import_module(f"{fuelsys.rules.__name__}.{module.name}")
    return tuple(base.REGISTRY[name] for name in sorted(base.REGISTRY))


def practice_id(rule: Rule) -> str:
    """The name under which a rule counts as practice."""
    if rule.regime == PRACTICE:
        return rule.id
    return rule.practice_id or f"practice-{rule.id.removeprefix('cfr-33-')}"


@cache
def practice_ids() -> tuple[str, ...]:
    """Every id that a document's `policy` may set."""
    settable = (r for r in all_rules() if r.regime in (PRACTICE, SUBPART_J) and not r.gate)
    return tuple(sorted(practice_id(rule) for rule in settable))


@dataclass(frozen=True, slots=True)
class Reading:
    """How one rule is read on one boat: as law, provisionally, or as practice."""

    rule: Rule
    id: str
    regime: str
    force: str
    setting: str = "count"
    provisional: bool = False
    as_practice: bool = False
    own: bool = False  # by a number of the shop's own


def reading_of(
    rule: Rule, applies: str, policy: Mapping[str, str], numbers: AbstractSet[str] = frozenset()
) -> Reading | None:
    """How to read `rule` where its regime's scope is `applies`; None leaves it out.

    Law that reaches the boat is read as law. 33 CFR 183 that does not reach it is read as
    practice, and like a rule of practice it follows the shop's `policy`. A rule of practice that is
    named in `numbers` is asked by the shop's own number, and of nobody but the shop.
    """
    if rule.regime != PRACTICE and applies != "no":
        provisional = applies in (REVIEW, CANNOT_TELL)
        return Reading(rule, rule.id, rule.regime, rule.force, provisional=provisional)
    if rule.regime not in (PRACTICE, SUBPART_J) or rule.gate:
        return None
    name = practice_id(rule)
    setting = policy.get(name, rule.setting)
    if setting == "off":
        return None
    if rule.regime != PRACTICE:
        return Reading(rule, name, PRACTICE, "voluntary", setting, as_practice=True)
    own = rule.id in numbers
    return Reading(rule, name, PRACTICE, "shop" if own else rule.force, setting, own=own)


Held = tuple[Rule, Verdict]  # the gate that holds a subject back, with what it says
_new = tuple.__new__  # a named tuple from all its fields, without matching names


@dataclass(slots=True)
class Run:
    """One evaluation of all rules; what was worked out is kept, so that each is done once."""

    graph: Graph
    on: date
    scopes: Mapping[str, Scope]
    discharges: DischargeResults
    rules: tuple[Rule, ...]
    only: str | None = None  # the one subject that is asked about; None: every one
    placing: tuple[Rule, ...] = field(init=False)  # those that say which hose is permitted
    subjects: dict[str, tuple[Any, str]] = field(init=False)
    watch: dict[tuple[str, str], list[Rule]] = field(default_factory=dict)  # gates, by kind
    watchers: dict[tuple[str, str], list[tuple[Rule, Asked]]] = field(default_factory=dict)
    kinds: dict[str, set[str]] = field(default_factory=dict)  # of subjects, by regime
    gates: dict[str, dict[str, Held]] = field(default_factory=dict)  # by regime, then subject
    outside: dict[str, AbstractSet[str]] = field(default_factory=dict)  # subjects, by regime
    deciding: tuple[str, ...] | None = None  # regimes whose reach or a gate decides an outcome

    def __post_init__(self) -> None:
        self.placing = tuple(rule for rule in self.rules if rule.permits is not None)
        self.subjects = subjects_in_order(self.graph.document)
        for rule in self.rules:
            self.kinds.setdefault(rule.regime, set()).update(rule.applies_to)
            for kind in rule.applies_to if rule.gate else ():
                self.watch.setdefault((rule.regime, kind), []).append(rule)

    @property
    def document(self) -> Document:
        return self.graph.document

    def context(self, rule: Rule, *, as_practice: bool = False) -> Context:
        return Context(self.graph, self.on, self.discharges, rule, as_practice)

    def gate(self, regime: str, subject: str) -> Held | None:
        """The gate of `regime` that holds back `subject`, with what it says."""
        return self._held(regime).get(subject)

    def _held(self, regime: str) -> dict[str, Held]:
        """Every subject that a gate of `regime` holds back."""
        if regime not in self.gates:
            kinds = {kind for gated, kind in self.watch if gated == regime}
            asked = [(s, held) for s, held in self.subjects.items() if held[1] in kinds]
            said = ((subject, self._gate_of(regime, *held)) for subject, held in asked)
            self.gates[regime] = {subject: held for subject, held in said if held is not None}
        return self.gates[regime]

    def _left_out(self, regime: str) -> AbstractSet[str]:
        """Every subject that a gate of `regime` leaves out."""
        if regime not in self.outside:
            held = self._held(regime).items()
            self.outside[regime] = {s for s, (_, said) in held if said.outcome == NOT_APPLICABLE}
        return self.outside[regime]

    def _gate_of(self, regime: str, part: Any, kind: str) -> Held | None:
        said = [
            (rule, verdict)
            for rule, asked in self._watchers(regime, kind)
            for verdict in asked(part)
        ]
        return min(said, key=lambda held: GATE_ORDER.index(held[1].outcome), default=None)

    def _watchers(self, regime: str, kind: str) -> list[tuple[Rule, Asked]]:
        """The gates of a regime for one kind of subject, ready to be asked."""
        key = (regime, kind)
        if key not in self.watchers:
            gates = self.watch.get(key, ())
            self.watchers[key] = [(rule, asked_of(self.context(rule))) for rule in gates]
        return self.watchers[key]

    def reached(self, rule: Rule) -> tuple[Reading, Context, AbstractSet[str]] | None:
        """How a rule is read here, its context, and the subjects its regime leaves out."""
        scope = self.scopes.get(rule.regime)  # None for the rules of another market
        if scope is None:
            return None
        policy, numbers = self.document.policy, self.document.numbers
        own = {rule.id} if numbers and counts_on(rule, numbers, self.on) else frozenset[str]()
        reading = reading_of(rule, scope.applies, policy, own)
        if reading is None:
            return None
        context = self.context(rule, as_practice=reading.as_practice)
        return reading, context, self._left_out(rule.regime)

    def findings(self) -> tuple[Finding, ...]:
        """Every finding: by subject, then rule, regime, end, clamp."""
        return tuple(chain.from_iterable(self.findings_by_subject().values()))

    def findings_by_subject(self) -> dict[str, list[Finding]]:
        """The findings of each subject in order; none for some."""
        told: dict[str, list[Finding]] = {subject: [] for subject in self.subjects}
        groups = [found for rule in self.rules if not rule.gate if (found := self._of_rule(rule))]
        groups += [[found] for found in self._of_gates()]
        # Nobody has two rules under one name in one regime: groups in order are findings in order.
        for group in sorted(groups, key=lambda group: (group[0].rule, group[0].regime)):
            for finding in group:
                told[finding.subject].append(finding)
        return told

    def _of_rule(self, rule: Rule) -> list[Finding]:
        """What a rule says of all its parts: by end and clamp for each subject, nothing twice."""
        found: list[Finding] = []
        reached = self.reached(rule)
        if reached is None:
            return found
        reading, context, left_out = reached
        in_doubt = frozenset(() if reading.as_practice else self._held(rule.regime))
        asked = asked_of(context)
        finding = _finder(reading)
        in_order = rule.applies_to in ONE_BY_ONE
        all_provisional = reading.provisional
        parts = parts_of(rule, self.graph)
        if self.only is not None:
            parts = _about(self.only, parts)
        for part, subjects in _without(left_out, parts) if left_out else parts:
            said = asked(part)
            if len(said) > 1:
                in_order = False
            for verdict in said:
                for subject in subjects:
                    provisional = all_provisional or subject in in_doubt
                    found.append(finding(subject, part, verdict, provisional))
        return found if in_order else _in_order(found)

    def _of_gates(self) -> Iterator[Finding]:
        for regime, scope in self.scopes.items():
            for subject, (rule, verdict) in self._held(regime).items():
                if self.only is not None and subject != self.only:
                    continue
                part, kind = self.subjects[subject]
                reading = reading_of(rule, scope.applies, {}) if kind == "segment" else None
                if reading:
                    yield _finder(reading)(subject, part, verdict, reading.provisional)

    def outcomes(self, subject: str, findings: Iterable[Finding]) -> dict[str, str]:
        """The outcome of one subject in each regime, from its findings."""
        worst: dict[str, str] = {}
        for finding in findings:
            if not finding.advice:
                regime, outcome = finding.regime, finding.outcome
                so_far = worst.get(regime, NOT_APPLICABLE)
                if outcome != so_far and base.RANKS[outcome] < base.RANKS[so_far]:
                    worst[regime] = outcome
        told = dict.fromkeys(self.scopes, NOT_APPLICABLE) | worst
        for regime in self._deciding():
            told[regime] = self._held_outcome(regime, subject) or told[regime]
        return told

    def outcome(self, regime: str, subject: str, findings: Iterable[Finding]) -> str:
        """The outcome of one subject in one regime, from its findings."""
        return self.outcomes(subject, findings)[regime]

    def _deciding(self) -> tuple[str, ...]:
        """The regimes whose reach or a gate decides an outcome, of this subject or another."""
        if self.deciding is None:
            scopes = self.scopes.items()
            self.deciding = tuple([r for r, s in scopes if s.applies != YES or self._held(r)])
        return self.deciding

    def _held_outcome(self, regime: str, subject: str) -> str | None:
        """The outcome where the regime's reach or a gate decides it, whatever the rules find."""
        applies = self.scopes[regime].applies
        if applies == NO:
            return NOT_APPLICABLE
        if applies in (REVIEW, CANNOT_TELL):
            return applies if self._speaks_of(regime, subject) else NOT_APPLICABLE
        held = self.gate(regime, subject)
        return None if held is None else held[1].outcome

    def _speaks_of(self, regime: str, subject: str) -> bool:
        """Whether the regime has any rule for subjects of this kind."""
        kinds = self.kinds.get(regime, set())
        kind = self.subjects[subject][1]
        return kind in kinds or (kind == "segment" and bool(kinds & WITHIN_SEGMENT))


def _without(left_out: AbstractSet[str], parts: Parts) -> Iterator[PartOf]:
    """The parts with those of their subjects that are not left out, where any remain."""
    for part, subjects in parts:
        kept = tuple([subject for subject in subjects if subject not in left_out])
        if kept:
            yield part, kept


def _about(subject: str, parts: Parts) -> Iterator[PartOf]:
    """The parts of which something may be said about one subject, and to that one alone."""
    return ((part, (subject,)) for part, subjects in parts if subject in subjects)


def _finder(reading: Reading) -> Callable[[str, Any, Verdict, bool], Finding]:
    """What makes a finding of a verdict; all that one reading's findings share is settled here.

    Asked for a subject, the part that was judged, the verdict, and whether it is provisional.
    """
    name, regime, force, own = reading.id, reading.regime, reading.force, reading.own
    citation, evidence = reading.rule.citation, reading.rule.evidence
    advice = reading.setting == "advice"

    def finding(subject: str, part: Any, verdict: Verdict, provisional: bool) -> Finding:
        outcome, message, remedy, measured, limit, missing, narrower, other, end, clamp = verdict
        kind = type(part)
        if kind is ClampPart:
            end, clamp = part.side, part.index
        elif kind is EndPart:
            end = part.side
        return _new(
            Finding,
            (
                name,
                regime,
                subject,
                advice and outcome not in CLEAR,
                end,
                clamp,
                outcome,
                provisional,
                OWN_NUMBER if own else narrower or citation,
                force,
                "CP" if own else other or evidence,
                message,
                remedy,
                measured,
                limit,
                missing,
            ),
        )

    return finding


def _in_order(findings: list[Finding]) -> list[Finding]:
    """Of one rule: by end and clamp, and nothing twice."""
    places = {(f.subject, f.end, f.clamp) for f in findings}
    kept = findings if len(places) == len(findings) else _unique(findings)
    return sorted(kept, key=lambda f: (SIDES[f.end], -1 if f.clamp is None else f.clamp))


def _unique(findings: Iterable[Finding]) -> list[Finding]:
    """A segment on two lines may be told the same thing twice; once is enough.

    A sentence is put together only where all else is alike.
    """
    kept: list[Finding] = []
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for f in findings:
        said = (f.rule, f.subject, f.end, f.clamp, f.outcome, f.citation, f.missing)
        others = alike.get(said)
        if others is None:
            alike[said] = [f]
            kept.append(f)
        elif str(f.message) not in {str(other.message) for other in others}:
            others.append(f)
            kept.append(f)
    return kept
