"""Bends and length tolerances against published figures and a second method."""

from __future__ import annotations

from fractions import Fraction
from math import cos, inf, pi, radians, sin, tau

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.hydraulics.geometry import (
    bend_length_m,
    bend_outcome,
    length_tolerance_m,
    needed_tangent_m,
    radius_of_points_m,
    route_shortening_m,
    vertex_radius_m,
)
from fuelsys.units import from_base, to_base

INCH_M = 0.0254
TURNS = st.floats(0.01, pi - 0.01)
RADII = st.floats(0.01, 5.0)


def test_a_right_angle_turns_at_its_own_tangent() -> None:
    # By geometry: tan 45 degrees is 1, so 0.150 m of leg gives a radius of 0.150 m.
    assert vertex_radius_m(radians(90), 0.150) == pytest.approx(0.150, rel=1e-12)


def test_the_handbook_s_bend() -> None:
    # Hose handbook RMA IP-2 (from memory, unverified): 90 degrees at 4.5 in take 7 in of hose.
    length_in = bend_length_m(4.5 * INCH_M, radians(90)) / INCH_M
    assert length_in == pytest.approx(7.07, abs=0.005)
    deviation = length_in / 7 - 1
    assert deviation == pytest.approx(0.0098, abs=0.0005)  # the handbook rounds to a whole inch


def test_a_full_turn_is_a_circle() -> None:
    assert bend_length_m(1.0, tau) == tau


@given(TURNS, RADII)
def test_tangent_and_radius_are_each_other_s_reverse(turn: float, radius_m: float) -> None:
    tangent_m = needed_tangent_m(radius_m, turn)
    assert vertex_radius_m(turn, tangent_m) == pytest.approx(radius_m, rel=1e-9)
    assert route_shortening_m(radius_m, turn) >= -1e-12  # an arc is shorter than its corner


@given(TURNS, RADII)
def test_three_points_of_the_tangent_arc_lie_on_its_radius(turn: float, radius_m: float) -> None:
    """Second method: points set out on the arc itself give the radius back."""
    points = [
        (radius_m * cos(turn * share), radius_m * sin(turn * share), 0.3)
        for share in (0.0, 0.4, 1.0)
    ]
    assert radius_of_points_m(*points) == pytest.approx(radius_m, rel=1e-6)


def test_points_on_one_line_do_not_bend() -> None:
    assert radius_of_points_m((0, 0, 0), (1, 1, 1), (3, 3, 3)) == inf
    assert bend_outcome(inf, 0.1) == "pass"


def test_a_radius_holds_against_the_product_s_own_minimum_only() -> None:
    minimum_m = 3.0 * INCH_M
    assert bend_outcome(minimum_m, minimum_m) == "pass"
    assert bend_outcome(minimum_m - 1e-6, minimum_m) == "fail"
    assert bend_outcome(10.0, None) == "cannot_tell"


@pytest.mark.parametrize(
    ("length_in", "tolerance_in"),
    [
        # Hose handbook RMA IP-2, table 4-8 (secondary copy).
        ("6", "1/8"),
        ("12", "1/8"),
        ("12.01", "3/16"),
        ("24", "3/16"),
        ("24.01", "1/4"),
        ("36", "1/4"),
        ("36.01", "3/8"),
        ("48", "3/8"),
        ("48.01", "1/2"),
        ("72", "1/2"),
        ("72.01", "0.7201"),
        ("100", "1"),
    ],
)
def test_length_tolerance(length_in: str, tolerance_in: str) -> None:
    found_m = length_tolerance_m(to_base(Fraction(length_in), "in"))
    assert from_base(found_m, "in") == Fraction(tolerance_in)


def test_a_longer_hose_never_has_a_tighter_tolerance() -> None:
    tolerances = [length_tolerance_m(to_base(n, "in")) for n in range(1, 140)]
    assert tolerances == sorted(tolerances)


@pytest.mark.parametrize("turn", [0.0, pi, -1.0, float("nan")])
def test_turns_out_of_range_are_refused(turn: float) -> None:
    with pytest.raises(ValueError, match="deflection"):
        vertex_radius_m(turn, 0.1)
    with pytest.raises(ValueError, match="deflection"):
        needed_tangent_m(0.1, turn)


@pytest.mark.parametrize("length_m", [0.0, -0.1, inf, float("nan")])
def test_lengths_out_of_range_are_refused(length_m: float) -> None:
    with pytest.raises(ValueError, match="tangent"):
        vertex_radius_m(1.0, length_m)
    with pytest.raises(ValueError, match="bend radius"):
        bend_length_m(length_m, 1.0)
    with pytest.raises(ValueError, match="bend radius"):
        bend_outcome(0.1, length_m)


def test_other_impossible_input_is_refused() -> None:
    with pytest.raises(ValueError, match="coincide"):
        radius_of_points_m((0, 0, 0), (0, 0, 0), (1, 0, 0))
    with pytest.raises(ValueError, match="angle"):
        bend_length_m(0.1, 7.0)
    with pytest.raises(ValueError, match="bend radius"):
        bend_outcome(0.0, None)
    with pytest.raises(ValueError, match="length"):
        length_tolerance_m(Fraction(0))
