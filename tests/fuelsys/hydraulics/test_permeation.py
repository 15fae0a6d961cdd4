"""Permeation by class and temperature, against the routine and the limits."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.hydraulics.permeation import (
    REFERENCE_C,
    class_limit,
    hose_loss,
    tank_temperature_factor,
    temperature_factor,
)


def routine(degrees_f: float) -> float:
    # EPA NONROAD2008, routine EMSADJ: hose factor as its source code has it.
    return 6.013899e-2 * exp(3.850818e-2 * degrees_f)


def test_the_routine_s_own_checks() -> None:
    # 1.0000002 at 73 F; doubled by 18 F (2.0000001).
    assert routine(73) == pytest.approx(1.0000002, abs=5e-8)
    assert routine(91) / routine(73) == pytest.approx(2.0000001, abs=5e-8)


def tank_routine(degrees_f: float) -> float:
    # The same routine: tank factor.
    return 3.788519e-2 * exp(3.850818e-2 * degrees_f)


def test_the_tank_factor_is_one_at_85_f() -> None:
    # The routine's own check: 1.0000003 at 85 F.
    assert tank_routine(85) == pytest.approx(1.0000003, abs=5e-8)
    assert tank_temperature_factor((85 - 32) / 1.8) == pytest.approx(1.0)


@given(st.floats(-40.0, 45.0))
def test_the_tank_factor_is_the_routine_s(celsius: float) -> None:
    expected = tank_routine(celsius * 1.8 + 32)
    assert tank_temperature_factor(celsius) == pytest.approx(expected, rel=2e-6)


@given(st.floats(-40.0, 45.0))
def test_the_factor_is_the_routine_s(celsius: float) -> None:
    assert temperature_factor(celsius) == pytest.approx(routine(celsius * 1.8 + 32), rel=2e-6)


@pytest.mark.parametrize("celsius", [-100.0, -40.1, 45.1])
def test_beyond_its_range_there_is_no_factor(celsius: float) -> None:
    for factor in (temperature_factor, tank_temperature_factor):
        with pytest.raises(ValueError, match=r"outside -40\.0 to 45\.0 C"):
            factor(celsius)


@pytest.mark.parametrize(
    ("mark", "low", "limit"),
    [
        # 33 CFR 183.540 note: 100 and 300; 40 CFR 1060.102(d)(2): 15.
        ("A1", False, 100.0),
        ("B1", False, 100.0),
        ("A2", False, 300.0),
        ("B2", False, 300.0),
        ("A1", True, 15.0),
        ("NONE", False, None),
        (None, False, None),
    ],
)
def test_the_limit_of_a_class(mark: str | None, low: bool, limit: float | None) -> None:
    assert class_limit(mark, low_permeation=low) == limit


def test_a_hose_by_hand() -> None:
    # 3 m x pi x 9.525 mm = 0.089771 m2.
    grams = hose_loss(100.0, inside_diameter_m=0.009525, length_m=3.0)
    assert grams == pytest.approx(8.9771, rel=1e-4)
    cold = hose_loss(
        100.0, inside_diameter_m=0.009525, length_m=3.0, temperature_c=REFERENCE_C - 10
    )
    assert cold == pytest.approx(grams / 2)
    half = hose_loss(100.0, inside_diameter_m=0.009525, length_m=3.0, wetted_share=0.5)
    assert half == pytest.approx(grams / 2)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_wetted_share_beyond_all_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        hose_loss(100.0, inside_diameter_m=0.01, length_m=1.0, wetted_share=share)


@given(st.floats(0.005, 0.05), st.floats(0.1, 10.0), st.floats(-10, 44), st.floats(1.01, 2.0))
def test_wider_longer_or_warmer_hose_never_loses_less(
    bore: float, length: float, celsius: float, times: float
) -> None:
    grams = hose_loss(100.0, inside_diameter_m=bore, length_m=length, temperature_c=celsius)
    for wide, long, warm in ((times, 1, 0), (1, times, 0), (1, 1, 1)):
        more = hose_loss(
            100.0,
            inside_diameter_m=bore * wide,
            length_m=length * long,
            temperature_c=celsius + warm,
        )
        assert more > grams
