"""The contents of random lines against a simulation in cells, at random cuts."""

from __future__ import annotations

from itertools import pairwise
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document.model import Component
from tests.fuelsys.hydraulics.builders import line, of, pickup, pump
from tests.fuelsys.hydraulics.cells import Cell, cells_of, drained

AREA_M2 = pi / 4 * 0.009525**2
SIZE_M = 0.02
# Heights in steps of 0.1 m, so that level runs, ties and equal crests come up often.
heights = st.lists(st.integers(-5, 5), min_size=3, max_size=7)
lengths = st.lists(st.integers(1, 4), min_size=6, max_size=6)


def route(steps: list[int], spans: list[int]) -> list[tuple[float, float]]:
    points = [(0.0, steps[0] / 10)]
    for height, span in zip(steps[1:], spans, strict=False):
        points.append((points[-1][0] + span / 4, height / 10))
    return points


@pytest.mark.parametrize("open_end", [False, True])
@given(steps=heights, spans=lengths)
def test_every_cut_of_the_curve_drains_what_the_cells_drain(
    open_end: bool, steps: list[int], spans: list[int]
) -> None:
    """P (valve that holds) --any route-- an end that a check valve closes, or open to the air."""
    points = route(steps, spans)
    last = Component("END", "carburetor") if open_end else pump("END")
    found = of(line(points, first=pickup(9.0), last=last), curves=True)
    cells = cells_of(points, AREA_M2, SIZE_M)
    # A boundary may fall inside a cell: one for each piece and each side, at the most.
    slack = 2 * (len(points) + 1) * SIZE_M * AREA_M2
    steepest = max(abs(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points))
    for at, tank_side, far_side in found.curve[:: max(1, len(found.curve) // 12)]:
        height = _height(points, at)
        toward_tank = [cell for d, cell in reversed(cells) if d < at]
        outward = [cell for d, cell in cells if d > at]
        if any(abs(z - height) < steepest * SIZE_M for _, z in points):
            continue  # level with a vertex, a run counts or not by less than a cell shows
        assert tank_side == pytest.approx(drained(toward_tank, height, open_end=False), abs=slack)
        assert far_side == pytest.approx(drained(outward, height, open_end=open_end), abs=slack)


@given(steps=heights, spans=lengths)
def test_no_cell_cut_is_worse_than_the_worst(steps: list[int], spans: list[int]) -> None:
    points = route(steps, spans)
    found = of(line(points, first=pickup(9.0), last=pump("END")))
    assert found.volume_m3 is not None
    assert found.upper_bound_m3 is not None
    cells = cells_of(points, AREA_M2, 0.05)
    slack = len(points) * 0.05 * AREA_M2  # half a cell at each barrier of either side
    for k, (_, cut) in enumerate(cells):
        before, after = cells[:k][::-1], cells[k + 1 :]
        volume = sum(
            drained([c for _, c in side], cut.height_m, open_end=False) for side in (before, after)
        )
        assert volume <= found.volume_m3 + slack
    assert found.volume_m3 <= found.upper_bound_m3 + 1e-15


def test_the_second_method_finds_a_planted_fault() -> None:
    """Forget the barrier and the pocket behind it runs out too: the cells would say so."""
    points = [(0.0, 0.0), (1.0, 0.5), (2.0, 0.1), (3.0, 0.3)]
    outward = [cell for _, cell in cells_of(points, AREA_M2, SIZE_M)]
    right = drained(outward, 0.0, open_end=False)
    forgetful = sum(cell.volume_m3 for cell in outward if cell.height_m >= 0.0)
    assert right == pytest.approx(1.0 * AREA_M2, rel=0.05)
    assert forgetful == pytest.approx(3.0 * AREA_M2, rel=0.05)
    assert drained([Cell(1.0, 5e-6)], 0.5, open_end=False) == 5e-6


def _height(points: list[tuple[float, float]], at: float) -> float:
    for (s0, z0), (s1, z1) in pairwise(points):
        if s0 <= at <= s1:
            return z0 + (z1 - z0) * (at - s0) / (s1 - s0)
    raise AssertionError(at)
