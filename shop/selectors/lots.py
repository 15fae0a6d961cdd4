"""Hose on the shelf: what is left on each reel, which reels fit a segment, what is short."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from django.db.models import QuerySet

from shop.models import Cut, Reel, Yard

NOTHING = Decimal("0.00")


def reel_left_in(reel: Reel) -> Decimal:
    """Inches left on a reel: received, less what was cut, and with what was put back."""
    return left_in([reel])[reel.pk]


def left_in(reels: Iterable[Reel]) -> dict[int, Decimal]:
    """Inches left on each of several reels. Added here: SQLite adds its decimals in binary."""
    left = {reel.pk: reel.received_in for reel in reels}
    rows = Cut.objects.filter(reel__in=left).values_list("reel_id", "length_in")
    for reel_pk, length_in in rows:
        left[reel_pk] -= length_in
    return left


def reel_list(*, yard: Yard, words: str = "") -> QuerySet[Reel]:
    """Reels by their mark; every word must occur in reel, lot, number or description."""
    rows = Reel.objects.filter(yard=yard).select_related("lot__product", "checked_by__user")
    for word in words.split():
        rows = (
            rows.filter(ident__icontains=word)
            | rows.filter(lot__code__icontains=word)
            | (rows.filter(lot__product__sku__icontains=word))
        )
    return rows.distinct().order_by("ident")


def reels_for(*, yard: Yard, sku: str, length_in: Decimal) -> list[tuple[Reel, Decimal]]:
    """Reels of a hose from which a whole piece can be cut, the shortest rest first.

    Reels that are set apart have no place here, nor those with too little left: fuel hose is
    not spliced to make length (common practice, no source).
    """
    rows = Reel.objects.filter(yard=yard, lot__product__sku=sku, quarantined_at__isnull=True)
    reels = list(rows.select_related("lot__product"))
    left = left_in(reels)
    fits = [(reel, left[reel.pk]) for reel in reels if left[reel.pk] >= length_in]
    return sorted(fits, key=lambda pair: (pair[1], pair[0].ident))
