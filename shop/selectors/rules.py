"""The rules as a page shows them: what each asks, of whom, by which numbers, on which evidence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.rules import base
from fuelsys.rules.base import Rule
from fuelsys.rules.engine import all_rules, practice_id, practice_ids
from fuelsys.rules.information import NOT_CHECKED, Information
from fuelsys.text import Text
from shop.models import PracticeSetting, Yard
from shop.selectors.rule_cases import CaseGroup, Never, case_groups, case_names, never_of, usual_day
from shop.selectors.rule_numbers import (
    EVIDENCE_WORDS,
    OwnNumber,
    RuleNumber,
    own_number,
    rule_numbers,
    rule_words,
)
from shop.texts import DAY_FORMAT as DAY
from shop.texts import text_words

Words = Mapping[str, str | Promise]

REGIME_WORDS: Final[Words] = {
    base.SUBPART_J: gettext_lazy("Fuel systems, 33 CFR 183 Subpart J"),
    base.SUBPART_K: gettext_lazy("Ventilation, 33 CFR 183 Subpart K"),
    base.UNINSPECTED: gettext_lazy("Flame control, 46 CFR 25"),
    base.UNSAFE: gettext_lazy("Unsafe conditions, 33 CFR 177"),
    base.EPA: gettext_lazy("Hose emissions, 40 CFR 1045 and 1060"),
    base.ETHANOL: gettext_lazy("Ethanol, 40 CFR 80"),
    base.CANADA: gettext_lazy("Canada, SOR/2010-91 and TP 1332"),
    base.EUROPE: gettext_lazy("European Union, 2013/53/EU"),
    base.PRACTICE: gettext_lazy("Practice, not law"),
}
FORCE_WORDS: Final[Words] = {
    "boat builder": gettext_lazy("Boat builder, importer, seller"),
    "tank maker": gettext_lazy("Tank maker"),
    "hose maker": gettext_lazy("Hose maker"),
    "seller": gettext_lazy("Seller"),
    "operator": gettext_lazy("Whoever runs the boat"),
    "vessel or engine maker": gettext_lazy("Vessel or engine maker"),
    "everyone": gettext_lazy("Everyone"),
    "owner, operator or maintainer": gettext_lazy("Owner, operator, and whoever maintains it"),
    "voluntary": gettext_lazy("Nobody; voluntary"),
    "shop": gettext_lazy("This shop, by its own choice"),
}
PART_WORDS: Final[Words] = {
    "segment": gettext_lazy("segments"),
    "segment_end": gettext_lazy("segment ends"),
    "clamp": gettext_lazy("clamps"),
    "line": gettext_lazy("whole lines"),
    "component": gettext_lazy("components"),
    "tank": gettext_lazy("tanks"),
    "engine": gettext_lazy("engines"),
    "compartment": gettext_lazy("compartments"),
    "boat": gettext_lazy("the boat"),
}
SETTING_WORDS: Final[Words] = {
    "off": gettext_lazy("Off"),
    "advice": gettext_lazy("Advice"),
    "count": gettext_lazy("Counts"),
}


@dataclass(frozen=True)
class RuleRow:
    """One rule as the page lists and opens it."""

    id: str
    title: str
    words: Text
    citation: str
    short: str
    regime: str
    regime_words: str | Promise
    is_law: bool
    force: str | Promise
    evidence: str | Promise
    reaches: str
    in_force: str
    practice_id: str
    setting: str
    numbers: tuple[RuleNumber, ...]
    own: OwnNumber | None = None  # where the shop may set a number of its own
    found_in: str = ""  # the case in whose name the words looked for stand

    @property
    def setting_words(self) -> str | Promise:
        return SETTING_WORDS.get(self.setting, "")

    @property
    def cases(self) -> tuple[CaseGroup, ...]:
        return case_groups(self.id)

    @property
    def usual_day(self) -> date | None:
        return usual_day(self.id)

    @property
    def never(self) -> tuple[Never, ...]:
        return never_of(self.id)

    def found(self, words: str) -> RuleRow | None:
        """The rule where every word stands in what is shown of it, with the case that told."""
        numbers = (f"{n.what} {n.words} {n.source}" for n in self.numbers)
        said = (self.id, self.title, text_words(self.words), self.citation, self.reaches)
        shown = (*said, str(self.regime_words), str(self.force), str(self.evidence), self.in_force)
        if _holds((*shown, *numbers), words):
            return self
        head = (self.title, self.citation)
        names = (name for name in case_names(self.id) if _holds((*head, name), words))
        told = next(names, None)
        return None if told is None else replace(self, found_in=told)


@dataclass(frozen=True)
class ToldRow:
    """A duty that is told and not checked here."""

    title: Text
    why: Text
    citation: str
    force: str | Promise
    evidence: str | Promise

    def holds(self, words: str) -> bool:
        sentences = (text_words(self.title), text_words(self.why), self.citation)
        return _holds((*sentences, str(self.force), str(self.evidence)), words)


def _holds(parts: Iterable[str], words: str) -> bool:
    text = " ".join(parts).lower()
    return all(word in text for word in words.lower().replace(",", " ").split())


def rule_rows(*, yard: Yard, on: date) -> list[RuleRow]:
    """Every rule of the registry, law first, in the order of its citation."""
    settings = {row.rule_id: row for row in yard.practice_settings.all()}
    order = list(REGIME_WORDS)
    rows = [_row(rule, settings, on) for rule in all_rules()]
    return sorted(rows, key=lambda row: (order.index(row.regime), row.citation, row.id))


def told_rows() -> list[ToldRow]:
    """What the texts ask that no shop can see, as the page lists it."""
    return [_told(duty) for duty in NOT_CHECKED]


def _told(duty: Information) -> ToldRow:
    return ToldRow(
        duty.title,
        duty.why,
        duty.citation,
        FORCE_WORDS.get(duty.force, duty.force),
        EVIDENCE_WORDS[duty.evidence],
    )


def regimes(rows: list[RuleRow]) -> list[tuple[str, str | Promise, int]]:
    """The bodies of rules that have any, each with its words and how many."""
    counts = {key: sum(row.regime == key for row in rows) for key in REGIME_WORDS}
    return [(key, REGIME_WORDS[key], count) for key, count in counts.items() if count]


def _row(rule: Rule, settings: Mapping[str, PracticeSetting], on: date) -> RuleRow:
    name = practice_id(rule)
    set_here = settings.get(name)
    settable = name in practice_ids() and not rule.gate
    return RuleRow(
        id=rule.id,
        title=rule.title,
        words=rule_words(rule, on),
        citation=rule.citation,
        short=_short(rule),
        regime=rule.regime,
        regime_words=REGIME_WORDS[rule.regime],
        is_law=rule.regime != base.PRACTICE,
        force=FORCE_WORDS.get(rule.force, rule.force),
        evidence=EVIDENCE_WORDS[rule.evidence],
        reaches=_reaches(rule),
        in_force=in_force_words(rule),
        practice_id=name if settable else "",
        setting=(set_here.setting if set_here else rule.setting) if settable else "",
        numbers=tuple(rule_numbers(rule, on)),
        own=own_number(rule, set_here.number if set_here else None, on),
    )


def _short(rule: Rule) -> str:
    """The section alone, as a list shows it."""
    if rule.regime == base.PRACTICE:
        return _("practice")
    for body in ("33 CFR ", "40 CFR ", "46 CFR "):
        if rule.citation.startswith(body):
            return rule.citation.removeprefix(body)
    return rule.citation


def _reaches(rule: Rule) -> str:
    parts = ", ".join(str(PART_WORDS[part]) for part in rule.applies_to)
    narrowed = rule.services or rule.kinds
    if not narrowed:
        return parts
    only = ", ".join(word.replace("_", " ") for word in narrowed)
    return _("%(parts)s: %(only)s") % {"parts": parts, "only": only}


def in_force_words(rule: Rule) -> str:
    """From when to when, or why no day is known."""
    start, end = rule.in_force_from, rule.in_force_to
    first = date_format(start, DAY) if start else ""
    last = date_format(end, DAY) if end else ""
    if start and end:
        return _("%(start)s until %(end)s; superseded then") % {"start": first, "end": last}
    if start:
        return _("since %(start)s; no later text is on file") % {"start": first}
    if end:
        return _("until %(end)s; superseded then") % {"end": last}
    if rule.regime == base.PRACTICE:
        return _("practice, on every day")
    return _("on every day asked for: %(why)s") % {"why": _(rule.undated)}
