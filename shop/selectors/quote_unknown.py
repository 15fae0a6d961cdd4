"""What nobody could tell of the boat and her parts, as a quote keeps it and its reader sees it.

Of each line the quote's table "After the work" says it; this is all that is no line.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from fuelsys.evaluation.remedies import remedy_of
from fuelsys.rules.base import CANNOT_TELL
from fuelsys.text import Text
from shop.models import Survey, SystemState
from shop.selectors.evaluations import Judged
from shop.selectors.survey_notes import with_smell
from shop.texts import text_owner, text_pack, text_unpack


@dataclass(frozen=True)
class Unknown:
    """One thing that cannot be told, of one or more parts, with what would tell it."""

    subjects: tuple[str, ...]
    message: Text | None
    remedy: Text | None
    citation: str


def unknown_part(found: SystemState, judged: Judged) -> list[dict[str, Any]]:
    """Each open question once, with all the parts that it is open of; the boat's own first."""
    survey = Survey.objects.filter(state=found).first()
    lines = {run.id for run in judged.document.segments}
    open_ = [
        with_smell(finding, survey)
        for finding in judged.evaluation.findings
        if finding.outcome == CANNOT_TELL and not finding.advice and finding.subject not in lines
    ]
    rows: dict[tuple[str, str], dict[str, Any]] = {}
    for finding in sorted(open_, key=lambda each: each.subject != "boat"):
        new: dict[str, Any] = {
            "subjects": [],
            "message": text_pack(finding.message),
            "remedy": text_pack(remedy_of(finding)),
            "citation": finding.citation,
        }
        row = rows.setdefault((finding.rule, str(finding.message)), new)
        if finding.subject not in row["subjects"]:
            row["subjects"].append(finding.subject)
    return list(rows.values())


def unknown_of(copy: Mapping[str, Any]) -> tuple[Unknown, ...]:
    """What a copy says of it; nothing where it was issued before it was kept."""
    return tuple(_unknown(row["subjects"], row) for row in copy.get("unknown_parts", []))


def unknown_lines(copy: Mapping[str, Any]) -> tuple[Unknown, ...]:
    """The same of the lines as proposed, each question once under all their names."""
    rows: dict[str, tuple[list[str], Mapping[str, Any]]] = {}
    for entry in copy["after"]:
        for reason in entry.get("unknown", []):
            key = f"{reason['rule']} {reason['message']}"
            rows.setdefault(key, ([], reason))[0].append(entry["ident"])
    return tuple(_unknown(idents, reason) for idents, reason in rows.values())


def _unknown(subjects: list[str], row: Mapping[str, Any]) -> Unknown:
    return Unknown(
        subjects=tuple(_("The boat") if each == "boat" else each for each in subjects),
        message=text_owner(text_unpack(row["message"])),
        remedy=text_owner(text_unpack(row["remedy"])),
        citation=row["citation"],
    )
