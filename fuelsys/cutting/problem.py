"""The integer problem behind a cut list: sizes to cover, kinds of stock, and filled patterns."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import gcd


@dataclass(frozen=True, slots=True)
class Kind:
    """Stock of one length and cost; `count` is None where as many as wanted can be bought."""

    capacity: int
    cost: int
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Pattern:
    """One piece of stock with how many of each size are cut from it."""

    kind: int
    counts: tuple[int, ...]


@dataclass(frozen=True)
class Problem:
    """Cover every size at least `demands` times at the least cost.

    `sizes` descend. `lack_costs` is the cost of leaving one of a size uncut; without it every
    size must be covered, and the stock must allow it.
    """

    sizes: tuple[int, ...]
    demands: tuple[int, ...]
    kinds: tuple[Kind, ...]
    lack_costs: tuple[int, ...] | None = None

    @cached_property
    def grid(self) -> int:
        """Every plan costs a multiple of this."""
        costs = [kind.cost for kind in self.kinds] + list(self.lack_costs or ())
        return gcd(*costs) or 1

    @cached_property
    def most(self) -> tuple[int, ...]:
        """How many of each kind any plan can use: each holds at least one piece."""
        pieces = sum(self.demands)
        return tuple(min(pieces, pieces if k.count is None else k.count) for k in self.kinds)

    def used(self, pattern: Pattern) -> int:
        return sum(n * size for n, size in zip(pattern.counts, self.sizes, strict=True))


@dataclass(frozen=True, slots=True)
class Solved:
    """Patterns with repeats, the pieces left uncut by size, the cost and a proven bound."""

    patterns: tuple[Pattern, ...]
    lacking: tuple[int, ...]
    cost: int
    bound: int
