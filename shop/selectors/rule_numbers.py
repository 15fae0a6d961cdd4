"""The numbers of a rule in words: value, unit, since when, from which section, how sure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from fuelsys import units
from fuelsys.rules.base import Rule
from fuelsys.rules.parameters import Parameter, Value, parameter
from fuelsys.text import Text
from shop.inches import inch_text, is_rule_fraction
from shop.texts import DAY_FORMAT

EVIDENCE_WORDS: Final[dict[str, str | Promise]] = {
    "V": gettext_lazy("Text read"),
    "V+": gettext_lazy("Text read, and again in a later copy"),
    "S": gettext_lazy("Secondary source only"),
    "I": gettext_lazy("Our reading; the text does not say it in these words"),
    "CP": gettext_lazy("Common practice, no source"),
}


@dataclass(frozen=True)
class Earlier:
    """What a number was before, and the day on which that ended."""

    value: str
    until: date


@dataclass(frozen=True)
class RuleNumber:
    """A number of a rule as it stands on a day, with where it is from."""

    name: str
    what: str
    value: str
    unit: str
    since: date | None
    source: str
    evidence: str | Promise
    earlier: tuple[Earlier, ...] = ()

    @property
    def words(self) -> str:
        return f"{self.value} {self.unit}".strip()


def rule_numbers(rule: Rule, on: date) -> Iterator[RuleNumber]:
    for name in rule.parameters:
        yield number_on(parameter(name), on)


def rule_words(rule: Rule, on: date) -> Text:
    """What the rule asks, with its numbers as they stand on the day."""
    named = {number.name: number.words for number in rule_numbers(rule, on)}
    return Text(rule.words.msgid, named)


def number_on(number: Parameter, on: date) -> RuleNumber:
    begun = [(start, value) for start, value in number.values if start <= on]
    since, held = begun[-1] if begun else (None, None)
    return RuleNumber(
        name=number.name.rpartition("/")[2],
        what=number.description.strip(),
        value=_value(number, held),
        unit="" if number.unit in ("count", "date") else units.label(number.unit),
        since=since,
        source=number.citation,
        evidence=EVIDENCE_WORDS[number.evidence],
        earlier=tuple(
            Earlier(_value(number, value), later)
            for (_start, value), (later, _next) in pairwise(begun)
        ),
    )


def _value(number: Parameter, held: Value) -> str:
    if held is None:
        return "–"
    if isinstance(held, date):
        return date_format(held, DAY_FORMAT)
    if number.unit == "count":
        return units.plain(held)
    return _in_unit(units.from_base(held, number.unit), number.unit)


def _in_unit(value: Fraction, unit: str) -> str:
    return inch_text(value) if unit == "in" and is_rule_fraction(value) else units.plain(value)
