"""How a quote stands on a day: lapsed, replaced by a later version, or as its status says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from shop.models import Quote, QuoteStatus
from shop.selectors.consented import decision_open


@dataclass(frozen=True)
class QuoteStanding:
    """What a page says beside a quote that can no longer be answered as it is."""

    lapsed_on: date | None = None  # the last day on which it held
    replaced_by: int = 0  # the version that stands instead

    @property
    def is_replaced(self) -> bool:
        return self.replaced_by > 0

    @property
    def is_over(self) -> bool:
        """Not to be sent any more: the owner could not authorize it."""
        return self.is_replaced or self.lapsed_on is not None


def quote_standings(quotes: Iterable[Quote], *, on: date) -> dict[int, QuoteStanding]:
    """By quote: open to an answer and past its day has lapsed; superseded names the version."""
    rows = list(quotes)
    latest = _latest([row for row in rows if row.status == QuoteStatus.SUPERSEDED])
    return {row.pk: _standing(row, latest, on) for row in rows}


def quote_standing(quote: Quote, *, on: date) -> QuoteStanding:
    return quote_standings([quote], on=on)[quote.pk]


def _standing(quote: Quote, latest: dict[tuple[int, str], int], on: date) -> QuoteStanding:
    if quote.status == QuoteStatus.SUPERSEDED:
        return QuoteStanding(replaced_by=latest.get((quote.yard_id, quote.number), 0))
    if decision_open(quote) and quote.valid_to and on > quote.valid_to:
        return QuoteStanding(lapsed_on=quote.valid_to)
    return QuoteStanding()


def _latest(replaced: list[Quote]) -> dict[tuple[int, str], int]:
    """The last issued version under each number, in one query for all of them."""
    if not replaced:
        return {}
    rows = Quote.objects.filter(
        yard__in={row.yard_id for row in replaced}, number__in={row.number for row in replaced}
    ).exclude(status=QuoteStatus.DRAFT)
    columns = ("yard_id", "number", "version")
    return {
        (yard, number): version
        for yard, number, version in rows.order_by("version").values_list(*columns)
    }
