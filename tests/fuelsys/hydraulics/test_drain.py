"""Emptying tanks and siphon crests against the published problems."""

from __future__ import annotations

from math import pi

import pytest

from fuelsys.hydraulics.drain import drain_time, level_after, siphon_crest

FT = 0.3048


def test_practice_problem_time_to_drain() -> None:
    # engineeringprep.com, problem 435: 4 ft tank, nozzle 5 in2, 6 to 2 ft, g 32.2: 94 s (93.9).
    # Here 93.38 s, deviation -0.6 %: the roots are rounded there.
    time = drain_time(
        6 * FT,
        2 * FT,
        plan_area_m2=pi * (2 * FT) ** 2,
        opening_area_m2=5 * 0.0254**2,
        coefficient=1.0,
        gravity_m_s2=32.2 * FT,
    )
    assert time == pytest.approx(93.38, abs=0.005)
    assert time / 93.9 - 1 == pytest.approx(-0.006, abs=5e-4)


def test_torricelli_demonstration() -> None:
    # Wolfram Demonstrations, "Time to Drain a Tank Using Torricelli's Law":
    # t = (r/a)^2 sqrt(2 h/g); r 2.5 m, a 0.01 m, h 2 m, g 9.81.
    published = (2.5 / 0.01) ** 2 * (2 * 2 / 9.81) ** 0.5
    areas = {"plan_area_m2": pi * 2.5**2, "opening_area_m2": pi * 0.01**2}
    time = drain_time(2.0, 0.0, coefficient=1.0, gravity_m_s2=9.81, **areas)
    assert time == pytest.approx(published, rel=1e-9)
    assert time == pytest.approx(39_909, abs=0.5)
    half = level_after(time / 2, 2.0, coefficient=1.0, gravity_m_s2=9.81, **areas)
    assert half == pytest.approx(0.5)  # the root of the level falls evenly
    assert level_after(2 * time, 2.0, coefficient=1.0, gravity_m_s2=9.81, **areas) == 0.0


def test_level_and_time_undo_each_other() -> None:
    areas = {"plan_area_m2": 0.3, "opening_area_m2": 7e-5, "coefficient": 0.61}
    time = drain_time(0.5, 0.2, **areas)
    assert level_after(time, 0.5, **areas) == pytest.approx(0.2)


def test_siphon_of_munson_3_10() -> None:
    # Munson and others, Fundamentals of Fluid Mechanics, example 3.10: 28.2 ft, with the
    # vapor pressure rounded to -14.4 psi gauge: by hand 28.23, deviation +0.1 %. With
    # -14.444 psi, as 0.256 psi absolute is, 28.33 ft.
    def crest(gauge_psi: float) -> float:
        boiling = (14.7 + gauge_psi) * 144
        return siphon_crest(5.0, boiling, atmosphere_pa=14.7 * 144, weight_n_m3=62.4)

    assert crest(-14.4) / 28.2 - 1 == pytest.approx(0.001, abs=2e-4)
    assert crest(-14.4) == pytest.approx(28.23, abs=0.005)
    assert crest(-14.444) == pytest.approx(28.33, abs=0.005)


@pytest.mark.parametrize(("start", "end"), [(1.0, 2.0), (1.0, -0.1)])
def test_a_level_cannot_rise_or_pass_the_opening(start: float, end: float) -> None:
    with pytest.raises(ValueError, match="above the opening"):
        drain_time(start, end, plan_area_m2=1.0, opening_area_m2=0.01, coefficient=1.0)
