"""What an evaluation holds; the contract's keys, as dataclasses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from fuelsys.evaluation import as_json
from fuelsys.evaluation.computed import ByEnd, Computed
from fuelsys.evaluation.figures_permeation import Permeations
from fuelsys.hydraulics.result import Discharge
from fuelsys.rules.base import Finding, Permit
from fuelsys.rules.scope import Scope
from fuelsys.rules.system_test import SystemTest

CurvePoint = tuple[float, float | None, float | None]  # distance [m], tank and far side [m3]


@dataclass(frozen=True, slots=True)
class Ruleset:
    """Which rules were applied, as of which day, to which document."""

    version: str
    on: date
    document_sha256: str


class Permitted(NamedTuple):
    """What may be fitted at a segment, and under which regime."""

    regime: str
    permit: Permit


@dataclass(frozen=True, slots=True)
class SegmentResult:
    """One segment: its outcome in every regime, what may be fitted, what a cut lets out."""

    id: str
    outcomes: Mapping[str, str]
    permitted: tuple[Permitted, ...]
    discharge: Discharge | None
    marginal: bool


@dataclass(frozen=True, slots=True)
class OtherResult:
    """A component, tank, engine, compartment or the boat that a finding names."""

    id: str
    outcomes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Figures:
    """Computed figures; `discharge_curve` is None unless curves were asked for."""

    test_pressure: Mapping[str, SystemTest]
    leak_tests: Mapping[str, tuple[Computed, ...]]
    suction: Mapping[str, Computed]
    vent: Mapping[str, Computed]
    permeation: Permeations
    vapor: Mapping[str, Computed]
    clamp_size: ByEnd
    clearance: ByEnd
    bend: ByEnd
    expansion: Mapping[str, Computed]
    discharge_curve: Mapping[str, tuple[CurvePoint, ...]] | None = None


@dataclass(frozen=True, slots=True)
class Evaluation:
    """The answer to one document on one day."""

    ruleset: Ruleset
    scope: tuple[Scope, ...]
    segments: tuple[SegmentResult, ...]
    others: tuple[OtherResult, ...]
    findings: tuple[Finding, ...]
    figures: Figures

    def segment(self, segment_id: str) -> SegmentResult:
        """The result of one segment; KeyError when there is none of that id."""
        for result in self.segments:
            if result.id == segment_id:
                return result
        raise KeyError(segment_id)

    def findings_of(self, subject: str) -> tuple[Finding, ...]:
        """The findings about one subject, in order."""
        return tuple(finding for finding in self.findings if finding.subject == subject)

    def scope_of(self, regime: str) -> Scope:
        return next(row for row in self.scope if row.regime == regime)

    def to_json(self) -> dict[str, Any]:
        """The `evaluation/1` object, keys in the order of the format."""
        return as_json.evaluation(self)
