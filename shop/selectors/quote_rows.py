"""The lines of all options of a quote side by side: one row a thing, one column an option."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from django.utils.translation import gettext as _

from shop.models import Quote, QuoteLine
from shop.money import total_of
from shop.pricing.lines import GROUP_CHARGES, GROUP_PARTS, GROUP_SAFE, GROUP_TEST
from shop.selectors.lines import line_words

ACCESS_IN_TEXT = re.compile(r"Replace \S+ .* \((?P<how>[^()]*)\)")
SET_UP = (GROUP_SAFE,)
CLOSING = (GROUP_PARTS, GROUP_TEST, GROUP_CHARGES)


@dataclass
class Row:
    """One thing to pay for; quantities and amounts by option letter."""

    kind: str
    ref: str
    words: str
    unit: str
    quantities: dict[str, Decimal] = field(default_factory=dict)
    prices: dict[str, Decimal] = field(default_factory=dict)
    amounts: dict[str, Decimal] = field(default_factory=dict)

    @property
    def price(self) -> Decimal | None:
        """The unit price where the options agree on it."""
        prices = set(self.prices.values())
        return prices.pop() if len(prices) == 1 else None


@dataclass
class Group:
    """The rows of one segment, or of one named part of the work, with a subtotal an option."""

    key: str
    title: str
    rows: list[Row] = field(default_factory=list)

    def subtotals(self) -> dict[str, Decimal]:
        letters = dict.fromkeys(letter for row in self.rows for letter in row.amounts)
        return {
            letter: total_of(row.amounts[letter] for row in self.rows if letter in row.amounts)
            for letter in letters
        }


def quote_groups(quote: Quote) -> list[Group]:
    """Every line of every option, grouped by segment in the order of the drawing."""
    names = {row.ident: row for row in quote.proposed.segments.all()}
    keys = [*SET_UP, *names, *CLOSING]
    titles = {
        GROUP_SAFE: _("Make safe and move the fuel"),
        GROUP_PARTS: _("Valves, filters, bulbs"),
        GROUP_TEST: _("Test, tag and record"),
        GROUP_CHARGES: _("Named charges"),
    }
    titles |= {ident: segment_title(ident, row.service, row.name) for ident, row in names.items()}
    groups = {key: Group(key, titles[key]) for key in keys}
    for option in quote.options.all():
        _add(groups, option.letter, option.lines.all())
    return [group for group in groups.values() if group.rows]


def _add(groups: dict[str, Group], letter: str, lines: Iterable[QuoteLine]) -> None:
    for line in lines:
        group = groups.setdefault(line.group, Group(line.group, line.group))
        words = _words(line)
        row = next((r for r in group.rows if (r.ref, r.words) == (line.ref, words)), None)
        if row is None:
            row = Row(line.kind, line.ref, words, line.unit)
            group.rows.append(row)
        row.quantities[letter] = line.quantity
        row.prices[letter] = line.price
        row.amounts[letter] = line.amount


def _words(line: QuoteLine) -> str:
    """The line's words without what its group says already."""
    if line.ref == "LAB-SEG" and (match := ACCESS_IN_TEXT.fullmatch(line.description)):
        return _("Labor, %(how)s") % {"how": match["how"]}
    if line.kind == "labor":
        return re.sub(r" x 1$", "", line.description)
    return line_words(line).removeprefix(f"{line.group}: ")


def segment_title(ident: str, service: str, name: str) -> str:
    words = service.replace("_", " ").capitalize()
    return f"{ident} {words}, {name}" if name else f"{ident} {words}"


def quantity_text(quantity: Decimal, unit: str) -> str:
    """A quantity as it is printed: hours with two decimals, others without idle zeros."""
    if unit == "h":
        return f"{quantity:.2f}"
    return f"{quantity.normalize():f}"
