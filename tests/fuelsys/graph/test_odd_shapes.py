"""Odd and refused shapes: what a survey may hold, and what cannot be joined."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document, Segment
from fuelsys.graph import GraphError, Polyline, build
from tests.fuelsys.graph.parts import graph, paths


def test_a_ring_does_not_run_for_ever() -> None:
    """P --S1-- A --S2-- B --S3-- A"""
    found = graph("P:withdrawal A B", ("S1", "P", "A"), ("S2", "A", "B"), ("S3", "B", "A"))
    assert paths(found) == ["P S1 A S2 B"]
    assert found.lines_of("S3") == ()


def test_a_ring_with_a_way_out_still_reaches_the_engine() -> None:
    """
    P --S1-- A --S2-- B --S3-- A
             A --S4-- E
    """
    found = graph(
        "P:withdrawal A B E:fuel_pump",
        ("S1", "P", "A"),
        ("S2", "A", "B"),
        ("S3", "B", "A"),
        ("S4", "A", "E"),
    )
    assert paths(found) == ["P S1 A S2 B", "P S1 A S4 E"]


def test_a_hose_that_ends_where_it_starts_is_kept_and_is_no_line() -> None:
    """P --S1-- P"""
    found = graph("P:withdrawal", ("S1", "P", "P"))
    assert found.lines == ()
    assert [s.id for s in found.segments_at("P")] == ["S1"]


def test_a_part_that_hangs_alone_is_kept() -> None:
    """P --S1-- E        X"""
    found = graph("P:withdrawal E:fuel_pump X:filter", ("S1", "P", "E"))
    assert found.segments_at("X") == ()
    assert paths(found) == ["P S1 E"]


def test_a_run_that_no_tank_feeds_is_no_line() -> None:
    """A --S1-- E"""
    found = graph("A E:fuel_pump", ("S1", "A", "E"))
    assert (found.lines, found.lines_of("S1")) == ((), ())


def test_a_hose_surveyed_against_the_flow_is_not_followed_back() -> None:
    """P --S1-- A,  E --S2-- A"""
    found = graph("P:withdrawal A E:fuel_pump", ("S1", "P", "A"), ("S2", "E", "A"))
    assert paths(found) == ["P S1 A"]


def test_an_end_at_a_part_that_does_not_exist_is_refused() -> None:
    with pytest.raises(GraphError, match=r"segments\[S1\].to names 'B'"):
        build(
            Document(
                components=(Component("A", "tee"),), segments=(Segment("S1", "feed", "A", "B"),)
            )
        )


def test_a_withdrawal_of_a_tank_that_does_not_exist_is_refused() -> None:
    with pytest.raises(GraphError, match=r"components\[P\].tank names 'T'"):
        build(Document(components=(Component("P", "withdrawal", tank="T"),)))


def test_an_id_that_stands_twice_is_refused() -> None:
    with pytest.raises(GraphError, match="'A' stands twice"):
        build(Document(components=(Component("A", "tee"), Component("A", "filter"))))


def test_more_paths_than_any_boat_has_are_refused() -> None:
    """P --S-- A0 ==two hoses== A1 ==two hoses== ... A12: 4096 paths."""
    hoses = [("S", "P", "A0")]
    for k in range(12):
        hoses += [(f"L{k}", f"A{k}", f"A{k + 1}"), (f"R{k}", f"A{k}", f"A{k + 1}")]
    names = " ".join(["P:withdrawal", *(f"A{k}" for k in range(13))])
    with pytest.raises(GraphError, match="2000 paths"):
        graph(names, *hoses)


@pytest.mark.parametrize("points", [None, [], [(0, 1)], [(0, 1), (0, 2)], [(3, 1), (2, 1)]])
def test_a_route_of_fewer_than_two_places_is_no_run(
    points: list[tuple[int, int]] | None,
) -> None:
    route = None if points is None else tuple((Fraction(s), Fraction(z)) for s, z in points)
    assert Polyline.of(Segment("S1", "feed", "A", "B", route=route)) is None
