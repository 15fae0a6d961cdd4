"""Walking outward from a cut: order, barriers, closed elements and loops."""

from __future__ import annotations

from math import inf

from fuelsys.document.model import Segment
from fuelsys.graph import Graph
from fuelsys.graph.walk import AT_THE_CUT, Walk, outward
from tests.fuelsys.graph.parts import graph

HEIGHTS = {"S1": 0.0, "S2": 5.0, "S3": 1.0, "S4": 2.0, "S5": 1.0}


def walk(found: Graph, start: str, *, closed: str = "") -> Walk:
    def passes(component: str, _entered: Segment, _leaving: Segment) -> bool:
        return component != closed

    return outward(
        found,
        found.segment("S1"),
        start,
        passes=passes,
        highest=lambda segment: HEIGHTS[segment.id],
    )


def test_a_straight_run_is_walked_to_its_end() -> None:
    """P --S1-- [A --S2-- B --S3-- C]"""
    found = walk(graph("P A B C", ("S1", "P", "A"), ("S2", "A", "B"), ("S3", "B", "C")), "A")
    assert [(s.segment.id, s.near, s.far, s.before) for s in found.steps] == [
        ("S2", "A", "B", AT_THE_CUT),
        ("S3", "B", "C", 0),
    ]
    assert [s.barrier_m for s in found.steps] == [-inf, 5.0]
    assert [(a.component, a.step, a.onward) for a in found.arrivals] == [
        ("A", AT_THE_CUT, True),
        ("B", 0, True),
        ("C", 1, False),
    ]


def test_a_closed_element_ends_the_walk() -> None:
    """P --S1-- [A --S2-- B|  --S3-- C]"""
    found = walk(
        graph("P A B C", ("S1", "P", "A"), ("S2", "A", "B"), ("S3", "B", "C")), "A", closed="B"
    )
    assert [s.segment.id for s in found.steps] == ["S2"]
    assert [a.component for a in found.arrivals] == ["A", "B"]


def test_of_two_ways_the_lower_is_the_barrier() -> None:
    """
    P --S1-- [A --S2, over 5-- B --S5-- D]
              A --S3, over 1-- C --S4, over 2-- B
    """
    found = walk(
        graph(
            "P A B C D",
            ("S1", "P", "A"),
            ("S2", "A", "B"),
            ("S3", "A", "C"),
            ("S4", "C", "B"),
            ("S5", "B", "D"),
        ),
        "A",
    )
    assert [s.segment.id for s in found.steps] == ["S3", "S4", "S5"]
    barriers = {a.component: a.barrier_m for a in found.arrivals}
    assert barriers == {"A": -inf, "C": 1.0, "B": 2.0, "D": 2.0}
    assert [s.id for s in found.loops] == ["S2"]


def test_a_ring_through_the_cut_is_a_loop() -> None:
    """A --S1-- B --S2-- A, cut in S1"""
    found = walk(graph("A B", ("S1", "A", "B"), ("S2", "B", "A")), "A")
    assert [s.segment.id for s in found.steps] == ["S2"]
    assert [s.id for s in found.loops] == ["S1"]


def test_a_hose_that_ends_where_it_starts_is_a_loop() -> None:
    """P --S1-- [A --S2-- A]"""
    found = walk(graph("P A", ("S1", "P", "A"), ("S2", "A", "A")), "A")
    assert (found.steps, [s.id for s in found.loops]) == ((), ["S2"])
