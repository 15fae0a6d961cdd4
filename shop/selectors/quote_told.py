"""What a survey has on file beside its facts: the complaint, the answer about fuel, the grades.

A quote repeats it as it stands and concludes nothing from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fuelsys.rules.base import CANNOT_TELL
from shop.models import FuelSeen, Survey, SystemState
from shop.selectors.evaluations import Judged
from shop.selectors.survey_notes import carried_over

UNWORN = frozenset({None, "good", "not_seen"})


@dataclass(frozen=True)
class Told:
    """As a copy holds it, for a paper and for the owner's page."""

    surveyed_on: date | None
    complaint: str
    fuel_seen: str
    worn: tuple[str, ...]
    unknown: tuple[str, ...]
    carried: tuple[str, ...] = ()  # lines whose grade nobody entered at this survey
    carried_from: date | None = None

    @property
    def smelled(self) -> bool:
        return self.fuel_seen == FuelSeen.YES

    @property
    def clear(self) -> bool:
        return self.fuel_seen == FuelSeen.NO


def told_part(state: SystemState, found: Judged) -> dict[str, Any]:
    """What is on file of a found state; no survey leaves its answers blank."""
    survey = Survey.objects.filter(state=state).first()
    carried = carried_over(state)
    return {
        "surveyed_on": survey.surveyed_on.isoformat() if survey else "",
        "complaint": survey.complaint if survey else "",
        "fuel_seen": survey.fuel_seen if survey else "",
        "worn": _worn(found),
        "unknown": _unknown(found),
        "carried": list(carried.idents) if carried else [],
        "carried_from": carried.on.isoformat() if carried else "",
    }


def told_of(copy: Mapping[str, Any]) -> Told | None:
    """What a copy says of it; None where it was issued before it was kept."""
    said = copy.get("told")
    if said is None:
        return None
    return Told(
        surveyed_on=_day(said["surveyed_on"]),
        complaint=said["complaint"],
        fuel_seen=said["fuel_seen"],
        worn=tuple(said["worn"]),
        unknown=tuple(said["unknown"]),
        carried=tuple(said.get("carried", ())),
        carried_from=_day(said.get("carried_from", "")),
    )


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def _worn(found: Judged) -> list[str]:
    """Lines on whose hose a grade or an observation says that it is no longer as new."""
    return [
        run.id
        for run in found.document.segments
        if run.hose is not None and (run.hose.condition not in UNWORN or run.hose.observations)
    ]


def _unknown(found: Judged) -> list[str]:
    """Lines of which something that counts could not be told."""
    asked = {
        finding.subject
        for finding in found.evaluation.findings
        if finding.outcome == CANNOT_TELL and not finding.advice
    }
    return [run.id for run in found.document.segments if run.id in asked]
