"""The fuels' figures against the published ranges they were chosen in."""

from __future__ import annotations

import pytest

from fuelsys.hydraulics.expansion import thermal_expansion, volume_correction
from fuelsys.hydraulics.liquids import Liquid, has_density, liquid


def test_defaults_lie_in_the_published_ranges() -> None:
    # DOE AFDC, Properties of Fuels: gasoline SG 0.72-0.78, 0.5-0.6 mm2/s; diesel 2.8-5.0.
    gasoline, diesel = liquid("gasoline"), liquid("diesel")
    assert 720 <= gasoline.density_kg_m3 <= 780
    assert 0.5e-6 <= gasoline.viscosity_m2_s <= 0.6e-6
    # An older edition: gasoline 0.37-0.44 cP.
    assert 0.37e-3 <= gasoline.density_kg_m3 * gasoline.viscosity_m2_s <= 0.44e-3
    assert 810 <= diesel.density_kg_m3 <= 890
    assert 2.8e-6 <= diesel.viscosity_m2_s <= 5.0e-6


def test_an_unknown_blend_is_taken_as_plain_gasoline_at_twenty_degrees() -> None:
    assert liquid("gasoline") == liquid("gasoline", ethanol_pct=0, temperature_c=20)


def test_blends_lie_between_their_neighbors() -> None:
    e0, e5, e10, e85 = (liquid("gasoline", ethanol_pct=pct) for pct in (0, 5, 10, 85))
    assert e0.density_kg_m3 < e5.density_kg_m3 < e10.density_kg_m3 < e85.density_kg_m3 < 794
    assert e0.viscosity_m2_s < e5.viscosity_m2_s < e10.viscosity_m2_s < e85.viscosity_m2_s
    assert e10 == Liquid(750.0, 0.60e-6)
    # Ethanol itself, the same table: SG 0.794, 1.50 mm2/s.
    assert liquid("gasoline", ethanol_pct=100).viscosity_m2_s == pytest.approx(1.5e-6)


@pytest.mark.parametrize(
    ("fuel", "low", "high"), [("gasoline", 0.8e-6, 1.0e-6), ("diesel", 9.0e-6, 24.0e-6)]
)
def test_viscosity_at_minus_four_fahrenheit(fuel: str, low: float, high: float) -> None:
    # The same table at -4 F.
    assert low <= liquid(fuel, temperature_c=-20).viscosity_m2_s <= high


def test_diesel_viscosity_at_one_hundred_and_four_fahrenheit() -> None:
    # The same table at 104 F: 1.3-4.1 mm2/s; not used to set the line.
    assert 1.3e-6 <= liquid("diesel", temperature_c=40).viscosity_m2_s <= 4.1e-6


def test_temperatures_beyond_the_figures_are_held_at_the_last() -> None:
    warm, hot = liquid("gasoline", temperature_c=45), liquid("gasoline", temperature_c=60)
    assert hot.viscosity_m2_s == warm.viscosity_m2_s
    assert liquid("gasoline", temperature_c=80) == hot
    cool, cold = liquid("diesel", temperature_c=-20), liquid("diesel", temperature_c=-40)
    assert cold.viscosity_m2_s == cool.viscosity_m2_s
    assert liquid("diesel", temperature_c=-60) == cold


def test_density_goes_on_by_the_petroleum_tables_where_viscosity_ends() -> None:
    cool, cold = (liquid("diesel", temperature_c=c).density_kg_m3 for c in (-20, -30))
    grown = volume_correction(850.0, -20) / volume_correction(850.0, -30)
    assert cold * grown == pytest.approx(cool)
    assert [has_density(c) for c in (-40.1, -40, 60, 60.1)] == [False, True, True, False]


@pytest.mark.parametrize(
    # Fuel mass and volume table (online tool): 730 -> 0.00125, 835 -> 0.00084 (+1.5 % here).
    ("density", "published", "within"),
    [(730.0, 0.00125, 0.002), (835.0, 0.00084, 0.016)],
)
def test_expansion_coefficients(density: float, published: float, within: float) -> None:
    assert thermal_expansion(density) == pytest.approx(published, rel=within)


def test_the_density_falls_as_the_volume_grows() -> None:
    warm = liquid("gasoline", temperature_c=30).density_kg_m3
    grown = volume_correction(740.0, 20) / volume_correction(740.0, 30)
    assert warm * grown == pytest.approx(740.0)
    assert 5 * grown == pytest.approx(5.062, abs=0.001)
    assert volume_correction(780.0, 15.0) == 1.0


def test_what_has_no_figures_is_refused() -> None:
    with pytest.raises(ValueError, match="kerosene"):
        liquid("kerosene")
    with pytest.raises(ValueError, match="120"):
        liquid("gasoline", ethanol_pct=120)
    with pytest.raises(ValueError, match="600"):
        thermal_expansion(600.0)
