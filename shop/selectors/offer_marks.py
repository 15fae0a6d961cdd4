"""Offers ranked: by cost and by margin, with least cost and lowest permeation marked and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from fuelsys.text import Figure, Text

if TYPE_CHECKING:
    from shop.selectors.offers import Offer

Read = Callable[["Offer"], Decimal | float | None]


@dataclass(frozen=True)
class Marked:
    """A mark of honor beside an offer, with its reason in one sentence."""

    words: str
    reason: Text


def ranked(offers: Sequence[Offer]) -> tuple[Offer, ...]:
    """Lawful ones first, then by cost; places and marks among the lawful alone."""
    ordered = sorted(offers, key=_place)
    lawful = [offer for offer in ordered if offer.is_lawful]
    marks: dict[str, list[Marked]] = {}
    for mark in (_least_cost(lawful), _lowest_permeation(lawful)):
        for sku, marked in mark.items():
            marks.setdefault(sku, []).append(marked)
    return tuple(
        replace(
            offer,
            marks=tuple(marks.get(offer.product.sku, ())),
            by_cost=_rank(offer, lawful, lambda each: each.price),
            by_margin=_rank(
                offer, lawful, lambda each: None if each.margin is None else -each.margin
            ),
        )
        for offer in ordered
    )


def _place(offer: Offer) -> tuple[bool, bool, bool, Decimal, str]:
    price = offer.price
    return (
        offer.is_rejected,
        not offer.is_lawful,
        price is None,
        price or Decimal(0),
        offer.product.sku,
    )


def _rank(offer: Offer, lawful: Sequence[Offer], read: Read) -> tuple[int, int] | None:
    """The offer's place and how many there are; equals share one. None for one alone."""
    values = [value for each in lawful if (value := read(each)) is not None]
    own = read(offer)
    if not offer.is_lawful or own is None or len(values) < 2:
        return None
    return 1 + sum(value < own for value in values), len(values)


def _least_cost(lawful: Sequence[Offer]) -> dict[str, Marked]:
    priced = [(offer.price, offer.product.sku) for offer in lawful if offer.price is not None]
    if not priced:
        return {}
    least = min(price for price, _sku in priced)
    first = [sku for price, sku in priced if price == least]
    dearer = min(((price, sku) for price, sku in priced if price > least), default=None)
    if dearer is None and len(first) == 1 and lawful[0].asked is not None:
        led = Text(_("Led as is asked, it is the only one here that passes and has a price."))
        return {first[0]: Marked(_("least cost"), led)}
    return {sku: Marked(_("least cost"), _cost_reason(sku, first, least, dearer)) for sku in first}


def _cost_reason(
    sku: str, first: Sequence[str], least: Decimal, dearer: tuple[Decimal, str] | None
) -> Text:
    level = [other for other in first if other != sku]
    if level:
        return Text(_("It costs the same as {others}."), {"others": ", ".join(level)})
    if dearer is None:
        return Text(_("It is the only one here that passes and has a price."))
    said = {"less": f"{dearer[0] - least:,.2f}", "next": dearer[1]}
    return Text(_("It costs {less} less than the next, {next}."), said)


def _lowest_permeation(lawful: Sequence[Offer]) -> dict[str, Marked]:
    rated = [(o.permeation, o.product.sku) for o in lawful if o.permeation is not None]
    if not rated:
        return {}
    unrated = [offer.product.sku for offer in lawful if offer.permeation is None]
    least = min(grams for grams, _sku in rated)
    first = [sku for grams, sku in rated if grams == least]
    more = min(((grams, sku) for grams, sku in rated if grams > least), default=None)
    return {
        sku: Marked(_("lowest permeation"), _permeation_reason(sku, first, least, more, unrated))
        for sku in first
    }


def _permeation_reason(
    sku: str,
    first: Sequence[str],
    least: float,
    more: tuple[float, str] | None,
    unrated: Sequence[str],
) -> Text:
    own = {"own": Figure(least, "g_day", computed=True)}
    level = [other for other in first if other != sku]
    if level:
        said = {**own, "others": ", ".join(level)}
        return Text(_("By its class it loses {own} at most, the same as {others}."), said)
    if more is not None:
        said = {**own, "more": Figure(more[0], "g_day", computed=True), "next": more[1]}
        return Text(_("By its class it loses {own} at most; {next} may lose {more}."), said)
    if unrated:
        said = {**own, "others": ", ".join(unrated)}
        return Text(_("By its class it loses {own} at most; no limit holds for {others}."), said)
    return Text(_("By its class it loses {own} at most; no other passes here."), own)
