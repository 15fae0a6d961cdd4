"""Friction against the published examples and against a second method."""

from __future__ import annotations

from itertools import pairwise

import fluids
import pytest

from fuelsys.hydraulics.friction import G_M_S2, bore_area, friction_factor, head_loss

# EPANET 2.2 run at these Reynolds numbers; its pipe's relative roughness was about 5e-5.
EPANET = [(2100, 0.03062), (2500, 0.02913), (3000, 0.03310), (3500, 0.03867), (3900, 0.04077)]


@pytest.mark.parametrize(("reynolds", "published"), EPANET)
def test_transition_is_that_of_epanet(reynolds: float, published: float) -> None:
    assert friction_factor(reynolds, 5.2e-5) == pytest.approx(published, rel=5e-4)


def test_crane_7_13_pressure_drop_of_fuel_oil() -> None:
    # Crane TP-410 example 7.13: SG 0.815, 2.7 cSt, 52.50 mm, 100 ft, 2 US gal/s: 66 500 Pa.
    flow = 2 * 3.785411784e-3
    loss_m = head_loss(
        flow,
        length_m=30.48,
        inside_diameter_m=0.0525,
        viscosity_m2_s=2.7e-6,
        roughness_m=4.572e-5,
    )
    assert 815 * G_M_S2 * loss_m == pytest.approx(66_500, rel=0.013)


def test_crane_7_9_laminar_oil_with_fittings_and_rise() -> None:
    # Crane TP-410 example 7.9, as worked in the documentation of fluids: Re 1676, 26.064 psi.
    density = 869.04
    flow, bore = 400 * 3.785411784e-3 / 60, 5.047 * 0.0254
    velocity = flow / bore_area(bore)
    reynolds = velocity * bore / (0.130 / density)
    assert reynolds == pytest.approx(1676, rel=5e-4)
    assert friction_factor(reynolds, 0.0) == pytest.approx(0.038193, rel=5e-4)
    loss_m = head_loss(
        flow,
        length_m=91.44,
        inside_diameter_m=bore,
        viscosity_m2_s=0.130 / density,
        fittings_k=178 * 0.01544,
    )
    assert density * G_M_S2 * (loss_m + 15.24) / 6894.757 == pytest.approx(26.064, rel=1e-4)


def test_crane_7_1_smooth_tube() -> None:
    # Crane TP-410 example 7.1: water, 50 mm smooth, Re 100 600: f 0.0179.
    assert friction_factor(100_600, 0.0) == pytest.approx(0.0179, rel=0.005)


@pytest.mark.parametrize("reynolds", [1, 10, 240, 1000, 1999])
def test_laminar_as_the_second_method(reynolds: float) -> None:
    ours = friction_factor(reynolds, 1.6e-4)
    assert ours == pytest.approx(fluids.friction_factor(reynolds, eD=1.6e-4), rel=1e-9)


@pytest.mark.parametrize("reynolds", [5000, 7000, 10_000, 20_000, 50_000, 100_000])
@pytest.mark.parametrize("roughness", [1e-5, 1.5e-4, 5e-4])
def test_turbulent_as_the_second_method(reynolds: float, roughness: float) -> None:
    # Swamee-Jain departs from Colebrook by 1.3 % at Re 5000, less above.
    theirs = fluids.friction_factor(reynolds, eD=roughness)
    assert friction_factor(reynolds, roughness) == pytest.approx(theirs, rel=0.015)


@pytest.mark.parametrize("edge", [2000.0, 4000.0])
def test_no_jump_at_the_edges_of_the_transition(edge: float) -> None:
    below = friction_factor(edge * (1 - 1e-9), 1.6e-4)
    above = friction_factor(edge * (1 + 1e-9), 1.6e-4)
    assert above == pytest.approx(below, rel=1e-4)


def test_more_flow_always_loses_more() -> None:
    # A root finder needs it: the loss rises through laminar, transition and turbulent flow.
    losses = [
        head_loss(k * 1e-7, length_m=1.0, inside_diameter_m=0.009525, viscosity_m2_s=0.55e-6)
        for k in range(1000)
    ]
    assert losses[0] == 0.0
    assert all(b > a for a, b in pairwise(losses))


@pytest.mark.parametrize("reynolds", [0.0, -1.0])
def test_no_friction_without_flow(reynolds: float) -> None:
    with pytest.raises(ValueError, match="Reynolds"):
        friction_factor(reynolds, 0.0)


def test_a_flow_has_no_sign() -> None:
    with pytest.raises(ValueError, match="without a sign"):
        head_loss(-1e-6, length_m=1.0, inside_diameter_m=0.01, viscosity_m2_s=1e-6)


# Pure geometry, worked by hand: bore mm, mL in a metre, metres that hold 5 fl oz.
BORES = [
    (6.350, 31.67, 4.67),
    (7.9375, 49.48, 2.99),
    (9.525, 71.26, 2.08),
    (12.70, 126.68, 1.17),
    (14.288, 160.33, 0.92),
    (15.875, 197.93, 0.75),
    (38.10, 1140.1, 0.13),
    (50.80, 2026.8, 0.07),
]


@pytest.mark.parametrize(("bore_mm", "ml_in_a_metre", "holds_five_ounces_m"), BORES)
def test_a_metre_of_hose_holds(
    bore_mm: float, ml_in_a_metre: float, holds_five_ounces_m: float
) -> None:
    area = bore_area(bore_mm / 1000)
    assert area * 1e6 == pytest.approx(ml_in_a_metre, rel=2e-4)
    assert 147.868e-6 / area == pytest.approx(holds_five_ounces_m, abs=0.005)
