"""A tank whose surface falls: against the closed form and the steady flow."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.hydraulics.drain import drain_time, level_after
from fuelsys.hydraulics.falling import falling_outflow
from fuelsys.hydraulics.flow import outflow

BORE_M = 0.009525
NU = 0.55e-6
SHORT_TUBE = 1.5**-0.5  # K 0.5 at the entrance and 1 at the exit: Q = 0.8165 A sqrt(2 g H)


def falling(head: float, area: float, length: float = 0.0, **options: float) -> float:
    runs = [(BORE_M, length)] if length else []
    return falling_outflow(
        head, runs, plan_area_m2=area, viscosity_m2_s=NU, cut_diameter_m=BORE_M, **options
    )


@pytest.mark.parametrize("area", [0.02, 0.05, 0.5])
def test_without_a_hose_it_is_the_closed_form(area: float) -> None:
    opening = pi / 4 * BORE_M**2
    left = level_after(
        150.0, 0.3, plan_area_m2=area, opening_area_m2=opening, coefficient=SHORT_TUBE
    )
    assert falling(0.3, area) == pytest.approx(area * (0.3 - left), rel=2e-4)


def test_a_published_tank_that_drains() -> None:
    # Practice problem 435, "Time to Drain" (engineeringprep.com): a tank of 4 ft, a nozzle of
    # 5 in2, from 6 to 2 ft in 94 s (93.4 unrounded). Here the short tube of that area, which takes
    # 93.4 s / 0.8165.
    foot = 0.3048
    area, opening = pi / 4 * (4 * foot) ** 2, 5 * 0.0254**2
    seconds = drain_time(
        6 * foot, 2 * foot, plan_area_m2=area, opening_area_m2=opening, coefficient=1.0
    )
    assert seconds == pytest.approx(94, rel=0.007)
    bore = (4 * opening / pi) ** 0.5
    volume = falling_outflow(
        6 * foot,
        [],
        plan_area_m2=area,
        viscosity_m2_s=NU,
        cut_diameter_m=bore,
        time_s=seconds / SHORT_TUBE,
    )
    assert volume == pytest.approx(area * 4 * foot, rel=1e-3)


@given(st.floats(0.02, 1.0), st.floats(0.01, 1.0), st.floats(0.2, 4.0))
def test_never_more_than_the_steady_flow_nor_than_the_tank_holds(
    head: float, area: float, length: float
) -> None:
    steady = outflow(head, [(BORE_M, length)], viscosity_m2_s=NU, cut_diameter_m=BORE_M) * 150
    found = falling(head, area, length, step_s=2.0)
    assert 0.0 < found <= min(steady, area * head) * (1 + 1e-9)


def test_a_wide_tank_gives_the_steady_flow() -> None:
    steady = outflow(0.3, [(BORE_M, 2.0)], viscosity_m2_s=NU, cut_diameter_m=BORE_M) * 150
    assert falling(0.3, 1000.0, 2.0, step_s=1.0) == pytest.approx(steady, rel=1e-4)


def test_half_the_step_changes_nothing() -> None:
    coarse, fine = falling(0.3, 0.05, 2.0, step_s=1.0), falling(0.3, 0.05, 2.0, step_s=0.5)
    assert coarse == pytest.approx(fine, rel=1e-4)


def test_no_head_no_fuel_and_no_area_no_answer() -> None:
    assert falling(0.0, 0.1) == 0.0
    assert falling(-0.1, 0.1) == 0.0
    with pytest.raises(ValueError, match="above 0"):
        falling(0.3, 0.0)
    with pytest.raises(ValueError, match="above 0"):
        falling(0.3, 0.1, step_s=0.0)


@pytest.mark.parametrize("area", [1e-8, 1e-6, 1e-5, 3e-5, 1e-4])
def test_a_tank_that_is_empty_within_a_step_or_a_few_gives_all_above_the_cut(area: float) -> None:
    assert falling(0.1, area) == pytest.approx(area * 0.1, rel=1e-9)
    assert falling(0.1, area, 1.0) == pytest.approx(area * 0.1, rel=1e-9)
    # Fuel 6 cm deep, its bottom above the cut: no more than that runs out.
    assert falling(0.1, area, depth_m=0.06) == pytest.approx(area * 0.06, rel=1e-9)


def test_a_narrow_tank_never_gives_more_than_the_steady_flow() -> None:
    steady = outflow(0.1, [(BORE_M, 1.0)], viscosity_m2_s=NU, cut_diameter_m=BORE_M) * 0.1
    for area in (1e-5, 3e-5, 1e-4, 1e-3):
        found = falling(0.1, area, 1.0, time_s=0.1)
        assert found <= min(steady, area * 0.1) * (1 + 1e-9)
