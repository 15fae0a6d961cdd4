"""Sizes that go together, against published check values."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fuelsys.catalogue.clamp import ClampProduct
from fuelsys.catalogue.fit import (
    clamp_fit,
    clamping_diameter_m,
    clamps_that_fit,
    clearance_m,
    worm_drive_sizes,
)

INCH = Fraction(254, 10000)


@pytest.mark.parametrize(
    ("outside_mm", "inside_mm", "barb_mm", "expected_mm", "sizes", "nearest", "percent"),
    [
        # Worked by hand from the conserved wall section, sizes from SAE J1508 Type F (secondary
        # copy); last how far up its range the nearest of them is closed, in percent.
        (17.5, 9.525, 10.3, 17.93, {"06", "08", "10", "12"}, "08", 50),
        (50.8, 38.1, 38.9, 51.40, {"28", "32", "36"}, "32", 49),
    ],
)
def test_clamping_diameter_and_its_sizes(
    outside_mm: float,
    inside_mm: float,
    barb_mm: float,
    expected_mm: float,
    sizes: set[str],
    nearest: str,
    percent: int,
) -> None:
    diameter_m = clamping_diameter_m(outside_mm / 1000, inside_mm / 1000, barb_mm / 1000)
    assert diameter_m * 1000 == pytest.approx(expected_mm, abs=0.005)
    found = worm_drive_sizes(diameter_m)
    assert {size.number for size in found} == sizes
    assert found[0].number == nearest
    low_m, high_m = found[0].minimum_mm / 1000, found[0].maximum_mm / 1000
    fit = clamp_fit(ClampProduct(nearest, "worm_drive", 0.013, low_m, high_m), diameter_m)
    assert round(100 * fit.share) == percent


def test_size_nearest_mid_range_comes_first() -> None:
    assert worm_drive_sizes(0.01793)[0].number == "08"
    assert worm_drive_sizes(0.05140)[0].number == "32"


def test_diameter_below_every_size_finds_none() -> None:
    assert worm_drive_sizes(0.0111) == ()


def test_barb_no_larger_than_the_bore_leaves_the_hose_as_it_is() -> None:
    assert clamping_diameter_m(0.0175, 0.0095, 0.0095) == 0.0175
    assert clamping_diameter_m(0.0175, 0.0095, 0.0090) == 0.0175


def test_clamping_diameter_conserves_the_wall_section() -> None:
    """Second method: the wall areas before and after are equal."""
    diameter_m = clamping_diameter_m(0.021, 0.0127, 0.0140)
    assert diameter_m**2 - 0.0140**2 == pytest.approx(0.021**2 - 0.0127**2, rel=1e-12)


def test_larger_barb_never_needs_a_smaller_clamp() -> None:
    barbs_m = [0.008 + 0.0002 * step for step in range(20)]
    diameters_m = [clamping_diameter_m(0.0175, 0.009525, barb_m) for barb_m in barbs_m]
    assert diameters_m == sorted(diameters_m)


@pytest.mark.parametrize(
    ("outside_m", "inside_m", "barb_m"),
    [(0.0, 0.01, 0.01), (0.02, 0.0, 0.01), (0.02, 0.01, -0.01), (0.01, 0.01, 0.01)],
)
def test_impossible_diameters_are_refused(outside_m: float, inside_m: float, barb_m: float) -> None:
    with pytest.raises(ValueError, match=r"more than 0 m|not larger"):
        clamping_diameter_m(outside_m, inside_m, barb_m)


@pytest.mark.parametrize(
    ("spud_in", "hose_in", "gap_in"),
    [
        # 33 CFR 183.558(d): the gap is hose ID less minor OD.
        ("0.300", "0.3125", "0.0125"),
        ("0.290", "0.3125", "0.0225"),
        ("0.320", "0.3125", "-0.0075"),
    ],
)
def test_clearance_is_exact(spud_in: str, hose_in: str, gap_in: str) -> None:
    gap_m = clearance_m(Fraction(hose_in) * INCH, Fraction(spud_in) * INCH)
    assert gap_m == Fraction(gap_in) * INCH


def test_metric_entry_meets_the_inch_limit_exactly() -> None:
    gap_m = clearance_m(Fraction("0.009525"), Fraction("0.009017"))
    assert gap_m == Fraction("0.020") * INCH


def test_clearance_refuses_a_bore_of_nothing() -> None:
    with pytest.raises(ValueError, match="hose inside diameter"):
        clearance_m(Fraction(0), Fraction(1, 100))


def clamp(sku: str, low_in: float, high_in: float) -> ClampProduct:
    return ClampProduct(sku, "worm_drive", 0.009, low_in * 0.0254, high_in * 0.0254)


def test_clamp_fits_up_to_both_ends_of_its_range() -> None:
    medium = clamp("M", 0.59, 0.83)
    assert clamp_fit(medium, medium.minimum_diameter_m).fits
    assert clamp_fit(medium, medium.maximum_diameter_m).fits
    assert not clamp_fit(medium, medium.maximum_diameter_m + 1e-6).fits
    assert not clamp_fit(medium, medium.minimum_diameter_m - 1e-6).fits


def test_clamp_without_a_range_is_refused() -> None:
    with pytest.raises(ValueError, match="Clamp X"):
        clamp_fit(clamp("X", 0.5, 0.5), 0.0127)


def test_clamp_nearest_mid_range_is_offered_first() -> None:
    """A 3/8 in hose of 0.69 in OD on its own bore: the 0.59-0.83 in clamp sits best."""
    shelf = [clamp("S", 0.43, 0.72), clamp("M", 0.59, 0.83), clamp("L", 0.78, 1.06)]
    assert [found.sku for found in clamps_that_fit(shelf, 0.69 * 0.0254)] == ["M", "S"]
