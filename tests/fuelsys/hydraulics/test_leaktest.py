"""Leak tests: readings against published examples."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.hydraulics.leaktest import (
    Reading,
    judge,
    leak_rate,
    standard_flow,
)

PSI = 6894.757
STEADY = Reading(20684.0, 20684.0, 20.0, 20.0, 360.0, 50.0, 0.1, fuel_wet=False)


def test_the_example_of_40_cfr_1065_644() -> None:
    # 2.0000 L, 25.300 -> 50.600 kPa, 293.15 K, 70 s: published 0.00030 mol/s (into a vacuum).
    filled = Reading(25300.0, 50600.0, 20.0, 20.0, 70.0, 0.0, 0.0, 0.0, 0.0, fuel_wet=False)
    found = -leak_rate(filled, 2.0e-3)
    assert found == pytest.approx(0.00029657, abs=5e-9)
    # Deviation -1.1 %: two digits are printed there.
    assert found / 0.00030 - 1 == pytest.approx(-0.011, abs=5e-4)


def test_equal_temperatures_give_the_formula_of_a_leak_bulletin() -> None:
    # "Derivation of pressure loss to leak rate formula": L.R. = V dp/(t p_atm). 120 L, 0.20 psi in
    # 6 min are 272.18 standard cm3/min; the test air at 20 C.
    fallen = replace(STEADY, end_gauge_pa=STEADY.start_gauge_pa - 0.20 * PSI)
    found = standard_flow(leak_rate(fallen, 0.120)) * 60e6
    assert found == pytest.approx(272.18, rel=1e-4)
    assert found == pytest.approx(0.120 * 0.20 * PSI / (360 * 101325) * 60e6, rel=1e-9)


@given(st.floats(0.5, 6.0), st.floats(0.0, 40.0), st.floats(-15.0, 15.0))
def test_air_that_only_warms_or_cools_has_not_leaked(
    psi: float, celsius: float, change: float
) -> None:
    """The second method: the gas law forward, a sealed vessel at another temperature."""
    start = psi * PSI
    end = (start + 101325) * (celsius + change + 273.15) / (celsius + 273.15) - 101325
    reading = Reading(start, end, celsius, celsius + change, 300.0, 30.0, 0.1, fuel_wet=False)
    found = judge(reading)
    assert found.verdict == "cannot_resolve"
    assert found.drop_pa == pytest.approx(0.0, abs=1e-6)
    assert leak_rate(reading, 0.1) == pytest.approx(0.0, abs=1e-12)


def test_one_kelvin_is_six_hundredths_of_a_psi() -> None:
    # At 3 psi gauge, p/T = (14.696 + 3)/293.15 psi/K.
    cooled = replace(STEADY, end_c=19.0)
    found = judge(cooled)
    assert found.drop_pa is not None
    assert -found.drop_pa / PSI == pytest.approx(0.0604, abs=3e-4)


def test_the_barometer_counts() -> None:
    """A falling barometer lifts the gauge although nothing leaked."""
    lifted = replace(STEADY, end_gauge_pa=STEADY.start_gauge_pa + 300, end_barometer_pa=101025.0)
    assert judge(lifted).drop_pa == pytest.approx(0.0, abs=1e-6)
    assert judge(replace(lifted, end_barometer_pa=101325.0)).drop_pa == pytest.approx(-300)


def test_a_drop_is_judged_against_twice_its_uncertainty() -> None:
    # u = sqrt(2 x 50^2 + 2 (122009 x 0.1/293.15)^2) = 92.0 Pa, by hand.
    uncertainty = judge(STEADY).uncertainty_pa
    assert uncertainty == pytest.approx(92.0, abs=0.05)
    start = STEADY.start_gauge_pa
    none = "cannot_resolve"
    for drop, verdict in [(180, none), (188, "leaks"), (-188, "rose"), (0, none)]:
        assert judge(replace(STEADY, end_gauge_pa=start - drop)).verdict == verdict


def test_a_fuel_wet_system_is_refused() -> None:
    assert judge(replace(STEADY, fuel_wet=True)).verdict == "fuel_wet"
    assert judge(replace(STEADY, fuel_wet=None)).verdict == "fuel_not_known"
    assert judge(replace(STEADY, fuel_wet=True)).drop_pa is None
    for wet in (True, None):
        with pytest.raises(ValueError, match="empty and air"):
            leak_rate(replace(STEADY, fuel_wet=wet), 0.1)


@pytest.mark.parametrize("facts", [{"end_c": -300.0}, {"end_gauge_pa": -2e5}, {"seconds": 0.0}])
def test_readings_that_cannot_be_are_refused(facts: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"read them again|above 0"):
        judge(replace(STEADY, **facts))  # type: ignore[arg-type]


@given(st.floats(1.0, 2000.0), st.floats(1.01, 3.0))
def test_a_greater_drop_never_leaks_less(drop: float, times: float) -> None:
    start = STEADY.start_gauge_pa
    less = leak_rate(replace(STEADY, end_gauge_pa=start - drop), 0.1)
    assert leak_rate(replace(STEADY, end_gauge_pa=start - drop * times), 0.1) > less
