"""Outflow at a cut: the straight drain, and a second method for the friction."""

from __future__ import annotations

from math import pi, sqrt

import fluids
import pytest

from fuelsys.hydraulics.flow import outflow

FLOZ = 29.5735295625e-6
NU = 0.55e-6


def plain(head: float, bore: float, length: float) -> float:
    return outflow(head, [(bore, length)], viscosity_m2_s=NU, cut_diameter_m=bore)


# Worked by two programs: 2.5 m under 0.30 m, K 0.5 in and 1.0 out; mL/s, and fl oz in 150 s.
@pytest.mark.parametrize(
    ("bore", "ml_s", "ounces"),
    [(0.009525, 57.6, 292), (0.0079375, 35.8, 182), (0.00635, 19.8, 101)],
)
def test_the_plain_straight_drain(bore: float, ml_s: float, ounces: float) -> None:
    found = plain(0.30, bore, 2.5)
    assert found * 1e6 == pytest.approx(ml_s, abs=0.05)
    assert found * 150 / FLOZ == pytest.approx(ounces, abs=0.5)


def test_a_centimetre_of_head_still_gives_fifty_ounces() -> None:
    assert plain(0.010, 0.009525, 2.5) * 150 / FLOZ == pytest.approx(52.8, rel=0.005)


def test_five_ounces_need_less_than_a_millimetre_of_head() -> None:
    # 5 fl oz in 150 s through 3 m of 3/8 in hose: 0.84 mm, laminar.
    assert plain(0.84e-3, 0.009525, 3.0) * 150 / FLOZ == pytest.approx(5.0, rel=0.01)


def test_without_head_nothing_flows() -> None:
    assert plain(0.0, 0.01, 1.0) == 0.0
    assert plain(-0.1, 0.01, 1.0) == 0.0


@pytest.mark.parametrize("head", [1e-4, 1e-3, 0.1, 0.3, 1.0, 3.0])
@pytest.mark.parametrize("bore", [0.00635, 0.009525, 0.0127])
def test_the_flow_uses_up_the_head_by_a_second_method(head: float, bore: float) -> None:
    """Where the two methods agree, laminar and above Re 5000, Colebrook's loss is the head."""
    flow = plain(head, bore, 2.0)
    velocity = flow / (pi / 4 * bore**2)
    reynolds = velocity * bore / NU
    if 1990 < reynolds < 5000:
        assert 0.0 < flow < plain(head * 1.01, bore, 2.0)  # between: rising, no figure claimed
        return
    f = fluids.friction_factor(reynolds, eD=0.0015e-3 / bore)
    assert (f * 2.0 / bore + 1.5) * velocity**2 / (2 * 9.80665) == pytest.approx(head, rel=0.015)


def test_two_bores_in_line_share_the_head() -> None:
    one = outflow(0.2, [(0.01, 3.0)], viscosity_m2_s=NU, cut_diameter_m=0.01)
    two = outflow(0.2, [(0.01, 1.0), (0.01, 2.0)], viscosity_m2_s=NU, cut_diameter_m=0.01)
    narrow = outflow(0.2, [(0.01, 1.0), (0.008, 2.0)], viscosity_m2_s=NU, cut_diameter_m=0.01)
    assert two == pytest.approx(one)
    assert narrow < one


def test_a_short_tube_without_friction() -> None:
    flow = outflow(0.5, [(0.01, 0.0)], viscosity_m2_s=NU, cut_diameter_m=0.01)
    assert flow == pytest.approx(0.8165 * pi / 4 * 0.01**2 * sqrt(2 * 9.80665 * 0.5), rel=1e-4)


def test_a_bore_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="bore"):
        outflow(0.5, [(0.0, 1.0)], viscosity_m2_s=NU, cut_diameter_m=0.01)
