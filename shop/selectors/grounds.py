"""What a finding rests on: its figures, who is bound, how sure the source is, and its rule."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from fuelsys.evaluation.remedies import remedy_of
from fuelsys.rules.base import EVIDENCE, PRACTICE, Finding, Rule
from fuelsys.rules.engine import all_rules, practice_id
from fuelsys.text import Figure, Text
from shop.selectors.rule_numbers import EVIDENCE_WORDS, rule_words
from shop.texts import text_owner, text_pack, text_unpack

Words = str | Promise

FORCE_SAID: Final[dict[str, Words]] = {
    "boat builder": gettext_lazy("Binds the boat’s builder."),
    "tank maker": gettext_lazy("Binds the tank’s maker."),
    "hose maker": gettext_lazy("Binds the hose’s maker."),
    "seller": gettext_lazy("Binds the seller."),
    "operator": gettext_lazy("Binds whoever runs the boat."),
    "vessel or engine maker": gettext_lazy("Binds the maker of vessel or engine."),
    "everyone": gettext_lazy("Binds everyone."),
    "voluntary": gettext_lazy("Voluntary."),
    "shop": gettext_lazy("This shop’s own rule."),
}
AGAINST: Final = "{measured} against a limit of {limit}."
LIMIT_ALONE: Final = "Limit {limit}; not measured."
MEASURED_ALONE: Final = "{measured}; no limit is set."
COUNTED: Final = frozenset({"clamps", "years"})


def figures_text(finding: Finding) -> Text | None:
    """What was measured against the limit; None where no figure decides."""
    figures = {"measured": finding.measured, "limit": finding.limit}
    known = {name: figure for name, figure in figures.items() if figure is not None}
    if not known:
        return None
    if len(known) == 2:
        known["measured"] = _counted(known["measured"])
        return Text(AGAINST, known)
    return Text(MEASURED_ALONE if "measured" in known else LIMIT_ALONE, known)


def _counted(measured: Figure) -> Figure:
    """A count says what it counts once, with its limit: 1 against a limit of 2 clamps."""
    return replace(measured, unit="") if measured.unit in COUNTED else measured


def rule_of(name: str) -> Rule:
    """The rule of a finding, whether it was read as law or under its name as practice."""
    return _by_name()[name]


def citation_of(name: str) -> str:
    """The citation of a rule; empty for a name that no rule has any more."""
    rule = _by_name().get(name)
    return rule.citation if rule else ""


@cache
def _by_name() -> dict[str, Rule]:
    rules = all_rules()
    return {practice_id(rule): rule for rule in rules} | {rule.id: rule for rule in rules}


def reason_pack(finding: Finding, on: date) -> dict[str, Any]:
    """A finding as a snapshot keeps it: all six parts, and its rule in our words on the day."""
    rule = rule_of(finding.rule)
    return {
        "outcome": "advice" if finding.advice else finding.outcome,
        "law": finding.regime != PRACTICE,
        "provisional": finding.provisional,
        "message": text_pack(finding.message),
        "remedy": text_pack(remedy_of(finding)),
        "figures": text_pack(figures_text(finding)),
        "citation": finding.citation,
        "force": finding.force,
        "evidence": finding.evidence,
        "rule": rule.id,
        "asks": text_pack(rule_words(rule, on)),
    }


def reason_unpack(said: Mapping[str, Any]) -> dict[str, Any]:
    """The reason that `reason_pack` kept, as a paper of the owner and their page say it.

    A snapshot from before a part was kept says nothing of it.
    """
    texts = {
        name: text_owner(text_unpack(said.get(name)))
        for name in ("message", "remedy", "figures", "asks")
    }
    return {**said, **texts, "bound": force_said(said["force"]) if said.get("force") else ""}


def evidence_legend(reasons: Iterable[Mapping[str, Any]]) -> list[tuple[str, Words]]:
    """The marks of evidence that some reasons carry, in the order of trust, with their words."""
    used = {reason.get("evidence") for reason in reasons}
    return [(mark, evidence_said(mark)) for mark in EVIDENCE if mark in used]


def force_said(force: str) -> Words:
    return FORCE_SAID.get(force, force)


def evidence_said(mark: str) -> Words:
    return EVIDENCE_WORDS.get(mark, mark)
