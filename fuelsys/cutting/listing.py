"""From patterns to a list a person can cut by: which piece, from what, and what is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fuelsys.cutting.model import NOTHING, Cut, HosePlan, Need, Piece, Source
from fuelsys.cutting.problem import Pattern, Solved
from fuelsys.cutting.stock import Stock


def listed(
    need: Need, stock: Stock, found: Solved, lacking: Sequence[int], held: Solved
) -> HosePlan:
    waiting = {size: list(pieces) for size, pieces in stock.pieces.items()}
    lost = {piece.id for piece in stock.too_long}
    for size, n in zip(stock.sizes, lacking, strict=True):
        lost |= {waiting[size].pop().id for _ in range(n)}
    sources = tuple(_sources(need, stock, found.patterns, waiting))
    cost = sum((source.price for source in sources), NOTHING)
    missing = [piece for piece in need.pieces if piece.id in lost]
    lost_length = sum(piece.length + need.trim + need.kerf for piece in missing)
    sure = sum(piece.length + need.trim + need.kerf for piece in stock.too_long)
    return HosePlan(
        hose=need.hose,
        sources=sources,
        lacking=tuple(piece.id for piece in missing),
        lacking_length=lost_length,
        lacking_bound=lost_length
        if held.cost == held.bound
        else sure + stock.lack_at_least(held.bound),
        cost=cost,
        bound=min(cost, stock.money(found.bound) if stock.bought else NOTHING),
    )


def _sources(
    need: Need, stock: Stock, patterns: Sequence[Pattern], waiting: dict[int, list[Piece]]
) -> Iterator[Source]:
    """Remnants first, in the order given, then what is bought, shortest first."""
    first_bought = len(stock.on_hand)
    of_hand = [p for p in patterns if p.kind < first_bought]
    filled = _by_remnant(need, stock, of_hand)
    for remnant in need.remnants:
        if remnant.id in filled:
            cuts = _cuts(need, stock, filled[remnant.id], waiting)
            if cuts:
                left = _left(need, remnant.length, cuts)
                yield Source("remnant", remnant.id, remnant.length, cuts, left, remnant.lot)
    for pattern in sorted((p for p in patterns if p.kind >= first_bought), key=_by_kind):
        goods = stock.goods[pattern.kind - first_bought]
        cuts = _cuts(need, stock, pattern, waiting)
        if cuts:
            left = _left(need, goods.length, cuts)
            yield Source(goods.kind, goods.name, goods.length, cuts, left, price=goods.price)


def _by_kind(pattern: Pattern) -> tuple[int, tuple[int, ...]]:
    return (pattern.kind, tuple(-n for n in pattern.counts))


def _by_remnant(need: Need, stock: Stock, patterns: Sequence[Pattern]) -> dict[str, Pattern]:
    """The shortest free remnant for each pattern, fullest first: long remnants stay whole.

    A fuller pattern fits fewer remnants, and each of those fits every other pattern too, so
    whichever is taken the rest still find one.
    """
    free = sorted(need.remnants, key=lambda remnant: remnant.length)
    filled: dict[str, Pattern] = {}
    for pattern in sorted(patterns, key=lambda p: (-_length(need, stock, p), p.counts)):
        length = _length(need, stock, pattern)
        remnant = next(r for r in free if r.length + need.kerf >= length)
        free.remove(remnant)
        filled[remnant.id] = pattern
    return filled


def _length(need: Need, stock: Stock, pattern: Pattern) -> int:
    """What a pattern takes up, in the units of the need."""
    return sum(
        n * (stock.pieces[size][0].length + need.trim + need.kerf)
        for n, size in zip(pattern.counts, stock.sizes, strict=True)
    )


def _cuts(
    need: Need, stock: Stock, pattern: Pattern, waiting: dict[int, list[Piece]]
) -> tuple[Cut, ...]:
    """The next pieces of each size, longest first; what is already cut is not cut again."""
    cuts = []
    for n, size in zip(pattern.counts, stock.sizes, strict=True):
        taken, waiting[size] = waiting[size][:n], waiting[size][n:]
        cuts += [Cut(piece.id, piece.length + need.trim) for piece in taken]
    return tuple(cuts)


def _left(need: Need, length: int, cuts: Sequence[Cut]) -> int:
    return max(0, length - sum(cut.length + need.kerf for cut in cuts))
