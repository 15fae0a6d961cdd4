"""The states of the tank's side, the far end, and the limit itself."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from fuelsys.document.model import Component, Fuel, MetalLine
from tests.fuelsys.hydraulics.builders import (
    BORE_3_8_M,
    FLOZ,
    ML,
    changed,
    curve_of,
    line,
    number,
    of,
    pickup,
    pump,
    run,
    system,
    tank,
    trace,
)

PER_METRE_M3 = 71.2557e-6  # 3/8 in, by hand
RISING = ((0, 0.1), (2, 1.1))  # wholly above the surface


def test_without_a_valve_a_line_above_the_surface_falls_back() -> None:
    found = of(line(((0, 0.1), (1, 0.2), (3, 0.15)), first=pickup(), last=pump()))
    assert (found.state, found.tank_side_m3) == ("pull_back", 0.0)
    # The greatest that could run out is named: all that stands above the lowest point.
    assert found.upper_bound_m3 == pytest.approx(3 * PER_METRE_M3, rel=1e-4)
    assert found.verdict == "review"


def test_a_valve_at_the_tank_defeats_the_falling_back() -> None:
    points = ((0, 0.3), (1, 0.1), (2, 0.4))
    without = of(line(points, first=pickup(), last=pump()))
    with_valve = of(line(points, first=pickup(0.5), last=pump()))
    assert (without.state, with_valve.state) == ("pull_back", "held_valve")
    assert without.volume_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)
    assert with_valve.volume_m3 == pytest.approx(2 * PER_METRE_M3, rel=1e-4)


def test_a_bulb_before_the_cut_holds_what_stands_past_it() -> None:
    """P --S1, 1 m up-- BULB --S2, 1 m down, 1 m up-- ENG, no valve at the tank."""
    document = system(
        [pickup(), Component("BULB", "primer_bulb", contents_m3=Fraction(0)), pump()],
        [
            run("S1", ("P", "BULB"), ((0, 0.1), (1, 0.4))),
            run("S2", ("BULB", "ENG"), ((0, 0.4), (1, 0.2), (2, 0.5))),
        ],
    )
    found = of(document, "S2")
    assert found.state == "held_valve"
    assert found.volume_m3 == pytest.approx(2 * PER_METRE_M3, rel=1e-4)


def test_an_electric_stop_valve_is_closed_with_the_engine_stopped() -> None:
    # 33 CFR 183.528(a)(1): it opens with the ignition only.
    facts: dict[str, Any] = {
        "anti_siphon": "electric_stop_valve",
        "opens_only_with_ignition": True,
    }
    found = of(line(((0, 0.0), (1, -0.5), (2, 0.0)), first=pickup(**facts), last=pump()))
    assert found.state == "held_closed"
    assert found.volume_m3 == pytest.approx(2 * PER_METRE_M3, rel=1e-4)
    assert any("electric stop valve P is closed" in str(text) for text in found.assumptions)


def test_a_stop_valve_further_on_keeps_back_what_stands_before_it() -> None:
    """P --S1, 1 m-- VALVE --S2, 1 m up-- ENG, cut below the valve."""
    document = system(
        [
            pickup(),
            Component("VALVE", "electric_stop_valve", opens_only_with_ignition=True),
            pump(),
        ],
        [
            run("S1", ("P", "VALVE"), ((0, 0.5), (1, 0.0))),
            run("S2", ("VALVE", "ENG"), ((0, 0.0), (1, 0.5))),
        ],
    )
    found = of(document, "S2")
    assert (found.state, found.worst_cut_m) == ("held_closed", 0.0)
    assert found.volume_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)
    assert found.upper_bound_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)


def test_an_anti_siphon_valve_in_the_line_stops_the_contents_before_it() -> None:
    """P --S1, 1 m level-- ASV --S2, 1 m level-- ENG: only S2 runs out of a cut in S2."""
    valve = Component("ASV", "anti_siphon_valve", opening_head_m=number(0.5))
    document = system(
        [pickup(), valve, pump()],
        [
            run("S1", ("P", "ASV"), ((0, -0.1), (1, -0.1))),
            run("S2", ("ASV", "ENG"), ((0, -0.1), (1, -0.1))),
        ],
    )
    after, before = of(document, "S2"), of(document, "S1")
    assert after.state == "held_valve"
    assert after.volume_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)
    assert before.state == "open"  # the valve stands behind this cut


def test_opening_head_and_opening_pressure_say_the_same() -> None:
    # dp = rho g h: 0.25 m of gasoline at 740 kg/m3.
    pressure = number(0.25) * 740 * number(9.80665)
    by_pressure = changed(trace(0.25), "P", opening_head_m=None, opening_pa=pressure)
    assert of(by_pressure).volume_m3 == pytest.approx(of(trace(0.25)).volume_m3)
    assert of(by_pressure).state == "held_valve"


def test_a_valve_holds_at_exactly_its_opening_head_and_opens_just_past_it() -> None:
    # The low point of the trace lies 0.20 m below the surface.
    at, past = of(trace(0.20)), of(trace(0.1999))
    assert (at.state, past.state) == ("held_valve", "open")


def test_a_sealed_tank_pushes_past_its_valve() -> None:
    # 1 psi is 0.95 m of gasoline; 6894.757 Pa.
    found = of(changed(trace(0.25), "T", relief_pa=number(6894.757)))
    assert found.state == "open"
    open_to_air = of(line(RISING, first=pickup(), last=pump()))
    sealed = of(changed(line(RISING, first=pickup(), last=pump()), "T", relief_pa=Fraction(6894)))
    assert (open_to_air.state, sealed.state) == ("pull_back", "open")


@pytest.mark.parametrize("kind", ["carburetor", "engine_inlet", "vapor_separator"])
def test_a_far_end_open_to_the_air_lets_a_plug_fall(kind: str) -> None:
    """P --1 m down to -1-- cut --1 m up to 0-- 1 m down to -0.5 -- end."""
    points = ((0, 0.0), (1, -1.0), (2, 0.0), (3, -0.5))
    closed = of(line(points, first=pickup(2.0), last=pump("END")))
    is_open = of(line(points, first=pickup(2.0), last=Component("END", kind)))
    assert closed.volume_m3 == pytest.approx(2 * PER_METRE_M3, rel=1e-4)
    assert is_open.volume_m3 == pytest.approx(3 * PER_METRE_M3, rel=1e-4)
    assert any("open to the air" in str(text) for text in is_open.assumptions)


def test_ponding_and_plug_count_no_stretch_twice() -> None:
    """Up 1 m from the cut, then level to an open end: both mechanisms reach all of it."""
    points = ((0, 0.0), (1, -1.0), (2, 0.0), (3, 0.0))
    found = of(line(points, first=pickup(2.0), last=Component("END", "carburetor")))
    assert found.volume_m3 == pytest.approx(3 * PER_METRE_M3, rel=1e-4)


def test_a_dip_below_the_cut_stops_the_plug() -> None:
    """From a cut at 0.5 m the far hose dips to -1.5 before the open end: it stays full there."""
    points = ((0, -1.0), (1, -1.5), (2, 0.0))
    document = line(points, first=pickup(2.0), last=Component("END", "carburetor"))
    curve = {d: (t, f) for d, t, f in curve_of(of(document, curves=True))}
    assert curve[0.0][1] == pytest.approx(PER_METRE_M3 * 1.0 / 1.5, rel=1e-4)


def test_a_dip_level_with_the_cut_stops_the_plug() -> None:
    """Cut at -1; the far hose rises to 0, dips to -1, rises to 0 at its open end.

    The plug falls back to the dip, a point no higher than the cut; before it only ponding.
    """
    points = ((0, 0.0), (1, -1.0), (2, 0.0), (3, -1.0), (4, 0.0))
    document = line(points, first=pickup(2.0), last=Component("END", "carburetor"))
    curve = {d: f for d, _, f in curve_of(of(document, curves=True))}
    assert curve[1.0] == pytest.approx(2 * PER_METRE_M3, rel=1e-4)


def test_a_level_run_at_the_cut_drains_whole_and_ties() -> None:
    points = ((0, 0.5), (1, 0.0), (3, 0.0), (4, 0.5))
    found = of(line(points, first=pickup(1.0), last=pump()))
    assert found.volume_m3 == pytest.approx(4 * PER_METRE_M3, rel=1e-4)
    assert found.worst_cut_m == pytest.approx((1.0, 3.0))


def test_the_lowest_cut_is_not_always_the_worst() -> None:
    """A deep short dip at the engine, a long shallow one before it: more runs out there."""
    points = ((0, 0.6), (2, 0.1), (4, 0.6), (4.2, 0.0), (4.4, 0.6))
    found = of(line(points, first=pickup(1.0), last=pump()))
    assert found.worst_cut_m == pytest.approx(2.0)


# 5 US fl oz of standing fuel in a filter that drains whole, the hose being next to nothing.
@pytest.mark.parametrize(
    ("contents_ml", "verdict"),
    [("147.8676478125", "within"), ("147.8676479", "over"), ("147.8", "within")],
)
def test_at_the_limit_and_just_past_it(contents_ml: str, verdict: str) -> None:
    contents = number(contents_ml) / 1_000_000
    document = system(
        [pickup(1.0), Component("FLT", "filter", height_m=number(0.2), contents_m3=contents)],
        [run("S1", ("P", "FLT"), ((0, 0.1), (1, 0.2)), bore="0.000000001")],
    )
    assert of(document).verdict == verdict


@pytest.mark.parametrize(
    ("ml", "marginal"), [(141.9, False), (142.1, True), (188.9, True), (189.1, False)]
)
def test_the_marginal_band(ml: float, marginal: bool) -> None:
    contents = number(ml) / 1_000_000
    document = system(
        [pickup(1.0), Component("FLT", "filter", height_m=number(0.2), contents_m3=contents)],
        [run("S1", ("P", "FLT"), ((0, 0.1), (1, 0.2)), bore="0.000000001")],
    )
    assert of(document).marginal is marginal


def test_best_estimate_within_and_bound_over_is_for_a_person() -> None:
    """Ten feet of feed above the surface behind a crest: what falls back might not."""
    found = of(line(((0, 0.1), (1.5, 0.4), (3.5, 0.1)), first=pickup(), last=pump()))
    assert found.volume_m3 is not None
    assert found.volume_m3 < 5 * FLOZ < (found.upper_bound_m3 or 0.0)
    assert found.verdict == "review"


def test_a_submerged_fill_is_a_gravity_source() -> None:
    """DECK +1 --2 m-- SPUD -0.5, half a metre below the surface."""
    spud = Component("SPUD", "fill_spud", tank="T", at_bottom=True)
    document = system(
        [Component("DECK", "deck_fill"), spud],
        [run("S1", ("DECK", "SPUD"), ((0, 1.0), (3, -0.5)), bore="0.0381", service="fill")],
    )
    found = of(document, curves=True)
    assert (found.state, found.verdict) == ("open", "over")
    assert found.worst_cut_m == pytest.approx(3.0)
    # Above the surface the hose is dry: nothing runs out of a cut there.
    assert all(t + f == 0.0 for d, t, f in curve_of(found) if d < 2.0 - 1e-6)
    (pocket,) = found.trapped
    assert pocket == pytest.approx((2.0, 3.0, 0.0))


def test_a_fill_that_sags_past_a_crest_is_no_siphon() -> None:
    """SPUD -0.1, crest +0.2, sag -0.3, DECK +1: the sag holds fuel, the tank does not run."""
    spud = Component("SPUD", "fill_spud", tank="T", at_bottom=True)
    points = ((0, 1.0), (1, -0.3), (2, 0.2), (2.6, -0.1))
    document = system(
        [Component("DECK", "deck_fill"), spud],
        [run("S1", ("DECK", "SPUD"), points, bore="0.0381", service="fill")],
    )
    curve = {d: t + f for d, t, f in curve_of(of(document, curves=True))}
    sag = (0.5 / 1.3 + 1.0) * 1140.1e-6
    assert curve[1.0] == pytest.approx(sag, rel=1e-3)
    assert of(document).state == "open"  # between spud and crest the tank does run


def test_two_vents_in_line_hold_fuel_to_the_lower_rim() -> None:
    """NIPPLE 0.1 --S1, down to 0-- JOINT --S2, up to 0.05, down to -0.1-- OUT."""
    document = system(
        [
            Component("NIPPLE", "vent_nipple", tank="T"),
            Component("JOINT", "connector"),
            Component("OUT", "vent_fitting"),
        ],
        [
            run("S1", ("NIPPLE", "JOINT"), ((0, 0.1), (1, 0.0)), service="vent"),
            run("S2", ("JOINT", "OUT"), ((0, 0.0), (1, 0.05), (2, -0.1)), service="vent"),
        ],
        tank(-0.2),
    )
    found = of(document, "S1")
    (pocket,) = found.trapped
    assert pocket == pytest.approx((0.5, 1.0, 0.05))
    assert found.volume_m3 == pytest.approx(1.5 * PER_METRE_M3, rel=1e-4)
    assert (found.state, found.worst_cut_m) == ("trapped", 1.0)


def test_ethanol_and_warmth_change_the_flow() -> None:
    def volume(fuel: Fuel) -> float:
        document = line((*RISING[:1], (2, -0.05)), first=pickup(), last=pump())
        found = of(system(document.components, document.segments, fuel=fuel)).volume_m3
        assert found is not None
        return found

    plain = volume(Fuel())
    assert volume(Fuel(ethanol_pct=Fraction(10))) < plain < volume(Fuel(temperature_c=Fraction(35)))
    assert volume(Fuel(ethanol_pct=Fraction(0), temperature_c=Fraction(20))) == plain


def test_a_dip_tube_slows_the_flow() -> None:
    facts: dict[str, Any] = {
        "dip_tube_length_m": number(0.4),
        "dip_tube_inside_diameter_m": number("0.006"),
    }
    points = ((0, 0.1), (2, -0.3))
    slow = of(line(points, first=pickup(**facts), last=pump())).volume_m3
    free = of(line(points, first=pickup(), last=pump())).volume_m3
    assert slow is not None
    assert free is not None
    assert slow < 0.8 * free


def test_a_longer_hose_than_its_route_holds_more() -> None:
    document = line(((0, 0.0), (1, 0.5)), first=pickup(1.0), last=pump())
    longer = changed(document, "S1", length_m=number(1.2))
    assert of(longer).volume_m3 == pytest.approx(1.2 * PER_METRE_M3, rel=1e-4)


def test_the_bore_of_a_metal_line_counts_as_a_hose_does() -> None:
    document = line(((0, 0.0), (1, 0.5)), first=pickup(1.0), last=pump())
    metal = changed(
        document, "S1", hose=None, metal_line=MetalLine(inside_diameter_m=number(BORE_3_8_M))
    )
    assert of(metal).volume_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)
    assert of(metal).volume_m3 == pytest.approx(71.26 * ML, rel=1e-3)
