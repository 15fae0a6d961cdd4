"""A second method for the contents: the line cut into short cells, liquid moved cell by cell.

Nothing here is shared with the code under test: no pieces, no barriers carried along, no
closed forms. A cell's liquid runs to the cut when a flood at its own level reaches the cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Cell:
    height_m: float
    volume_m3: float


def cells_of(
    points: Sequence[tuple[float, float]], area_m2: float, size_m: float
) -> list[tuple[float, Cell]]:
    """(distance of its middle, cell) along a route."""
    found = []
    for (s0, z0), (s1, z1) in pairwise(points):
        count = max(1, round((s1 - s0) / size_m))
        for k in range(count):
            share = (k + 0.5) / count
            at = s0 + (s1 - s0) * share
            found.append((at, Cell(z0 + (z1 - z0) * share, (s1 - s0) / count * area_m2)))
    return found


def ponding(outward: Sequence[Cell], cut_m: float) -> list[bool]:
    """For each cell from the cut outward, whether it runs out."""
    gone = []
    for k, cell in enumerate(outward):
        level = cell.height_m
        flooded = cut_m <= level
        for between in outward[:k]:
            flooded = flooded and between.height_m <= level
        gone.append(flooded)
    return gone


def plug(outward: Sequence[Cell], cut_m: float) -> list[bool]:
    """The same for air that comes in at the far end and pushes toward the cut."""
    gone = [False] * len(outward)
    for k in reversed(range(len(outward))):
        if outward[k].height_m <= cut_m:
            break
        gone[k] = True
    return gone


def drained(outward: Sequence[Cell], cut_m: float, *, open_end: bool) -> float:
    """Volume that runs out of one side [m3], no cell counted twice."""
    gone = ponding(outward, cut_m)
    if open_end:
        gone = [a or b for a, b in zip(gone, plug(outward, cut_m), strict=True)]
    return sum(cell.volume_m3 for cell, out in zip(outward, gone, strict=True) if out)
