"""The fullest value of every capacity at once, and which pieces make it up: numpy, exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Knapsack:
    """Best values by capacity, 0 to the largest, and the steps that led there."""

    values: Any  # int64, (capacity + 1,)
    steps: tuple[tuple[int, int, int, Any], ...]  # (item, how many, their size, where taken)
    items: int

    def value(self, capacity: int) -> int:
        return int(self.values[capacity])

    def counts(self, capacity: int) -> tuple[int, ...]:
        """How many of each item make up the best value of a capacity."""
        counts = [0] * self.items
        for item, many, size, taken in reversed(self.steps):
            if capacity >= size and taken[capacity - size]:
                counts[item] += many
                capacity -= size
        return tuple(counts)


def knapsack(
    sizes: Sequence[int], values: Sequence[int], limits: Sequence[int], capacity: int
) -> Knapsack:
    """Choose at most `limits` of each item for the largest value, for every capacity.

    Parameters
    ----------
    sizes, values, limits : sequence of int
        Of each item: its size (above 0), its value (0 or more) and how many there are.
    capacity : int
        The largest capacity, in the unit of `sizes`.

    Returns
    -------
    Knapsack
        With the best value of every capacity from 0, and its items.

    Raises
    ------
    ValueError
        A size that is not above 0.

    Valid for
    ---------
    Values whose sum stays below 2^63: the arithmetic is exact.

    Source
    ------
    Bellman's recursion; the bound on each item by splitting it into powers of two.

    Examples
    --------
    >>> filled = knapsack([65, 61, 25], [65, 61, 25], [1, 1, 2], 100)
    >>> filled.value(100), filled.counts(100)
    (90, (1, 0, 1))
    """
    import numpy as np

    if min(sizes, default=1) <= 0:
        raise ValueError(f"size {min(sizes)} must be more than 0")
    best = np.zeros(capacity + 1, dtype=np.int64)
    steps: list[tuple[int, int, int, Any]] = []
    for item, (size, value, limit) in enumerate(zip(sizes, values, limits, strict=True)):
        for many in _powers(min(limit, capacity // size)) if value > 0 else ():
            best, taken = extended(best, many * size, many * value)
            steps.append((item, many, many * size, taken))
    return Knapsack(best, tuple(steps), len(sizes))


def extended(best: Any, size: int, value: int) -> tuple[Any, Any]:
    """The best values once one more item may be taken, and where it is (from `size` on)."""
    import numpy as np

    moved, kept = best[: len(best) - size] + value, best[size:]
    return np.concatenate((best[:size], np.maximum(moved, kept))), moved > kept


def tails(
    sizes: Sequence[int], values: Sequence[int], limits: Sequence[int], capacity: int
) -> list[memoryview]:
    """For each i the best value of every capacity from the items at i and after, the last none."""
    import numpy as np

    best = np.zeros(capacity + 1, dtype=np.int64)
    found = [best.data]
    for size, value, limit in reversed(list(zip(sizes, values, limits, strict=True))):
        for many in _powers(min(limit, capacity // size)):
            best, _ = extended(best, many * size, many * value)
        found.append(best.data)
    return found[::-1]


def _powers(limit: int) -> list[int]:
    """Parts that add up to every number up to `limit` and no further.

    >>> _powers(10)
    [1, 2, 4, 3]
    """
    parts, part = [], 1
    while limit > 0:
        part = min(part, limit)
        parts.append(part)
        limit -= part
        part *= 2
    return parts
