"""What can only make it worse never makes it better; and the search misses nothing."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document.model import Component, Document, Hose
from tests.fuelsys.hydraulics.builders import (
    changed,
    curve_of,
    line,
    number,
    of,
    pickup,
    pump,
    run,
    system,
)

Route = list[tuple[float, float]]
routes = st.lists(st.tuples(st.integers(1, 8), st.integers(-8, 8)), min_size=2, max_size=6).map(
    lambda steps: _route(steps)
)
openings = st.sampled_from([None, 0.0, 0.1, 0.3, 0.7])


def _route(steps: list[tuple[int, int]]) -> Route:
    points = [(0.0, steps[0][1] / 10)]
    for span, height in steps[1:]:
        points.append((points[-1][0] + span / 5, height / 10))
    return points


def one(points: Route, opening: float | None) -> Document:
    return line(points, first=pickup(opening), last=pump())


def volume(document: Document) -> float:
    found = of(document).volume_m3
    assert found is not None
    return found


def at_least(more: float, less: float) -> None:
    assert more >= less * (1 - 2e-5) - 1e-15


@given(routes, openings)
def test_a_wider_hose_never_lets_less_out(points: Route, opening: float | None) -> None:
    document = one(points, opening)
    wide = changed(document, "S1", hose=Hose(inside_diameter_m=number("0.0127")))
    at_least(volume(wide), volume(document))


@given(routes)
def test_a_valve_that_opens_sooner_never_lets_less_out(points: Route) -> None:
    heads = [0.9, 0.5, 0.2, 0.05, 0.0]
    volumes = [volume(one(points, head)) for head in heads]
    for sooner, later in zip(volumes[1:], volumes, strict=False):
        at_least(sooner, later)


@given(routes, st.sampled_from([0.0, 0.1, 0.3]))
def test_a_fuller_tank_never_lets_less_out(points: Route, opening: float) -> None:
    document = one(points, opening)
    volumes = [volume(changed(document, "T", surface_m=number(z))) for z in (-0.5, 0, 0.2, 0.6)]
    for fuller, emptier in zip(volumes[1:], volumes, strict=False):
        at_least(fuller, emptier)


@given(routes)
def test_a_longer_hose_behind_a_valve_that_holds_never_lets_less_out(points: Route) -> None:
    document = one(points, 9.0)
    longer = changed(document, "S1", length_m=number(points[-1][0]) * Fraction(3, 2))
    assert volume(longer) == pytest.approx(1.5 * volume(document))


@given(routes, openings)
def test_an_open_far_end_never_lets_less_out(points: Route, opening: float | None) -> None:
    is_open = line(points, first=pickup(opening), last=Component("END", "carburetor"))
    at_least(volume(is_open), volume(one(points, opening)))


@given(routes, openings, st.booleans())
def test_no_cut_on_a_dense_grid_is_worse(
    points: Route, opening: float | None, open_end: bool
) -> None:
    last = Component("END", "carburetor") if open_end else pump()
    found = of(line(points, first=pickup(opening), last=last), curves=True)
    assert found.volume_m3 is not None
    assert max(t + f for _, t, f in curve_of(found)) <= found.volume_m3 * (1 + 2e-5) + 1e-15
    assert found.volume_m3 <= (found.upper_bound_m3 or 0.0) * (1 + 1e-9) + 1e-15


def test_a_flow_that_falls_while_the_contents_rise() -> None:
    """P --S1, down a gentle slope-- JOINT --S2, wide, gently up-- ENG.

    Down the slope the tank gives less through the longer hose, while more of the wide hose
    beyond stands above the cut: no cut of a fine grid is worse than the one that was solved.
    """
    document = system(
        [pickup(), Component("JOINT", "connector"), pump()],
        [
            run("S1", ("P", "JOINT"), ((0, -0.001), (0.1, -0.001), (4, -0.05))),
            run("S2", ("JOINT", "ENG"), ((0, -0.05), (3, 0.0)), bore="0.0508"),
        ],
    )
    found = of(document, curves=True)
    assert found.volume_m3 is not None
    far = [far_side for _, _, far_side in curve_of(found)]
    assert far[-1] > 2 * far[0]
    grid = max(tank_side + far_side for _, tank_side, far_side in curve_of(found))
    assert grid == pytest.approx(found.volume_m3, rel=2e-5)
