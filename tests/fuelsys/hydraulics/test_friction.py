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


# Crane TP-410 example 7.13, as worked in the documentation of fluids: fuel oil of SG 0.815 and
# 2.7 cSt, 2 in schedule 40 (2.067 in), 100 ft, 2 US gal/s: 66 500 Pa, with f read as 0.0230.
CRANE_7_13_PA = 66_500
OIL_KG_M3, OIL_M2_S = 0.815 * 999.1, 2.7e-6
OIL_BORE_M, OIL_LENGTH_M, OIL_M3_S = 2.067 * 0.0254, 30.48, 2 * 3.785411784e-3
STEEL_M = 4.572e-5


def drop_with(f: float) -> float:
    """Pressure [Pa] that the oil loses with a friction factor given: the pipe as one fitting."""
    loss_m = head_loss(
        OIL_M3_S,
        length_m=0.0,
        inside_diameter_m=OIL_BORE_M,
        viscosity_m2_s=OIL_M2_S,
        fittings_k=f * OIL_LENGTH_M / OIL_BORE_M,
    )
    return OIL_KG_M3 * G_M_S2 * loss_m


def test_crane_7_13_pressure_drop_of_fuel_oil() -> None:
    # With the factor that the example reads off: 66 484 Pa, deviation 0.0 %.
    assert drop_with(0.0230) == pytest.approx(66_484, abs=0.5)
    assert drop_with(0.0230) / CRANE_7_13_PA - 1 == pytest.approx(0.0, abs=5e-4)
    # With Colebrook's factor: 0.02270, 65 623 Pa, deviation -1.3 %.
    reynolds = OIL_M3_S / bore_area(OIL_BORE_M) * OIL_BORE_M / OIL_M2_S
    colebrook = fluids.friction_factor(reynolds, eD=STEEL_M / OIL_BORE_M)
    assert colebrook == pytest.approx(0.02270, abs=5e-6)
    assert drop_with(colebrook) == pytest.approx(65_623, abs=0.5)
    assert drop_with(colebrook) / CRANE_7_13_PA - 1 == pytest.approx(-0.013, abs=5e-4)


def test_crane_7_13_with_the_friction_used_here() -> None:
    # Swamee-Jain lies between the two: 66 044 Pa, deviation -0.7 %, worked by hand.
    loss_m = head_loss(
        OIL_M3_S,
        length_m=OIL_LENGTH_M,
        inside_diameter_m=OIL_BORE_M,
        viscosity_m2_s=OIL_M2_S,
        roughness_m=STEEL_M,
    )
    found = OIL_KG_M3 * G_M_S2 * loss_m
    assert found == pytest.approx(66_044, abs=1)
    assert found / CRANE_7_13_PA - 1 == pytest.approx(-0.007, abs=5e-4)


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
    # Crane TP-410 example 7.1: water of 30 C, 50 mm smooth, 200 L/min: f 0.0179. At the flow's own
    # Reynolds number in pipe of 52.5 mm, as the example has it, 0.01783: deviation -0.4 %.
    reynolds = 200e-3 / 60 / bore_area(0.0525) * 0.0525 / 0.801e-6
    found = friction_factor(reynolds, 0.0)
    assert found == pytest.approx(0.01783, abs=5e-6)
    assert found / 0.0179 - 1 == pytest.approx(-0.004, abs=2e-4)
    # At the Reynolds number printed there, 100 600, it is 0.01784: -0.33 %.
    assert friction_factor(100_600, 0.0) / 0.0179 - 1 == pytest.approx(-0.0033, abs=1e-4)


@pytest.mark.parametrize("reynolds", [1, 10, 240, 1000, 1999])
def test_laminar_as_the_second_method(reynolds: float) -> None:
    ours = friction_factor(reynolds, 1.6e-4)
    assert ours == pytest.approx(fluids.friction_factor(reynolds, eD=1.6e-4), rel=1e-9)


@pytest.mark.parametrize(
    ("reynolds", "deviation"), [(5_000, 0.013), (10_000, 0.004), (50_000, -0.003)]
)
def test_swamee_jain_against_colebrook(reynolds: float, deviation: float) -> None:
    # Worked apart from this project's code at e/D 1.5e-4: +1.3, +0.4 and -0.3 %.
    colebrook = fluids.friction_factor(reynolds, eD=1.5e-4)
    found = friction_factor(reynolds, 1.5e-4) / colebrook - 1
    assert found == pytest.approx(deviation, abs=5e-4)


@pytest.mark.parametrize("reynolds", [5000, 7000, 10_000, 20_000, 50_000, 100_000])
@pytest.mark.parametrize("roughness", [1e-5, 1.5e-4, 5e-4])
def test_turbulent_as_the_second_method(reynolds: float, roughness: float) -> None:
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


# Pure geometry, worked by hand: bore mm, mL in a metre, US fl oz in a foot, metres and feet that
# hold 5 fl oz (no feet are given for the two widest).
BORES = [
    (6.350, 31.67, 0.3264, 4.67, 15.3),
    (7.9375, 49.48, 0.5100, 2.99, 9.80),
    (9.525, 71.26, 0.7344, 2.08, 6.81),
    (12.70, 126.68, 1.3056, 1.17, 3.83),
    (14.2875, 160.33, 1.6524, 0.92, 3.03),
    (15.875, 197.93, 2.0400, 0.75, 2.45),
    (38.10, 1140.1, 11.750, 0.13, None),
    (50.80, 2026.8, 20.890, 0.07, None),
]
OUNCE_M3, FOOT_M = 29.5735295625e-6, 0.3048


@pytest.mark.parametrize(("bore_mm", "ml_a_metre", "oz_a_foot", "holds_m", "holds_ft"), BORES)
def test_a_metre_of_hose_holds(
    bore_mm: float, ml_a_metre: float, oz_a_foot: float, holds_m: float, holds_ft: float | None
) -> None:
    area = bore_area(bore_mm / 1000)
    assert area * 1e6 == pytest.approx(ml_a_metre, rel=5e-5, abs=0.005)
    assert area * FOOT_M / OUNCE_M3 == pytest.approx(oz_a_foot, rel=5e-5, abs=5e-5)
    metres = 5 * OUNCE_M3 / area
    assert metres == pytest.approx(holds_m, abs=0.005)
    if holds_ft is not None:
        assert metres / FOOT_M == pytest.approx(holds_ft, abs=0.05 if holds_ft > 10 else 0.005)
