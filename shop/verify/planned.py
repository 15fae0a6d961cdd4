"""Authorized work: each segment is still planned as the paper shows it that was consented to."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from shop.models import ChangeLine, Consent, Decision, LineKind, Segment, WorkOrder
from shop.verify.model import Fault, Look, named

JOINS = ("id", "service", "from", "to")


@dataclass(frozen=True, slots=True)
class Shown:
    """A segment as a consented paper shows it: its articles, and its facts where it has them."""

    paper: str
    articles: frozenset[str]
    facts: Mapping[str, Any] | None


def as_consented(look: Look) -> Iterator[Fault]:
    """Product, clamp, length, ends and "kept" of each authorized segment, from the last consent."""
    for order in WorkOrder.objects.order_by("pk"):
        rows = {row.ident: row for row in Segment.objects.filter(state=order.proposed_id)}
        for ident, shown in sorted(_shown(order).items()):
            look.at()
            row = rows.get(ident)
            if row is None:
                yield Fault(f"{named(order)} {ident}", "not in the proposal", shown.paper)
                continue
            for found in _differences(row, shown):
                yield Fault(f"{named(order)} {ident}", found, f"as {shown.paper} shows it")


def _differences(row: Segment, shown: Shown) -> Iterator[str]:
    if row.kept:
        yield "kept"
    if row.product_sku not in shown.articles:
        yield f"product {row.product_sku or 'none'}"
    # A clamp is an article where an end has one; what is not charged was not shown.
    if row.clamp_sku and row.clamp_sku not in shown.articles and _has_clamps(row.facts):
        yield f"clamp {row.clamp_sku}"
    if shown.facts is not None and row.facts != shown.facts:
        keys = [k for k in {*row.facts, *shown.facts} if row.facts.get(k) != shown.facts.get(k)]
        yield f"other facts, {', '.join(sorted(keys))}"


def _has_clamps(facts: Mapping[str, Any]) -> bool:
    return any((facts.get(end) or {}).get("clamps") for end in ("from_end", "to_end"))


def _shown(order: WorkOrder) -> dict[str, Shown]:
    """Every authorized segment; a later consent replaces what an earlier one showed."""
    given = Consent.objects.filter(job=order.job_id, decision=Decision.AUTHORIZED)
    shown: dict[str, Shown] = {}
    for consent in given.select_related("document", "option", "change_order").order_by("at", "pk"):
        if consent.option_id is not None and consent.option_id == order.option_id:
            shown |= _by_quote(consent)
        change = consent.change_order
        if change is not None and change.work_order_id == order.pk:
            shown |= _by_change(consent)
    return shown


def _by_quote(consent: Consent) -> Iterator[tuple[str, Shown]]:
    copy, letter = (
        json.loads(consent.document.snapshot),
        consent.option.letter if consent.option else "",
    )
    option = next((each for each in copy["options"] if each["letter"] == letter), None)
    facts = _facts(copy["documents"]["proposed"].get("segments", ()))
    groups = {group["key"]: group["rows"] for group in copy["groups"]}
    for ident in option["segments"] if option else ():
        rows = groups.get(ident, ())
        articles = (row["ref"] for row in rows if letter in row["quantities"])
        yield ident, Shown(named(consent.document), frozenset(articles), facts.get(ident))


def _by_change(consent: Consent) -> Iterator[tuple[str, Shown]]:
    """Papers of change orders before they showed each hose have its articles alone."""
    facts = _facts(json.loads(consent.document.snapshot).get("segments", ()))
    lines = ChangeLine.objects.filter(change_order=consent.change_order_id, kind=LineKind.PART)
    articles: dict[str, set[str]] = {}
    for group, ref in lines.exclude(group="").values_list("group", "ref"):
        articles.setdefault(group, set()).add(ref)
    for ident, refs in articles.items():
        yield ident, Shown(named(consent.document), frozenset(refs), facts.get(ident))


def _facts(segments: Any) -> dict[str, dict[str, Any]]:
    return {
        entry["id"]: {key: held for key, held in entry.items() if key not in JOINS}
        for entry in segments
    }
