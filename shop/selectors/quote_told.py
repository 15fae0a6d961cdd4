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
from shop.selectors.carried import Carried
from shop.selectors.evaluations import Judged

UNWORN = frozenset({None, "good", "not_seen"})


@dataclass(frozen=True)
class ToldDay:
    """Lines whose hose was graded on one day and not seen since."""

    on: date | None
    idents: tuple[str, ...]


@dataclass(frozen=True)
class Told:
    """As a copy holds it, for a paper and for the owner's page."""

    surveyed_on: date | None
    complaint: str
    fuel_seen: str
    worn: tuple[str, ...]
    unknown: tuple[str, ...]
    carried: tuple[ToldDay, ...] = ()  # grades that nobody entered at this survey

    @property
    def smelled(self) -> bool:
        return self.fuel_seen == FuelSeen.YES

    @property
    def clear(self) -> bool:
        return self.fuel_seen == FuelSeen.NO


def told_part(state: SystemState, found: Judged, carried: Carried | None) -> dict[str, Any]:
    """What is on file of a found state; no survey leaves its answers blank."""
    survey = Survey.objects.filter(state=state).first()
    return {
        "surveyed_on": survey.surveyed_on.isoformat() if survey else "",
        "complaint": survey.complaint if survey else "",
        "fuel_seen": survey.fuel_seen if survey else "",
        "worn": _worn(found),
        "unknown": _unknown(found),
        "carried_days": [
            {"on": day.on.isoformat(), "idents": list(day.idents)}
            for day in (carried.days if carried else ())
        ],
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
        carried=tuple(
            ToldDay(_day(row["on"]), tuple(row["idents"])) for row in _carried_days(said)
        ),
    )


def _carried_days(said: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Days with their lines; a copy from before has one day for all of them, or none at all."""
    if "carried_days" in said or not said.get("carried"):
        return list(said.get("carried_days", ()))
    return [{"on": said["carried_from"], "idents": said["carried"]}]


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
