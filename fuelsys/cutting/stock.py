"""From a need to the integer problem, keeping what each kind of stock is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from math import gcd

from fuelsys.cutting.model import ByLength, Coil, Need, Piece
from fuelsys.cutting.problem import Kind


@dataclass(frozen=True, slots=True)
class Goods:
    """What is bought for one kind of stock."""

    kind: str
    name: str
    length: int
    price: Decimal


@dataclass(frozen=True)
class Stock:
    """The sizes, the kinds and how to read an answer back.

    A piece takes up its length, trim and one kerf; stock gives its length and one kerf, since
    the last cut may fall on its end. Lengths are divided by what all pieces have in common.
    """

    sizes: tuple[int, ...]  # distinct, descending
    pieces: dict[int, tuple[Piece, ...]]  # by size
    on_hand: tuple[Kind, ...]
    bought: tuple[Kind, ...]
    goods: tuple[Goods, ...]  # of each of `bought`
    too_long: tuple[Piece, ...]  # longer than any stock
    step: int  # what the sizes were divided by
    decimals: int  # the costs are prices times ten to this

    @property
    def longest_bought(self) -> int:
        return max((kind.capacity for kind in self.bought), default=0)

    @property
    def lack_costs(self) -> tuple[int, ...]:
        """Less length lacking comes first; of equal lengths, fewer pieces."""
        return tuple(size * self.lack_factor + 1 for size in self.sizes)

    @property
    def lack_factor(self) -> int:
        return 1 + sum(len(pieces) for pieces in self.pieces.values())

    def lack_at_least(self, cost: int) -> int:
        """The length behind a cost of lacking, where every piece may have added its 1."""
        return max(0, -((self.lack_factor - 1 - cost) // self.lack_factor)) * self.step

    def money(self, cost: int) -> Decimal:
        return Decimal(cost).scaleb(-self.decimals)


def stock_of(need: Need) -> Stock:
    extra = need.trim + need.kerf
    step = gcd(*(piece.length + extra for piece in need.pieces)) or 1

    def size(piece: Piece) -> int:
        return (piece.length + extra) // step

    def capacity(length: int) -> int:
        return (length + need.kerf) // step

    goods = list(_goods(need.offers, sum(size(piece) for piece in need.pieces) * step))
    decimals = max((_decimals(g.price) for g in goods), default=0)
    counted = Counter(capacity(remnant.length) for remnant in need.remnants)
    on_hand = tuple(Kind(held, 0, count) for held, count in sorted(counted.items()) if held)
    priced = [(Kind(capacity(g.length), int(g.price.scaleb(decimals))), g) for g in goods]
    kept = _undominated(priced)
    longest = max((kind.capacity for kind in (*on_hand, *(kind for kind, _ in kept))), default=0)
    by_size: dict[int, list[Piece]] = {}
    for piece in need.pieces:
        by_size.setdefault(size(piece), []).append(piece)
    sizes = sorted((s for s in by_size if s <= longest), reverse=True)
    return Stock(
        sizes=tuple(sizes),
        pieces={s: tuple(by_size[s]) for s in sizes},
        on_hand=on_hand,
        bought=tuple(kind for kind, _ in kept),
        goods=tuple(g for _, g in kept),
        too_long=tuple(piece for piece in need.pieces if size(piece) > longest),
        step=step,
        decimals=decimals,
    )


def _decimals(price: Decimal) -> int:
    return max(0, -int(price.normalize().as_tuple().exponent))


def _goods(offers: Iterable[Coil | ByLength], enough: int) -> Iterable[Goods]:
    """Each thing that can be bought; lengths beyond `enough` for everything are left out."""
    for offer in offers:
        if isinstance(offer, Coil):
            yield Goods("coil", offer.name, offer.length, offer.price)
            continue
        for many in range(1, offer.longest // offer.step + 1):
            length = many * offer.step
            yield Goods("length", offer.name, length, offer.price * many)
            if length >= enough:
                break


def _undominated(priced: list[tuple[Kind, Goods]]) -> list[tuple[Kind, Goods]]:
    """Without what is no cheaper than something at least as long, shortest first."""
    kept: list[tuple[Kind, Goods]] = []
    for kind, goods in sorted(priced, key=lambda pair: (-pair[0].capacity, pair[0].cost)):
        if kind.capacity and (not kept or kind.cost < kept[-1][0].cost):
            kept.append((kind, goods))
    return kept[::-1]
