"""Where a discharge stands on the edge of its method, and whether it says so."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document, Tank
from fuelsys.hydraulics.result import Discharge
from fuelsys.hydraulics.wording import BUBBLE_BORE_M
from tests.fuelsys.hydraulics.builders import (
    changed,
    line,
    of,
    pickup,
    pump,
    run,
    system,
    tank,
    trace,
)

NU, BORE_M = 0.55e-6, 0.009525


def said(found: Discharge) -> str:
    return " ".join(str(text) for text in found.assumptions)


def reynolds(flow_m3: float, bore_m: float = BORE_M) -> float:
    """Of what flows in 150 s, apart from the project's code: 4 Q/(pi D nu)."""
    return 4 * flow_m3 / 150 / (3.141592653589793 * bore_m * NU)


@pytest.mark.parametrize(
    ("depth", "banded"), [(0.002, False), (0.01, True), (0.015, True), (0.05, False)]
)
def test_transition_flow_is_said(depth: float, banded: bool) -> None:
    """Up to Re 2000 laminar, from Re 4000 turbulent: EPANET 2.2 User Manual."""
    # The cut at the end is worst: all its head, and nothing beyond.
    found = of(line([(0, 0), (3, -depth)], first=pickup(), last=pump()))
    assert found.tank_side_m3 is not None
    assert (2000 < reynolds(found.tank_side_m3) < 4000) == banded
    assert ("Flow in S1 lies between laminar and turbulent" in said(found)) == banded


def test_a_hose_on_the_way_is_named_and_the_pick_up_by_its_tube() -> None:
    """Through 1/2 in hose and a tube of it the same flow has 3/4 of the Reynolds number."""
    wide = system(
        [
            pickup(dip_tube_inside_diameter_m=Fraction("0.0127"), dip_tube_length_m=Fraction(1, 4)),
            Component("F", "connector"),
            pump(),
        ],
        [
            run("S1", ("P", "F"), [(0, 0), (1, 0)], bore="0.0127"),
            run("S2", ("F", "ENG"), [(0, 0), (1, -0.02)]),
        ],
    )
    found = of(wide, "S2")
    assert found.tank_side_m3 is not None
    narrow, broad = (reynolds(found.tank_side_m3, bore) for bore in (BORE_M, 0.0127))
    assert (2000 < broad < 4000, narrow > 4000) == (True, True)
    assert "Flow in P, S1 lies between" in said(found)


def test_of_tanks_that_join_each_hose_has_its_own_flow() -> None:
    """Two alike give half each: the common hose is turbulent, its branches in transition."""
    document = Document(
        tanks=(tank(), Tank("T2", fuel="gasoline", surface_m=Fraction(0))),
        components=(
            pickup(),
            Component("P2", "withdrawal", tank="T2", anti_siphon="none"),
            Component("TEE", "tee"),
            pump(),
        ),
        segments=(
            run("S1", ("P", "TEE"), [(0, 0), (1, 0)]),
            run("S2", ("P2", "TEE"), [(0, 0), (1, 0)]),
            run("S3", ("TEE", "ENG"), [(0, 0), (1, -0.03)]),
        ),
    )
    found = of(document, "S3")
    assert found.tank_side_m3 is not None
    whole = reynolds(found.tank_side_m3)
    assert (whole > 4000, 2000 < whole / 2 < 4000) == (True, True)
    assert "Flow in S1, S2 lies between" in said(found)


def test_still_fuel_is_in_no_transition() -> None:
    assert "laminar" not in said(of(trace(0.25)))


def test_the_bore_in_which_air_no_longer_rises() -> None:
    """Bretherton: 2 x 0.918 sqrt(sigma/(rho g)), sigma 0.0216 N/m, gasoline; 3.2 mm."""
    widest = 2 * 0.918 * (0.0216 / (740 * 9.80665)) ** 0.5
    assert widest * 1000 == pytest.approx(3.2, abs=0.05)
    assert pytest.approx(0.0032) == BUBBLE_BORE_M


@pytest.mark.parametrize(("bore", "flagged"), [("0.0032", True), ("0.0033", False)])
def test_a_bore_that_may_hold_the_fuel_is_said(bore: str, flagged: bool) -> None:
    own = system([pickup(1), pump()], [run("S1", ("P", "ENG"), [(0, 0), (1, 1)], bore=bore)])
    assert ("The bore of S1 is 3.2 mm or less" in said(of(own))) == flagged


def test_a_thin_hose_is_said_where_it_is_joined_and_nowhere_else() -> None:
    parts = [pickup(1), Component("F", "filter", contents_m3=Fraction(0)), pump(), pump("E2")]
    thin = run("S2", ("F", "ENG"), [(0, 0), (1, 1)], bore="0.003")
    joined = system(parts[:3], [run("S1", ("P", "F"), [(0, 0), (1, 0)]), thin])
    assert "The bore of S2 is" in said(of(joined))
    apart = system(
        [*parts, Component("P2", "withdrawal", tank="T", anti_siphon="none")],
        [run("S1", ("P", "E2"), [(0, 0), (1, 0)]), run("S2", ("P2", "ENG"), [(0, 0), (1, 1)])],
    )
    assert "The bore" not in said(of(apart))


def in_line(opening: float, **facts: object) -> Document:
    """A valve between two hoses, 0.20 m of head on it at the lowest cut beyond."""
    valve = Component("V", "anti_siphon_valve", opening_head_m=Fraction(str(opening)))
    document = system(
        [pickup(), valve, pump()],
        [
            run("S1", ("P", "V"), [(0, 0.1), (1, 0.1)]),
            run("S2", ("V", "ENG"), [(0, 0.1), (1, -0.2), (2, 0.1)]),
        ],
    )
    return changed(document, "V", **facts) if facts else document


@pytest.mark.parametrize(
    ("opening", "share"), [(0.2105, 0.95), (0.24, 0.833), (0.2501, None), (0.19, None)]
)
def test_a_valve_in_the_line_that_holds_narrowly_is_said(
    opening: float, share: float | None
) -> None:
    """Above 0.8 of its opening head a valve that closes again lower may let fuel run."""
    found = of(in_line(opening), "S2")
    assert found.state == ("open" if opening < 0.2 else "held_valve")
    assert found.held_share == (None if share is None else pytest.approx(share, abs=0.001))
    assert ("closes again at less than it opens" in said(found)) == (share is not None)
    assert of(in_line(opening)).held_share is None  # before the valve nothing holds


def test_a_valve_by_its_pressure_and_one_not_on_file() -> None:
    # 740 kg/m3: 1500 Pa are 0.2067 m.
    by_pressure = in_line(0.3, opening_head_m=None, opening_pa=Fraction(1500))
    assert of(by_pressure, "S2").held_share == pytest.approx(0.2 / (1500 / (740 * 9.80665)))
    assert of(in_line(0.3, opening_head_m=None), "S2").held_share is None


def test_both_valves_on_the_way_count_together() -> None:
    both = changed(in_line(0.12), "P", anti_siphon="spring_valve", opening_head_m=Fraction(1, 10))
    assert of(both, "S2").held_share == pytest.approx(0.2 / 0.22)


@pytest.mark.parametrize(("opening", "narrow"), [(0.24, True), (0.2501, False), (0.1, False)])
def test_a_valve_at_the_pick_up(opening: float, narrow: bool) -> None:
    """The worked trace: its lowest point lies 0.20 m below the surface."""
    found = of(trace(opening))
    assert (found.held_share is not None) == narrow
