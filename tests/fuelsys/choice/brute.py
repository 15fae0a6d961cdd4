"""A second solver for the choice of products: every combination, nothing clever."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product

from fuelsys.choice.whole import REELS, Holds, Option

Answer = tuple[tuple[tuple[str, str], ...], int] | None


def best(
    options: Sequence[Option], objective: str, fixed: Mapping[str, int], holds: Holds | None
) -> Answer:
    """The picks and their cost; the least by objective, then cost, then names."""
    held = [
        (_rank(picks, options, objective, fixed), tuple(sorted(picks.items())))
        for picks in combinations(options)
        if holds is None or not holds(picks)
    ]
    if not held:
        return None
    _first, picks = min(held)
    return picks, cost(dict(picks), options, fixed)


def combinations(options: Sequence[Option]) -> Iterator[dict[str, str]]:
    segments = sorted({each.segment for each in options})
    own = [[each.product for each in options if each.segment == segment] for segment in segments]
    for products in product(*own):
        yield dict(zip(segments, products, strict=True))


def cost(picks: Mapping[str, str], options: Sequence[Option], fixed: Mapping[str, int]) -> int:
    known = {(each.segment, each.product): each.cents for each in options}
    return sum(known[pick] for pick in picks.items()) + sum(
        fixed.get(each, 0) for each in set(picks.values())
    )


def _rank(
    picks: Mapping[str, str], options: Sequence[Option], objective: str, fixed: Mapping[str, int]
) -> tuple[int, int]:
    reels = len(set(picks.values())) if objective == REELS else 0
    return reels, cost(picks, options, fixed)
