"""A second solver for small needs: every way to place every piece, nothing clever."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from fuelsys.cutting import ByLength, Need


def least_cost(need: Need) -> Decimal | None:
    """The least cost over every placing of all pieces; None when no placing holds them all."""
    costs = (cost for lacking, cost in _placings(need) if not lacking)
    return min((cost for cost in costs if cost is not None), default=None)


def least_lacking(need: Need) -> tuple[int, int]:
    """The least length lacking over every placing, and the fewest pieces for that length."""
    return min((sum(lacking), len(lacking)) for lacking, _ in _placings(need))


def least_bins(lengths: list[int], capacity: int) -> int:
    """The fewest bins by dynamic programming over every subset: bins opened, then the last's fill.

    Adding a piece to the subset that fills fewest bins, and of those the last least, is enough,
    since a subset's pieces can be put in any order.
    """
    reached = [(0, capacity)] + [(len(lengths) + 1, 0)] * (2 ** len(lengths) - 1)
    for subset in range(1, 2 ** len(lengths)):
        for i, length in enumerate(lengths):
            if subset >> i & 1:
                bins, fill = reached[subset ^ 1 << i]
                more = (bins, fill + length) if fill + length <= capacity else (bins + 1, length)
                reached[subset] = min(reached[subset], more)
    return reached[-1][0]


def price_of(need: Need, used: int) -> Decimal | None:
    """The cheapest purchase that holds a used length, the kerf of the last cut aside."""
    prices = []
    for offer in need.offers:
        if isinstance(offer, ByLength):
            for many in range(1, offer.longest // offer.step + 1):
                if many * offer.step + need.kerf >= used:
                    prices.append(many * offer.price)
        elif offer.length + need.kerf >= used:
            prices.append(offer.price)
    return min(prices, default=None)


def _placings(need: Need) -> Iterator[tuple[list[int], Decimal | None]]:
    """Every placing: the lengths left lacking, and the cost (None where nothing is long enough)."""
    lengths = [piece.length + need.trim + need.kerf for piece in need.pieces]
    rooms = [remnant.length + need.kerf for remnant in need.remnants]

    def place(
        i: int, rooms: list[int], groups: list[int], lacking: list[int]
    ) -> Iterator[tuple[list[int], Decimal | None]]:
        if i == len(lengths):
            prices = [price_of(need, group) for group in groups]
            known = [price for price in prices if price is not None]
            yield lacking, sum(known, Decimal(0)) if len(known) == len(prices) else None
            return
        length = lengths[i]
        for k, room in enumerate(rooms):
            if room >= length:
                less = [*rooms[:k], room - length, *rooms[k + 1 :]]
                yield from place(i + 1, less, groups, lacking)
        if need.offers:
            for k in range(len(groups)):
                more = [*groups[:k], groups[k] + length, *groups[k + 1 :]]
                yield from place(i + 1, rooms, more, lacking)
            yield from place(i + 1, rooms, [*groups, length], lacking)
        else:
            yield from place(i + 1, rooms, groups, [*lacking, length])

    yield from place(0, rooms, [], [])
