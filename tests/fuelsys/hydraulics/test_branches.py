"""Tees, selectors, several tanks and loops: bounded, and never a quiet number."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document, Tank
from tests.fuelsys.hydraulics.builders import (
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
)

PER_METRE_M3 = 71.2557e-6


def twin_engines(opening: float | None) -> Document:
    """
    P --S1-- TEE --S2-- ENG1
              |
              S3-- ENG2
    """
    return system(
        [pickup(opening), Component("TEE", "tee"), pump("ENG1"), pump("ENG2")],
        [
            run("S1", ("P", "TEE"), ((0, 0.1), (1, -0.1))),
            run("S2", ("TEE", "ENG1"), ((0, -0.1), (1, 0.3))),
            run("S3", ("TEE", "ENG2"), ((0, -0.1), (1, 0.3))),
        ],
    )


def test_both_branches_run_back_to_a_cut_before_the_tee() -> None:
    found = of(twin_engines(0.5), "S1")
    assert found.worst_cut_m == pytest.approx(1.0)
    assert found.far_side_m3 == pytest.approx(2 * PER_METRE_M3, rel=1e-4)
    assert found.tank_side_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)


def test_a_cut_in_one_branch_drains_the_other_by_way_of_the_tee() -> None:
    found = of(twin_engines(0.5), "S2")
    assert (found.worst_cut_m, found.state) == (0.0, "held_valve")
    assert found.tank_side_m3 == pytest.approx(2 * PER_METRE_M3, rel=1e-4)


def test_a_dead_branch_comes_on_top_of_the_flow() -> None:
    alone = line(((0, 0.1), (1, -0.1), (2, 0.3)), first=pickup(), last=pump())
    flow = of(alone, curves=True)
    tee = of(twin_engines(None), "S2")
    assert tee.state == "open"
    assert tee.tank_side_m3 is not None
    at_tee = next(t for d, t, _ in curve_of(flow) if d == 1.0)
    assert tee.tank_side_m3 == pytest.approx(at_tee + PER_METRE_M3, rel=1e-4)


def test_what_falls_back_into_the_tank_leaves_the_dead_branch_standing() -> None:
    """All above the surface, no valve: S1 falls back, the other engine's branch does not."""
    found = of(changed(twin_engines(None), "T", surface_m=number(-0.5)), "S2")
    assert found.state == "pull_back"
    assert found.tank_side_m3 == pytest.approx(PER_METRE_M3, rel=1e-4)


def test_a_closed_port_of_a_selector_shuts_its_tank_off() -> None:
    """
    P ---S1-- SEL --S3-- ENG        SEL is open to S2 and S3
    P2 --S2-- SEL
    """
    document = two_tanks(("S2", "S3"))
    found = of(document, "S3")
    assert found.state == "open"  # tank 2 runs, 0.3 m above the cut
    shut = of(two_tanks(("S1", "S3")), "S2")
    assert shut.far_side_m3 == 0.0
    closed = of(two_tanks(("S1",)), "S3")
    assert closed.state == "held_closed"


def two_tanks(open_to: tuple[str, ...] | None, *, second_surface: float = 0.0) -> Document:
    """
    P ---S1-- SEL --S3-- ENG
    P2 --S2-- SEL
    """
    second = Component("P2", "withdrawal", tank="T2", anti_siphon="none")
    down = ((0, 0.1), (1, -0.2))
    return system(
        [pickup(), second, Component("SEL", "selector_valve", open_to=open_to), pump()],
        [
            run("S1", ("P", "SEL"), down),
            run("S2", ("P2", "SEL"), down),
            run("S3", ("SEL", "ENG"), ((0, -0.2), (1, -0.3), (2, 0.2))),
        ],
        tank(),
        Tank("T2", fuel="gasoline", surface_m=number(second_surface)),
    )


def test_two_tanks_at_one_level_run_out_together() -> None:
    both, one = of(two_tanks(None), "S3"), of(two_tanks(("S1", "S3")), "S3")
    assert (both.verdict, both.state, both.missing) == ("over", "open", ())
    assert both.volume_m3 is not None
    assert one.volume_m3 is not None
    # More than one gives, less than both would give each by itself, which is the bound.
    assert both.upper_bound_m3 is not None
    assert one.volume_m3 < both.volume_m3 < both.upper_bound_m3 < 2.1 * one.volume_m3
    said = " ".join(map(str, both.assumptions))
    assert "one may run into another" not in said
    assert "solved as one network" in said
    assert "solved as one network" not in " ".join(map(str, one.assumptions))


def test_where_a_fact_between_two_tanks_lacks_they_are_bounded() -> None:
    unknown = changed(two_tanks(None), "P2", anti_siphon=None)
    found, one = of(unknown, "S3"), of(two_tanks(("S1", "S3")), "S3")
    assert (found.verdict, found.volume_m3) == ("over", None)
    assert found.least_m3 is not None
    assert one.volume_m3 is not None
    # The branch to the second tank hangs on the first as a dead end, with what stands in it.
    assert one.volume_m3 < found.least_m3 < one.volume_m3 + 1.1 * PER_METRE_M3


def test_a_tank_that_may_run_into_a_lower_one_is_for_a_person() -> None:
    """The second tank's surface lies below the cut: it takes all that the first gives, and air."""
    found = of(two_tanks(None, second_surface=-1.0), "S3")
    assert (found.verdict, found.missing, found.volume_m3) == ("review", (), None)


def test_tanks_on_both_sides_of_a_cut_each_run_out_of_their_own_end() -> None:
    """P --S1-- SEL --S2-- P2, cut in S1: tank 1 from one side, tank 2 from the other."""
    found = of(two_tanks(None), "S1")
    assert found.verdict == "over"
    assert found.worst_cut_m == pytest.approx(1.0)
    assert found.tank_side_m3 == pytest.approx(found.far_side_m3 or 0.0, rel=0.05)


def test_a_loop_is_never_within() -> None:
    """P --S1-- A --S2-- B --S4-- ENG with S3 beside S2."""
    document = system(
        [pickup(0.5), Component("A", "tee"), Component("B", "tee"), pump()],
        [
            run("S1", ("P", "A"), ((0, 0.1), (0.2, 0.0))),
            run("S2", ("A", "B"), ((0, 0.0), (0.2, 0.1))),
            run("S3", ("A", "B"), ((0, 0.0), (0.2, 0.1))),
            run("S4", ("B", "ENG"), ((0, 0.1), (0.2, 0.2))),
        ],
    )
    for segment in ("S1", "S2", "S3", "S4"):
        found = of(document, segment)
        assert (found.verdict, found.volume_m3, found.upper_bound_m3) == ("review", None, None)
        assert any("loop" in str(text) for text in found.assumptions)


def test_a_hose_that_starts_where_it_ends_is_never_within() -> None:
    """A --S1-- A"""
    document = system([Component("A", "tee")], [run("S1", ("A", "A"), ((0, 0.1), (1, 0.1)))])
    found = of(document)
    assert (found.verdict, found.volume_m3) == ("cannot_tell", None)


def test_a_return_line_above_the_surface_opens_the_far_end() -> None:
    """P --S1-- RAIL --S2, return-- T-R: air from the tank lets the plug fall."""
    document = system(
        [pickup(2.0), Component("RAIL", "fuel_rail"), Component("T-R", "return_fitting", tank="T")],
        [
            run("S1", ("P", "RAIL"), ((0, 0.0), (1, -1.0), (2, 0.0))),
            run("S2", ("RAIL", "T-R"), ((0, 0.0), (1, -0.5), (2, 0.1)), service="return"),
        ],
    )
    found = of(document)
    assert found.volume_m3 == pytest.approx(4 * PER_METRE_M3, rel=1e-4)
    dipped = of(changed(document, "T-R", height_m=number(-0.3), at_bottom=True))
    assert (dipped.state, dipped.verdict) == ("open", "over")
    sealed = of(changed(document, "T", relief_pa=Fraction(1000)))
    assert sealed.upper_bound_m3 is None


def test_a_siphon_beside_an_open_end_is_both() -> None:
    """
    P --S1, over a crest-- TEE --S2, down-- END1
                            |
                            S3, up -- CARB, open to the air
    """
    document = system(
        [
            pickup(),
            Component("TEE", "tee"),
            Component("END1", "fuel_pump", check_valve=True),
            Component("CARB", "carburetor"),
        ],
        [
            run("S1", ("P", "TEE"), ((0, 0.1), (0.5, 0.2))),
            run("S2", ("TEE", "END1"), ((0, 0.2), (0.5, -0.3))),
            run("S3", ("TEE", "CARB"), ((0, 0.2), (0.2, 0.25))),
        ],
    )
    found = of(document, "S2")
    assert (found.verdict, found.missing, found.volume_m3) == ("review", (), None)
    assert any("Air may enter" in str(text) for text in found.assumptions)


def test_two_vents_that_do_not_join_each_keep_their_own_level() -> None:
    """
    P --S1-- A --S2-- B
             |        V2, vent-- OUT2
             V1, vent-- OUT1
    """
    document = system(
        [
            pickup(2.0),
            Component("A", "tee"),
            Component("B", "tee"),
            Component("OUT1", "vent_fitting"),
            Component("OUT2", "vent_fitting"),
        ],
        [
            run("S1", ("P", "A"), ((0, 0.0), (1, 0.5))),
            run("S2", ("A", "B"), ((0, 0.5), (1, 0.6))),
            run("V1", ("A", "OUT1"), ((0, 0.5), (1, 0.7), (2, 0.6), (3, 0.8)), service="vent"),
            run("V2", ("B", "OUT2"), ((0, 0.6), (1, 0.9), (2, 0.6), (3, 1.0)), service="vent"),
        ],
    )
    found = of(document)
    # Full to their outer ends, the tees being full; what lies behind a crest only bounds it.
    drains = 2 + (1 + 0.5) + (1 + 0.25)
    assert found.volume_m3 == pytest.approx(drains * PER_METRE_M3, rel=1e-4)
    assert found.upper_bound_m3 == pytest.approx(8 * PER_METRE_M3, rel=1e-4)
