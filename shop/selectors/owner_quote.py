"""The quote as the owner reads it, from the copy that was issued and from nothing else."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from django.utils.functional import Promise
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, gettext

from fuelsys.document import read_object
from fuelsys.rules.base import WORST_FIRST
from fuelsys.text import Text
from shop.cautions import cautions_on
from shop.drawing import draw_system
from shop.models import Document, Quote, QuoteStatus
from shop.selectors.grounds import evidence_said, reason_unpack
from shop.selectors.quote_told import Told, told_of
from shop.selectors.quote_unknown import Unknown, unknown_lines, unknown_of
from shop.texts import text_owner, text_unpack

LAWS = ("33-cfr-183", "40-cfr-1060")
PRACTICE = "practice"
SHOWN_FIRST = 4
KEPT_DRAWINGS = 32


@dataclass(frozen=True)
class Reason:
    message: Text | None
    remedy: Text | None
    law: bool
    citation: str
    provisional: bool = False  # whether the rule reaches the boat is not settled
    figures: Text | None = None
    bound: str | Promise = ""
    evidence: str | Promise = ""
    asks: Text | None = None  # the rule in our words: the owner has no page of rules


@dataclass(frozen=True)
class Finding:
    """What was found on one segment: its worst outcome, and why."""

    ident: str
    title: str
    outcome: str
    reasons: tuple[Reason, ...]

    @property
    def first(self) -> tuple[Reason, ...]:
        """What is law on this boat; without a law, the first of good practice."""
        law = tuple(reason for reason in self.reasons if reason.law)
        return law or self.reasons[:1]

    @property
    def further(self) -> tuple[Reason, ...]:
        return self.reasons[len(self.first) :]


@dataclass(frozen=True)
class LawRow:
    name: str
    word: str
    text: Text | None
    citation: str


@dataclass(frozen=True)
class Choice:
    letter: str
    title: str
    summary: str
    recommended: bool
    segments: tuple[str, ...]
    total: str
    deposit: str
    left: tuple[str, ...]  # what it leaves as it is


@dataclass(frozen=True)
class OwnerQuote:
    quote: Quote
    document: Document
    valid_to: date
    choices: tuple[Choice, ...]
    findings: tuple[Finding, ...]
    law: tuple[LawRow, ...]
    law_said: tuple[Text, ...]
    unknown: tuple[Unknown, ...]  # of the boat, her parts and her lines as proposed
    told: Told | None  # beside the facts; None in a copy from before
    not_seen: tuple[str, ...]
    cautions: tuple[str, ...]
    note: str
    no_work_price: str  # due where no work is chosen; blank: nothing
    drawings: tuple[SafeString, SafeString]  # for a phone, and for a wider page
    on: date

    @property
    def lapsed(self) -> bool:
        return self.on > self.valid_to

    @property
    def left_undone(self) -> bool:
        return self.quote.status == QuoteStatus.DECLINED

    @property
    def first(self) -> tuple[Finding, ...]:
        return self.findings[:SHOWN_FIRST]

    @property
    def further(self) -> tuple[Finding, ...]:
        return self.findings[SHOWN_FIRST:]

    @property
    def only(self) -> Choice | None:
        return self.choices[0] if len(self.choices) == 1 else None


def owner_quote(document: Document, *, on: date) -> OwnerQuote:
    """`document` is an issued quote; `on` the yard's day on which it is read."""
    copy = json.loads(document.snapshot)
    quote = document.quote
    if quote is None:
        raise ValueError(f"{document} is no quote.")
    return OwnerQuote(
        quote=quote,
        document=document,
        valid_to=date.fromisoformat(copy["valid_to"]),
        choices=tuple(_choice(option) for option in copy["options"]),
        findings=tuple(_findings(copy)),
        law=tuple(_law(row) for row in copy["law"]),
        law_said=law_said_of(copy),
        unknown=(*unknown_of(copy), *unknown_lines(copy)),
        told=told_of(copy),
        not_seen=tuple(copy["not_seen"]),
        cautions=cautions_on(copy),
        note=copy["note"],
        no_work_price=copy.get("no_work_price", ""),
        drawings=drawings_of(document),
        on=on,
    )


def drawings_of(document: Document) -> tuple[SafeString, SafeString]:
    """The system as found, drawn for a phone and for a wider page."""
    language = get_language() or ""
    return (
        _drawn(document.snapshot, "phone", language),
        _drawn(document.snapshot, "paper", language),
    )


@lru_cache(maxsize=KEPT_DRAWINGS)
def _drawn(snapshot: str, size: str, language: str) -> SafeString:
    copy = json.loads(snapshot)
    found = read_object(copy["documents"]["found"])
    drawing = draw_system(found, copy["evaluations"]["found"], size=size, strings=gettext)
    return mark_safe(drawing.svg)  # noqa: S308  (every text in it is escaped by shop.drawing)


def _choice(option: dict[str, Any]) -> Choice:
    return Choice(
        letter=option["letter"],
        title=option["title"],
        summary=option["summary"],
        recommended=option["recommended"],
        segments=tuple(option["segments"]),
        total=option["total"],
        deposit=option["deposit"],
        left=tuple(entry["ident"] for entry in option["left"]),
    )


def _findings(copy: dict[str, Any]) -> Iterable[Finding]:
    """Law before practice, in the order of the survey within each."""
    titles = {group["key"]: group["title"] for group in copy["groups"]}
    found = [_finding(entry, titles) for entry in copy["reasons"]]
    return sorted(found, key=lambda finding: not any(reason.law for reason in finding.reasons))


def _finding(entry: dict[str, Any], titles: dict[str, str]) -> Finding:
    outcomes = [entry["outcomes"][name] for name in (*LAWS, PRACTICE)]
    return Finding(
        ident=entry["ident"],
        title=titles.get(entry["ident"], entry["ident"]),
        outcome=min(outcomes, key=WORST_FIRST.index),
        reasons=reasons_of(entry["reasons"]),
    )


def reasons_of(entries: Iterable[dict[str, Any]]) -> tuple[Reason, ...]:
    """Reasons as a snapshot holds them, law first."""
    rows = [_reason(reason_unpack(entry)) for entry in entries]
    return tuple(sorted(rows, key=lambda reason: not reason.law))


def _reason(said: dict[str, Any]) -> Reason:
    return Reason(
        message=said["message"],
        remedy=said["remedy"],
        law=said["law"],
        citation=said["citation"],
        provisional=said.get("provisional", False),
        figures=said["figures"],
        bound=said["bound"],
        evidence=evidence_said(said["evidence"]) if said.get("evidence") else "",
        asks=said["asks"],
    )


def law_said_of(copy: dict[str, Any]) -> tuple[Text, ...]:
    """The paragraph "is this the law on my boat?" as a copy holds it, sentence by sentence."""
    said = (text_unpack(sentence) for sentence in copy.get("law_said", []))
    return tuple(sentence for sentence in said if sentence is not None)


def _law(row: dict[str, Any]) -> LawRow:
    return LawRow(row["name"], row["word"], text_owner(text_unpack(row["reason"])), row["citation"])
