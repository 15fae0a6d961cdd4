"""Fuel that swells: published coefficients, and where they disagree with each other."""

from __future__ import annotations

import pytest

from fuelsys.hydraulics.expansion import (
    density_at_15,
    swelling,
    thermal_expansion,
    volume_correction,
)


@pytest.mark.parametrize(
    ("density", "published", "deviation"),
    [
        # A fuel mass and volume table (online tool): gasoline 730, diesel 835, premium 755 kg/m3.
        (730.0, 0.00125, 0.001),
        (835.0, 0.00084, 0.015),
        (755.0, 0.00110, 0.081),  # disagrees; the petroleum table is kept
    ],
)
def test_coefficient_against_a_published_table(
    density: float, published: float, deviation: float
) -> None:
    assert thermal_expansion(density) / published - 1 == pytest.approx(deviation, abs=0.001)


def test_five_liters_warmed_by_ten_degrees() -> None:
    # General-science page: 0.00095 per degree, linear, makes 5.0475 L of 5 L from 20 to 30 C.
    assert pytest.approx(5.0475) == 5 * (1 + 0.00095 * 10)
    # The petroleum table at 740 kg/m3, by hand from its constants: a = 0.0012256, so that
    # exp(a 15 (1 + 0.8 a 15)) / exp(a 5 (1 + 0.8 a 5)) = 1.01257. The simple figure is 23 % low.
    assert 5 * swelling(740.0, 20.0, 30.0) == pytest.approx(5.0629, abs=0.0001)
    assert 0.00095 / thermal_expansion(740.0) - 1 == pytest.approx(-0.225, abs=0.005)


def test_diesel_of_850() -> None:
    # The table's constants by hand: 186.9696/850^2 + 0.4862/850 = 0.000831.
    assert thermal_expansion(850.0) == pytest.approx(0.000831, abs=5e-7)


def test_swelling_there_and_back_is_nothing() -> None:
    there = swelling(744.0, 10.0, 35.0)
    assert there > 1
    assert there * swelling(744.0, 35.0, 10.0) == pytest.approx(1.0, rel=1e-12)
    assert swelling(744.0, 15.0, 15.0) == 1.0


def test_mass_is_kept_while_the_volume_grows() -> None:
    """Second method: density at temperature times the grown volume is the density at 15 C."""
    warm = 744.0 * volume_correction(744.0, 40.0)
    assert warm * swelling(744.0, 15.0, 40.0) == pytest.approx(744.0, rel=1e-12)


@pytest.mark.parametrize("density_15", [700.0, 744.5, 779.0, 820.0, 850.0])
@pytest.mark.parametrize("temperature_c", [-20.0, 15.0, 20.0, 45.0])
def test_density_at_15_leads_back(density_15: float, temperature_c: float) -> None:
    seen = density_15 * volume_correction(density_15, temperature_c)
    assert density_at_15(seen, temperature_c) == pytest.approx(density_15, rel=1e-6)


def test_warmer_fuel_is_never_smaller() -> None:
    sizes = [swelling(744.5, 20.0, float(t)) for t in range(-40, 61, 5)]
    assert sizes == sorted(sizes)


@pytest.mark.parametrize("temperature_c", [-41.0, 61.0, 500.0, float("nan")])
def test_temperatures_out_of_range_are_refused(temperature_c: float) -> None:
    with pytest.raises(ValueError, match="temperature"):
        swelling(740.0, 20.0, temperature_c)
    with pytest.raises(ValueError, match="temperature"):
        density_at_15(740.0, temperature_c)


@pytest.mark.parametrize("density", [600.0, 1100.0])
def test_densities_out_of_range_are_refused(density: float) -> None:
    with pytest.raises(ValueError, match="outside the table"):
        swelling(density, 20.0, 30.0)
