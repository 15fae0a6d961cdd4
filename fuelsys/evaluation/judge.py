"""Judges one document: scope first, then the rules, then outcomes and figures."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date
from itertools import chain

from fuelsys.document.model import Document, Segment
from fuelsys.document.problems import InputProblems, Problem, shown
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.figures_all import bends, clamp_sizes, clearances, expansions
from fuelsys.evaluation.figures_leak import leak_readings
from fuelsys.evaluation.figures_permeation import permeations
from fuelsys.evaluation.figures_suction import suctions
from fuelsys.evaluation.figures_vapor import vapors
from fuelsys.evaluation.figures_vent import vent_outcome, vents
from fuelsys.evaluation.model import (
    CurvePoint,
    Evaluation,
    Figures,
    OtherResult,
    Permitted,
    Ruleset,
    SegmentResult,
)
from fuelsys.graph import Graph, GraphError, build
from fuelsys.rules.base import Finding, Permits
from fuelsys.rules.context import Context, DischargeResults, VentReading
from fuelsys.rules.engine import Run, all_rules, practice_ids
from fuelsys.rules.own_numbers import number_faults
from fuelsys.rules.parameters import ParameterNotInForceError
from fuelsys.rules.parts import subjects_in_order
from fuelsys.rules.scope import Scope, scopes
from fuelsys.rules.system_test import SystemTest, system_test_once
from fuelsys.rules.version import RULESET_VERSION

SEVERED = ("feed", "fill", "vent")  # the services 33 CFR 183.558(b) cuts

Told = Mapping[str, Sequence[Finding]]  # the findings by subject


def evaluate(document: Document, *, on: date, curves: bool = False) -> Evaluation:
    """Judge a fuel system by the rules that hold on a day.

    Parameters
    ----------
    document : Document
        A fuel system as read.
    on : date
        The day whose rules apply.
    curves : bool
        Whether to give the discharge of every candidate cut.

    Returns
    -------
    Evaluation
        Five outcomes only; a lacking fact is `cannot_tell` and named, never assumed.

    Raises
    ------
    InputProblems
        The document's `policy` names a rule that is not practice, its parts do not join, or a
        number of the shop's own is one it may not set.

    Valid for
    ---------
    Documents of format fuel-system/1. Rules not in force on the day are not applicable.

    Source
    ------
    The regulations cited by each finding.

    Examples
    --------
    >>> from fuelsys.document import read
    >>> boat = read('{"format": "fuel-system/1", "engines": [{"id": "E", "fuel": "diesel"}]}')
    >>> evaluate(boat, on=date(2026, 11, 25)).scope_of("33-cfr-183").applies
    'no'
    """
    run = _run(document, on, curves=curves)
    told = run.findings_by_subject()
    placing = _placing(run)
    return Evaluation(
        ruleset=Ruleset(RULESET_VERSION, on, document.sha256),
        scope=tuple(run.scopes.values()),
        segments=tuple(_segment(run, segment, told, placing) for segment in document.segments),
        others=_others(run, told),
        findings=tuple(chain.from_iterable(told.values())),
        figures=_figures(run, curves=curves),
    )


@dataclass(frozen=True, slots=True)
class OfOne:
    """What an evaluation says of one segment: as `evaluate` gives it, without all the rest."""

    scope: tuple[Scope, ...]
    result: SegmentResult
    findings: tuple[Finding, ...]

    def segment(self, segment_id: str) -> SegmentResult:
        """The result of this segment; KeyError for another."""
        if segment_id != self.result.id:
            raise KeyError(segment_id)
        return self.result

    def findings_of(self, subject: str) -> tuple[Finding, ...]:
        """The findings about this segment; KeyError for another subject."""
        if subject != self.result.id:
            raise KeyError(subject)
        return self.findings

    def scope_of(self, regime: str) -> Scope:
        return next(row for row in self.scope if row.regime == regime)


def evaluate_segment(document: Document, segment_id: str, *, on: date) -> OfOne:
    """Judge one segment of a fuel system, with all that the rules read of the others.

    Parameters
    ----------
    document : Document
        A fuel system as read.
    segment_id : str
    on : date
        The day whose rules apply.

    Returns
    -------
    OfOne

    Raises
    ------
    KeyError
        The document has no such segment.
    InputProblems
        As `evaluate`.

    Valid for
    ---------
    As `evaluate`.

    Source
    ------
    `evaluate`: the same rules in the same order.

    Examples
    --------
    >>> from fuelsys.document.model import Boat, Component
    >>> boat = Document(boat=Boat(kind="motorboat"),
    ...     components=(Component("A", "tee"), Component("B", "tee")),
    ...     segments=(Segment("S", "return", "A", "B"),))
    >>> day = date(2026, 11, 25)
    >>> evaluate_segment(boat, "S", on=day).findings == evaluate(boat, on=day).findings_of("S")
    True
    """
    segment = next((each for each in document.segments if each.id == segment_id), None)
    if segment is None:
        raise KeyError(segment_id)
    run = _run(document, on, only=segment_id)
    told = run.findings_by_subject()
    result = _segment(run, segment, told, _placing(run))
    return OfOne(tuple(run.scopes.values()), result, tuple(told[segment_id]))


def _run(document: Document, on: date, *, curves: bool = False, only: str | None = None) -> Run:
    """The rules over a document that was looked at for bad input."""
    _check_policy(document)
    _check_numbers(document, on)
    graph = _graph(document)
    discharges = DischargeResults(graph, curves=curves, vents=lambda: _vent_readings(graph, on))
    reach = {row.regime: row for row in scopes(document)}
    return Run(graph, on, reach, discharges, all_rules(), only)


def _vents(graph: Graph, on: date) -> Mapping[str, Computed]:
    return graph.once(("vents", on), lambda: vents(graph, on))


def _vent_readings(graph: Graph, on: date) -> dict[str, VentReading]:
    """The vent figures as a rule reads them."""
    return {
        tank: VentReading(
            vent_outcome(figure),
            None if figure.value is None else in_unit(figure.value, figure.unit, computed=True),
            figure.limit,
            figure.missing,
        )
        for tank, figure in _vents(graph, on).items()
    }


def _graph(document: Document) -> Graph:
    try:
        return build(document)
    except GraphError as error:
        problem = Problem("segments", str(error), "parts that join as surveyed")
        raise InputProblems([problem]) from error


def _check_policy(document: Document) -> None:
    """Only practice can be set; a law or an unknown id is bad input."""
    known = practice_ids()
    problems = []
    for rule_id in document.policy:
        if rule_id in known:
            continue
        nearest = difflib.get_close_matches(rule_id, known, n=1, cutoff=0.0)
        expected = f"the id of a practice rule, such as {nearest[0]!r}" if nearest else "nothing"
        if rule_id in {rule.id for rule in all_rules()}:
            expected = f"{expected}; law cannot be set"
        problems.append(Problem(f"policy.{rule_id}", shown(rule_id), expected))
    if problems:
        raise InputProblems(problems)


def _check_numbers(document: Document, on: date) -> None:
    """The shop's own numbers, where whoever evaluates has set any: practice alone, and tighter."""
    if not document.numbers:
        return
    faults = number_faults({rule.id: rule for rule in all_rules()}, document.numbers, on)
    if faults:
        raise InputProblems(
            Problem(f"numbers.{rule_id}", shown(str(document.numbers[rule_id])), str(fault))
            for rule_id, fault in faults.items()
        )


def _segment(run: Run, segment: Segment, told: Told, placing: Sequence[Placing]) -> SegmentResult:
    result = run.discharges.of(segment.id) if segment.service in SEVERED else None
    return SegmentResult(
        id=segment.id,
        outcomes=run.outcomes(segment.id, told[segment.id]),
        permitted=tuple(_permitted(segment, placing)),
        discharge=result,
        marginal=result.marginal if result else False,
    )


@dataclass(frozen=True, slots=True)
class Placing:
    """A rule that places hose, as it is read on this boat."""

    permits: Permits
    services: tuple[str, ...]
    regime: str
    context: Context
    left_out: AbstractSet[str]


def _placing(run: Run) -> list[Placing]:
    """What says which hose is permitted, where its regime reaches the boat on the day."""
    found = []
    for rule in run.placing:
        reached = run.reached(rule)
        if rule.permits is not None and reached is not None and rule.holds_on(run.on):
            reading, context, left_out = reached
            found.append(Placing(rule.permits, rule.services, reading.regime, context, left_out))
    return found


def _permitted(segment: Segment, placing: Sequence[Placing]) -> list[Permitted]:
    """What each rule that places hose allows here, unless its regime leaves the segment out."""
    return [
        Permitted(each.regime, permit)
        for each in placing
        if not each.services or segment.service in each.services
        if segment.id not in each.left_out
        for permit in each.permits(segment, each.context)
    ]


def _others(run: Run, told: Told) -> tuple[OtherResult, ...]:
    segments = {segment.id for segment in run.document.segments}
    return tuple(
        OtherResult(subject, run.outcomes(subject, told[subject]))
        for subject in subjects_in_order(run.document)
        if told[subject] and subject not in segments
    )


def _figures(run: Run, *, curves: bool) -> Figures:
    graph, tests = run.graph, _system_tests(run)
    lost = permeations(graph)
    return Figures(
        test_pressure=tests,
        leak_tests=leak_readings(graph, tests),
        suction=suctions(graph),
        vent=_vents(graph, run.on),
        permeation=lost,
        vapor=vapors(graph, lost),
        clamp_size=clamp_sizes(graph),
        clearance=clearances(graph, run.on),
        bend=bends(graph),
        expansion=expansions(graph),
        discharge_curve=_curves(run) if curves else None,
    )


def _curves(run: Run) -> dict[str, tuple[CurvePoint, ...]]:
    results = {s.id: run.discharges.of(s.id) for s in run.document.segments if s.service in SEVERED}
    return {name: r.curve for name, r in results.items() if r and r.curve}


def _system_tests(run: Run) -> dict[str, SystemTest]:
    """None at all on a day before 33 CFR 183.542."""
    try:
        return {tank.id: system_test_once(run.graph, tank, run.on) for tank in run.document.tanks}
    except ParameterNotInForceError:
        return {}
