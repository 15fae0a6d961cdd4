"""Straight runs: one tank, one line, no branch."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document, Segment, Tank
from fuelsys.graph import build


def line_of_three() -> Document:
    """T1-P --S1--> FLT --S2--> ENG --S3--> RAIL, beside a fill FILL --S4--> T1-F."""
    return Document(
        tanks=(Tank("T1"),),
        components=(
            Component("T1-P", "withdrawal", tank="T1"),
            Component("FLT", "filter"),
            Component("ENG", "fuel_pump"),
            Component("RAIL", "fuel_rail"),
            Component("FILL", "deck_fill"),
            Component("T1-F", "fill_spud", tank="T1"),
        ),
        segments=(
            Segment("S1", "feed", "T1-P", "FLT"),
            Segment("S2", "feed", "FLT", "ENG"),
            Segment("S3", "pump_to_carburetor", "ENG", "RAIL"),
            Segment("S4", "fill", "FILL", "T1-F"),
        ),
    )


def test_a_line_runs_from_withdrawal_to_rail_through_filter_and_pump() -> None:
    """T1-P --S1--> FLT --S2--> ENG --S3--> RAIL"""
    (line,) = build(line_of_three()).lines
    assert line.source == "T1-P"
    assert line.segments == ("S1", "S2", "S3")
    assert line.components == ("T1-P", "FLT", "ENG", "RAIL")
    assert line.end == "RAIL"


def test_each_feed_segment_knows_its_line_and_the_fill_has_none() -> None:
    """T1-P --S1--> FLT --S2--> ENG --S3--> RAIL;  FILL --S4--> T1-F"""
    graph = build(line_of_three())
    assert [len(graph.lines_of(s)) for s in ("S1", "S2", "S3", "S4")] == [1, 1, 1, 0]


def test_look_ups_find_parts_and_name_what_is_absent() -> None:
    """T1-P --S1--> FLT"""
    graph = build(line_of_three())
    assert graph.segment("S1").to_id == "FLT"
    assert [s.id for s in graph.segments_at("FLT")] == ["S1", "S2"]
    tank = graph.tank_of("T1-P")
    assert tank is not None
    assert tank.id == "T1"
    assert graph.tank_of("FLT") is None
    assert graph.neighbor("S1", "FLT") == "T1-P"
    for look_up in (graph.segment, graph.component, graph.tank, graph.engine, graph.compartment):
        with pytest.raises(KeyError, match="NONE"):
            look_up("NONE")
    with pytest.raises(KeyError):
        graph.segments_at("NONE")


def test_a_route_is_read_in_metres_along_the_hose() -> None:
    """A ---- down ---- up ---- B, its hose a tenth longer than the route's last distance."""
    route = tuple((Fraction(d), Fraction(h)) for d, h in ((0, 3), (4, 1), (10, 5)))
    segment = Segment("S1", "feed", "A", "B", length_m=Fraction(11), route=route)
    graph = build(
        Document(components=(Component("A", "tee"), Component("B", "tee")), segments=(segment,))
    )
    run = graph.polyline("S1")
    assert run is not None
    assert run.distances_m == (0.0, 4.4, 11.0)
    assert run.lowest() == (4.4, 1.0)
    assert run.highest() == (11.0, 5.0)
    assert run.height_at(2.2) == pytest.approx(2.0)
    assert (run.height_at(-1), run.height_at(99)) == (3.0, 5.0)
