"""Reading quotes: what stands in their way, what each option leaves behind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from fuelsys.rules.base import Finding
from fuelsys.text import Text
from shop.models import Override, Quote, QuoteOption, Yard
from shop.selectors.evaluations import Judged, document_judged, state_judged
from shop.selectors.panels import Words, whose_words
from shop.selectors.systems import system_document

BLOCKING = frozenset({"fail", "review"})


@dataclass(frozen=True)
class Blocker:
    """A finding that keeps a proposal out of a quote until a lead overrides it by name."""

    subject: str
    rule: str
    regime: str
    finding: Finding

    @property
    def key(self) -> tuple[str, str, str]:
        return self.subject, self.rule, self.regime

    @property
    def whose(self) -> Words:
        """Law, or practice."""
        return whose_words(self.regime)


@dataclass(frozen=True)
class Overridden:
    """What a lead took on: the decision, and the finding as it read then."""

    override: Override
    message: Text | str

    @property
    def whose(self) -> Words:
        return whose_words(self.override.regime)


def quote_list(*, yard: Yard, words: str = "") -> QuerySet[Quote]:
    """Quotes, newest first; every word must occur in number, boat or owner."""
    rows = Quote.objects.filter(yard=yard).select_related("hull__customer", "job")
    for word in words.split():
        rows = rows.filter(
            Q(number__icontains=word)
            | Q(hull__name__icontains=word)
            | Q(hull__customer__name__icontains=word)
        )
    return rows.prefetch_related("options").order_by("-created_at", "-pk")


def quote_judged(quote: Quote, *, on: date) -> tuple[Judged, Judged]:
    """The found and the proposed state of a quote, judged."""
    return state_judged(quote.found, on=on), state_judged(quote.proposed, on=on)


def option_document(
    option: QuoteOption,
    *,
    segments: Iterable[str] | None = None,
    components: Iterable[str] | None = None,
) -> dict[str, Any]:
    """The boat after one option: what it renews as proposed, the rest as found.

    Parts at components (a valve, a bulb) follow the proposal where the option buys them.
    `segments` and `components` name what was renewed in the end, where that differs from the
    option.
    """
    found = system_document(option.quote.found)
    proposed = system_document(option.quote.proposed)
    renewed = set(option.segments if segments is None else segments)
    renewed |= set(_bought(option) if components is None else components)
    return {
        **found,
        "components": _mixed(found["components"], proposed["components"], renewed),
        "segments": _mixed(found["segments"], proposed["segments"], renewed),
    }


def _bought(option: QuoteOption) -> set[str]:
    """Components whose proposed part is among the option's."""
    skus = {entry["sku"] for entry in option.extras}
    rows = option.quote.proposed.components.exclude(product_sku="")
    return {row.ident for row in rows if row.product_sku in skus}


def quote_blockers(quote: Quote, *, on: date) -> list[Blocker]:
    """Findings `fail` or `review` that count, of the proposal and of each option by itself.

    What an option leaves as found is the owner's to decline, so of an option only what it
    renews is asked. An override that stands removes its finding from the list.
    """
    decided = set(quote.overrides.values_list("subject", "rule", "regime"))
    found = _all_blockers(quote, on=on)
    return [blocker for key, blocker in found.items() if key not in decided]


def overridden(quote: Quote, *, on: date) -> list[Overridden]:
    """The overrides of a quote; a finding that reads as it did keeps its figures apart."""
    overrides = quote.overrides.select_related("member__user")
    if not overrides:
        return []
    found = _all_blockers(quote, on=on)
    listed = []
    for override in overrides:
        blocker = found.get((override.subject, override.rule, override.regime))
        message = blocker.finding.message if blocker else None
        same = message is not None and str(message) == override.message
        listed.append(Overridden(override, message if same and message else override.message))
    return listed


def _all_blockers(quote: Quote, *, on: date) -> dict[tuple[str, str, str], Blocker]:
    proposed = state_judged(quote.proposed, on=on)
    found = _counted(proposed, None)
    for option in quote.options.all():
        judged = document_judged(option_document(option), yard=quote.yard, on=on)
        found |= {k: v for k, v in _counted(judged, set(option.segments)).items() if k not in found}
    return found


def left_undone(option: QuoteOption, *, on: date) -> list[tuple[str, list[Finding]]]:
    """Segments that the proposal renews and this option does not, with what stays wrong.

    Judged as the boat is after this option: a valve that it fits may cure a hose that stays.
    """
    quote = option.quote
    judged = document_judged(option_document(option), yard=quote.yard, on=on)
    rows = quote.proposed.segments.filter(kept=False).exclude(ident__in=option.segments)
    return [(row.ident, blocking_of(judged, row.ident)) for row in rows]


def blocking_of(judged: Judged, subject: str) -> list[Finding]:
    """What counts against one subject: fail and review, law before practice."""
    found = [
        finding
        for finding in judged.evaluation.findings
        if finding.subject == subject and finding.outcome in BLOCKING and not finding.advice
    ]
    return sorted(found, key=lambda finding: finding.regime == "practice")


def _counted(judged: Judged, subjects: set[str] | None) -> dict[tuple[str, str, str], Blocker]:
    blockers: dict[tuple[str, str, str], Blocker] = {}
    for finding in judged.evaluation.findings:
        if finding.outcome not in BLOCKING or finding.advice:
            continue
        if subjects is not None and finding.subject not in subjects:
            continue
        blocker = Blocker(finding.subject, finding.rule, finding.regime, finding)
        blockers.setdefault(blocker.key, blocker)
    return blockers


def _mixed(
    found: list[Mapping[str, Any]], proposed: list[Mapping[str, Any]], renewed: set[str]
) -> list[Mapping[str, Any]]:
    """`found` in its order, each renewed object as proposed; what only the proposal has, last."""
    new = {entry["id"]: entry for entry in proposed}
    known = {entry["id"] for entry in found}
    mixed = [new[e["id"]] if e["id"] in renewed and e["id"] in new else e for e in found]
    return mixed + [entry for entry in proposed if entry["id"] not in known]
