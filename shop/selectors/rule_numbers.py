"""The numbers of a rule in words: value, unit, since when, from which section, how sure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys import units
from fuelsys.rules.base import Rule
from fuelsys.rules.own_numbers import LESS, MORE, default_number, own_parameter
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


@dataclass(frozen=True)
class OwnNumber:
    """A number that a shop may set in place of a rule's; `value` is empty where it has not."""

    value: str
    unit: str
    default: str
    asks_more: str | Promise

    @property
    def label(self) -> str:
        return _("This shop’s own number, %(unit)s") % {"unit": self.unit}

    @property
    def help(self) -> str:
        if not self.default:
            return _("Empty for none: the rule has no number of its own.")
        said = {"default": self.default, "more": self.asks_more}
        return _("Empty for %(default)s. A number of the shop’s own is %(more)s.") % said

    @property
    def words(self) -> str:
        return f"{self.value} {self.unit}" if self.value else ""


MORE_WORDS: Final[dict[str, str | Promise]] = {
    LESS: gettext_lazy("less"),
    MORE: gettext_lazy("more"),
}


def own_number(rule: Rule, number: Decimal | None, on: date) -> OwnNumber | None:
    """What the shop has set of a rule's number; None where it may set none."""
    held = own_parameter(rule)
    if held is None:
        return None
    default = default_number(held, on)
    unit = _("years") if held.unit == "count" else units.label(held.unit)
    return OwnNumber(
        value="" if number is None else f"{number.normalize():f}",
        unit=unit,
        default="" if default is None else f"{_in_unit(default, held.unit)} {unit}",
        asks_more=MORE_WORDS[rule.tighter],
    )


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
