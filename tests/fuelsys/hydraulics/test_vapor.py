"""Vapor against the explosive limit, and the sizes of ventilation."""

from __future__ import annotations

from math import inf, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.hydraulics.vapor import (
    air_changes,
    air_needed,
    explosive_limit,
    sealed_time,
    vapor_weight,
    ventilated_concentration,
)
from fuelsys.hydraulics.ventilation import (
    CFM_M3_S,
    FT3_M3,
    IN2_M2,
    blower_capacity,
    natural_area,
)

PSI = 6894.757
FT3_PER_POUND_MOL = 386.7  # at 70 F and one atmosphere, industrial ventilation


def test_grams_and_milliliters_to_the_limit() -> None:
    # 0.014 x 101325 x 66/(8.314462618 x 298.15): 37.8 g/m3; 61.8 mL at 5.1 lb/gal, 51.0 at 740.
    limit = explosive_limit(25.0)
    assert limit == pytest.approx(37.8, abs=0.05)
    weight, condensed = vapor_weight()
    assert (weight, limit / condensed * 1000) == (66.0, pytest.approx(61.8, abs=0.1))
    assert limit / 0.740 == pytest.approx(51.0, abs=0.1)
    assert 0.25 * limit == pytest.approx(9.4, abs=0.1)


@pytest.mark.parametrize(
    ("rvp", "weight", "pounds"),
    # AP-42 table 7.1-2 (secondary copy), and halfway between two rows, and beyond them.
    [(7, 68, 5.2), (10, 66, 5.1), (13, 62, 4.9), (11.5, 64, 5.0), (5, 68, 5.2), (15, 62, 4.9)],
)
def test_weight_of_vapor(rvp: float, weight: float, pounds: float) -> None:
    found = vapor_weight(rvp * PSI)
    assert found[0] == pytest.approx(weight)
    assert found[1] == pytest.approx(pounds * 0.45359237 / 3.785411784e-3)


def test_the_dilution_equation() -> None:
    # Q = 403e6 SG ER K/(MW C) ft3/h with ER in pints an hour and C in ppm (University of Toledo,
    # industrial ventilation formula sheet): 403 ft3 of vapor to the pint at SG/MW = 1; here 403.2.
    pint_m3 = 3.785411784e-3 / 8
    pound_kg = 0.45359237
    constant = pint_m3 / FT3_M3 * 62.4 * FT3_PER_POUND_MOL
    assert constant == pytest.approx(403.2, abs=0.05)
    assert constant / 403 - 1 == pytest.approx(0.0005, abs=2e-4)
    # One pint an hour of SG 0.74, vapor weight 66, kept at 1.4 % by volume at 70 F.
    expected_ft3_h = 403e6 * 0.74 * 1 * 1 / (66 * 14_000)
    rate = 0.74 * 62.4 * pound_kg / FT3_M3 * pint_m3 * 1000 / 3600
    found = air_needed(rate, explosive_limit((70 - 32) / 1.8), share=1.0)
    assert found * 3600 / FT3_M3 == pytest.approx(expected_ft3_h, rel=0.003)


def test_purging_a_space() -> None:
    # HVAC design guide (February 2000, revised 2006): 20 to 1.4 % with K 0.2: 13.3 changes, and
    # 6.65 min at two changes a minute.
    changes = air_changes(20.0, 1.4, mixing=0.2)
    assert changes == pytest.approx(13.3, abs=0.005)
    assert changes / 2 == pytest.approx(6.65, abs=0.005)


@given(st.floats(1e-5, 1e-1), st.floats(0.1, 20.0), st.floats(0.0, 1e-2), st.floats(1.0, 1e5))
def test_a_ventilated_space_in_small_steps(
    rate: float, volume: float, air: float, seconds: float
) -> None:
    """The second method: the balance of mass, stepped halfway implicitly."""
    steps = 1000
    dt = seconds / steps
    held = 0.0
    half = air * dt / (2 * volume)
    for _ in range(steps):
        held = (held * (1 - half) + rate * dt / volume) / (1 + half)
    found = ventilated_concentration(seconds, rate, volume, air)
    assert found == pytest.approx(held, rel=max(2e-3, (air * dt / volume) ** 2))


def test_a_sealed_space_and_one_without_a_source() -> None:
    limit = explosive_limit(25.0)
    seconds = sealed_time(0.01, 2.0, limit)
    assert ventilated_concentration(seconds, 0.01, 2.0, 0.0) == pytest.approx(limit)
    assert sealed_time(0.0, 2.0, limit) == inf
    # In the end just at the share that the air was sized for.
    air = air_needed(0.01, limit, share=0.25)
    assert ventilated_concentration(1e9, 0.01, 2.0, air) == pytest.approx(limit / 4)


@given(st.floats(1e-6, 1.0), st.floats(1.01, 3.0), st.floats(0.1, 10.0))
def test_a_greater_leak_never_takes_longer_or_less_air(
    rate: float, times: float, volume: float
) -> None:
    limit = explosive_limit(20.0)
    assert sealed_time(rate * times, volume, limit) < sealed_time(rate, volume, limit)
    assert air_needed(rate * times, limit) > air_needed(rate, limit)


def test_below_absolute_zero_there_is_no_vapor() -> None:
    with pytest.raises(ValueError, match="absolute zero"):
        explosive_limit(-300.0)


@pytest.mark.parametrize(
    ("volume_ft3", "rated", "output"),
    # 33 CFR 183.610 and its table, with both edges: at 34 ft3 the step of the table.
    [
        (20, 50, 20),
        (33.999, 50, 20),
        (34, 51.0, 20.4),
        (60, 90, 36),
        (100, 150, 60),
        (100.001, 150, 60),
        (150, 175, 70),
    ],
)
def test_blowers(volume_ft3: float, rated: float, output: float) -> None:
    found = blower_capacity(volume_ft3 * FT3_M3)
    assert [flow / CFM_M3_S for flow in found] == pytest.approx([rated, output], rel=1e-4)


@pytest.mark.parametrize(
    ("volume_ft3", "area_in2"),
    # 33 CFR 183.630(d): 5 ln(V/5), more than 3.0 in2 each; the floor governs below 9.11 ft3.
    [(50, 11.51), (60, 12.42), (9.11, 3.0), (9.2, 3.05), (5, 3.0), (1, 3.0)],
)
def test_natural_ventilation(volume_ft3: float, area_in2: float) -> None:
    found = natural_area(volume_ft3 * FT3_M3) / IN2_M2
    assert found == pytest.approx(area_in2, abs=0.005)
    if area_in2 > 3.0:
        assert found == pytest.approx(5 * log(volume_ft3 / 5))


@pytest.mark.parametrize("size", [natural_area, blower_capacity])
def test_no_volume_has_no_size(size: object) -> None:
    assert callable(size)
    with pytest.raises(ValueError, match="above 0"):
        size(0.0)
