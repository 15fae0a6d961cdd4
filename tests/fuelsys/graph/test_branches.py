"""Branches: tees, selectors, several tanks and engines."""

from __future__ import annotations

from tests.fuelsys.graph.parts import graph, paths


def test_a_tee_feeds_two_engines() -> None:
    """
    P --S1-- TEE --S2-- E1
              |
              S3-- E2
    """
    found = graph(
        "P:withdrawal TEE E1:fuel_pump E2:fuel_pump",
        ("S1", "P", "TEE"),
        ("S2", "TEE", "E1"),
        ("S3", "TEE", "E2"),
    )
    assert paths(found) == ["P S1 TEE S2 E1", "P S1 TEE S3 E2"]
    assert [line.end for line in found.lines_of("S1")] == ["E1", "E2"]
    assert [line.end for line in found.lines_of("S3")] == ["E2"]


def test_two_tanks_meet_at_a_selector() -> None:
    """
    P1 --S1-- SEL --S3-- E
    P2 --S2-- SEL
    """
    found = graph(
        "P1:withdrawal P2:withdrawal SEL:selector_valve E:fuel_pump",
        ("S1", "P1", "SEL"),
        ("S2", "P2", "SEL"),
        ("S3", "SEL", "E"),
    )
    assert paths(found) == ["P1 S1 SEL S3 E", "P2 S2 SEL S3 E"]
    assert [s.id for s in found.segments_at("SEL")] == ["S1", "S2", "S3"]


def test_two_hoses_from_one_withdrawal_are_two_lines() -> None:
    """
    P --S1-- E1
    P --S2-- E2
    """
    found = graph("P:withdrawal E1:fuel_pump E2:fuel_pump", ("S1", "P", "E1"), ("S2", "P", "E2"))
    assert paths(found) == ["P S1 E1", "P S2 E2"]


def test_a_line_goes_on_past_the_pump_and_not_down_the_return() -> None:
    """P --S1-- PUMP --S2, pump_to_carburetor-- RAIL --S3, return-- R"""
    found = graph(
        "P:withdrawal PUMP:fuel_pump RAIL:fuel_rail R:return_fitting",
        ("S1", "P", "PUMP"),
        ("S2", "PUMP", "RAIL", "pump_to_carburetor"),
        ("S3", "RAIL", "R", "return"),
    )
    assert paths(found) == ["P S1 PUMP S2 RAIL"]
    assert found.lines_of("S3") == ()


def test_branches_that_rejoin_are_two_paths() -> None:
    """
    P --S1-- A --S2-- B --S4-- E
             A --S3-- B
    """
    found = graph(
        "P:withdrawal A B E:fuel_pump",
        ("S1", "P", "A"),
        ("S2", "A", "B"),
        ("S3", "A", "B"),
        ("S4", "B", "E"),
    )
    assert paths(found) == ["P S1 A S2 B S4 E", "P S1 A S3 B S4 E"]
