"""What an evaluation says of each segment, in the few words a drawing has room for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from shop.drawing import words
from shop.drawing.marks import ADVICE, CANNOT_TELL, FAIL, NOT_APPLICABLE, PASS, REVIEW

PRACTICE = "practice"
# Contract: "fail, then review, then cannot_tell, then pass"; not_applicable says nothing.
_WORST_FIRST = (FAIL, REVIEW, CANNOT_TELL, PASS, NOT_APPLICABLE)


class Evaluated(Protocol):
    """An evaluation, as far as a drawing reads it: its JSON form, `evaluation/1`."""

    def to_json(self) -> dict[str, Any]: ...


@dataclass(frozen=True, slots=True)
class Verdict:
    """The worst outcome of a segment and whose rule it is; `regime` law, practice or none."""

    outcome: str
    regime: str | None = None

    @property
    def phrase(self) -> str:
        if self.regime == "law":
            return words.BY_LAW[self.outcome]
        if self.regime == PRACTICE:
            return words.BY_PRACTICE[self.outcome]
        return words.OUTCOMES[self.outcome]

    @property
    def read_out(self) -> str:
        if self.regime == "law":
            return words.READ_OUT_LAW[self.outcome]
        if self.regime == PRACTICE:
            return words.READ_OUT_PRACTICE[self.outcome]
        return words.READ_OUT[self.outcome]


@dataclass(frozen=True, slots=True)
class Cut:
    """What runs out of one segment at its worst cut."""

    volume_floz: float | None
    place_in: float | None  # from the `from` end
    state: str = ""
    over: bool = False  # a finding about it fails or needs review, counted or as advice


@dataclass(frozen=True, slots=True)
class Judgment:
    verdicts: Mapping[str, Verdict]
    cuts: Mapping[str, Cut]


NOTHING_SAID = Judgment({}, {})


def judgment(evaluation: Evaluated | Mapping[str, Any] | None) -> Judgment:
    """Verdict and worst cut of every segment that `evaluation` names."""
    if evaluation is None:
        return NOTHING_SAID
    data = evaluation if isinstance(evaluation, Mapping) else evaluation.to_json()
    findings = data.get("findings") or []
    advised = {
        finding["subject"]
        for finding in findings
        if finding.get("advice") and finding.get("outcome") in (FAIL, REVIEW)
    }
    over = {finding["subject"] for finding in findings if _about_volume(finding)}
    verdicts: dict[str, Verdict] = {}
    cuts: dict[str, Cut] = {}
    for entry in data.get("segments") or []:
        ident = entry["id"]
        verdicts[ident] = verdict_of(entry.get("outcomes") or {}, advice=ident in advised)
        if entry.get("discharge"):
            cuts[ident] = _cut(entry["discharge"], over=ident in over)
    return Judgment(verdicts, cuts)


def verdict_of(outcomes: Mapping[str, str], *, advice: bool) -> Verdict:
    """The worst outcome over all regimes; law is named before practice where both are as bad.

    >>> verdict_of({"33-cfr-183": "pass", "practice": "fail"}, advice=False)
    Verdict(outcome='fail', regime='practice')
    """
    law = [outcome for regime, outcome in outcomes.items() if regime != PRACTICE]
    practice = [outcome for regime, outcome in outcomes.items() if regime == PRACTICE]
    for outcome in _WORST_FIRST[:3]:
        if outcome in law:
            return Verdict(outcome, "law")
        if outcome in practice:
            return Verdict(outcome, PRACTICE)
    if advice:
        return Verdict(ADVICE)
    return Verdict(PASS if PASS in (*law, *practice) else NOT_APPLICABLE)


def _about_volume(finding: Mapping[str, Any]) -> bool:
    limit = finding.get("limit") or {}
    return finding.get("outcome") in (FAIL, REVIEW) and limit.get("unit") in ("floz", "fl oz")


def _cut(discharge: Mapping[str, Any], *, over: bool) -> Cut:
    place = discharge.get("worst_cut_in")
    if isinstance(place, list | tuple):
        place = place[0] if place else None
    return Cut(discharge.get("volume_floz"), place, discharge.get("state") or "", over)
