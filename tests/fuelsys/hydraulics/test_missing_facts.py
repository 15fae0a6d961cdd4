"""Facts that were not surveyed: computed both ways, named where they decide, never guessed."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document.model import Component, Document
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
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
)

PER_METRE_M3 = 71.2557e-6


def three_runs(
    *, low: float = -0.2, opening: float = 0.5, contents_ml: float = 20, check: bool = True
) -> Document:
    """P --S1-- FLT --S2-- BULB --S3-- ENG; S1 dips to `low`, the surface is at 0."""
    return system(
        [
            pickup(opening),
            Component(
                "FLT",
                "filter",
                height_m=number(0.1),
                contents_m3=number(contents_ml) / 1_000_000,
                drains_pct=Fraction(30),
            ),
            Component("BULB", "primer_bulb", height_m=number(0.05), contents_m3=number(45e-6)),
            pump(check=check),
        ],
        [
            run("S1", ("P", "FLT"), ((0, 0.05), (0.4, low), (0.8, 0.1))),
            run("S2", ("FLT", "BULB"), ((0, 0.1), (0.3, 0.05))),
            run("S3", ("BULB", "ENG"), ((0, 0.05), (0.5, 0.3), (0.7, 0.28))),
        ],
    )


def test_an_opening_head_that_decides_is_named() -> None:
    found = of(changed(three_runs(), "P", opening_head_m=None))
    assert (found.verdict, found.state) == ("cannot_tell", "indeterminate")
    assert found.missing == ("components[P].opening_head_in",)
    assert (found.volume_m3, found.worst_cut_m, found.tank_side_m3) == (None, None, None)
    assert found.least_m3 is not None
    assert found.least_m3 == pytest.approx(of(three_runs()).volume_m3)


def test_a_curve_has_gaps_where_the_head_decides_and_says_the_least() -> None:
    """Above the tank's surface nothing flows whatever the head; below, the siphon is not known."""
    found = of(changed(three_runs(), "P", opening_head_m=None), curves=True)
    held = of(three_runs(), curves=True)
    assert max(t + f for _, t, f in found.least_curve) == pytest.approx(held.volume_m3)
    gaps = [at for at, tank_side, _ in found.curve if tank_side is None]
    assert gaps
    assert all(far is not None for _, _, far in found.curve)
    assert [at for at, *_ in found.curve] == [at for at, *_ in found.least_curve]
    assert curve_of(held)  # with the head on file it is whole


def test_an_opening_head_that_is_never_tried_does_not_matter() -> None:
    """All cuts lie above the surface: whatever the valve opens at, it holds."""
    found = of(changed(three_runs(low=0.01), "P", opening_head_m=None))
    assert (found.verdict, found.state, found.missing) == ("within", "held_valve", ())


def test_a_line_too_full_either_way_is_over_without_the_head() -> None:
    document = line(((0, 0.1), (3, -0.2), (6, 0.3)), first=pickup(1.0), last=pump())
    found = of(changed(document, "P", opening_head_m=None))
    assert found.verdict == "over"
    assert found.volume_m3 is None


def test_an_unknown_anti_siphon_device_is_both_a_valve_and_none() -> None:
    facts = {"anti_siphon": None, "opening_head_m": None}
    below = of(changed(three_runs(), "P", **facts))
    assert (below.verdict, below.missing) == ("cannot_tell", ("components[P].anti_siphon",))
    # Above the surface a valve would hold the contents, none would let them fall back.
    above = of(changed(three_runs(low=0.01), "P", **facts))
    assert above.verdict in ("within", "cannot_tell")
    assert above.volume_m3 is None


@pytest.mark.parametrize(
    ("part", "facts", "path"),
    [
        ("FLT", {"contents_m3": None}, "components[FLT].contents_ml"),
        ("T", {"surface_m": None}, "tanks[T].surface_in"),
        ("S2", {"route": None}, "segments[S2].route"),
    ],
)
def test_a_fact_that_may_add_without_bound_is_named(
    part: str, facts: dict[str, Any], path: str
) -> None:
    found = of(changed(three_runs(), part, **facts), "S2" if part == "FLT" else "S1")
    assert found.verdict == "cannot_tell"
    assert path in found.missing


def test_the_surface_is_by_default_the_top_of_the_tank() -> None:
    # The contract: surface_in defaults to top_in.
    found = of(changed(three_runs(), "T", surface_m=None, top_m=Fraction(0)))
    assert found.volume_m3 == of(three_runs()).volume_m3
    assert any("tank's top" in str(text) for text in found.assumptions)


def test_contents_that_cannot_reach_the_cut_do_not_matter() -> None:
    """The bulb keeps back what stands beyond it: its own contents are not asked for at S1."""
    found = of(changed(three_runs(), "BULB", contents_m3=None), "S1")
    assert (found.verdict, found.missing) == ("within", ())
    decided = of(changed(three_runs(), "BULB", contents_m3=None), "S3")
    assert decided.missing == ("components[BULB].contents_ml",)


def test_the_draining_share_is_all_where_none_is_recorded() -> None:
    # The contract: drains_pct is 100 where left out.
    whole = of(changed(three_runs(), "FLT", drains_pct=None), "S2").volume_m3
    part = of(three_runs(), "S2").volume_m3
    assert whole is not None
    assert part is not None
    assert whole - part == pytest.approx(14e-6)


def test_a_line_ends_open_unless_a_valve_is_recorded_there() -> None:
    """From a cut at S1's low point the far hose rises to a crest and falls to the engine."""
    points = ((0, 0.05), (0.4, -0.2), (1.4, 0.6), (2.4, 0.2))
    document = line(points, first=pickup(1.0), last=pump(check=None))
    closed = of(line(points, first=pickup(1.0), last=pump(check=True)))
    is_open = of(line(points, first=pickup(1.0), last=pump(check=False)))
    assert closed.volume_m3 is not None
    assert is_open.volume_m3 is not None
    assert closed.volume_m3 < 147.9e-6 < is_open.volume_m3
    found = of(document)
    assert (found.verdict, found.missing) == ("over", ())
    assert found.volume_m3 == pytest.approx(is_open.volume_m3)


def test_a_stop_valve_that_may_open_without_the_ignition_is_both() -> None:
    facts: dict[str, Any] = {"anti_siphon": "electric_stop_valve"}
    points = ((0, 0.05), (0.5, -0.2), (1, 0.1))
    found = of(line(points, first=pickup(**facts), last=pump()))
    assert found.verdict == "cannot_tell"
    assert found.missing == ("components[P].opens_only_with_ignition",)
    facts_open = {**facts, "opens_only_with_ignition": False}
    assert of(line(points, first=pickup(**facts_open), last=pump())).verdict == "over"


def test_a_neighbor_without_bore_may_add_any_amount_or_nothing() -> None:
    document = changed(three_runs(), "S2", hose=None)
    found = of(document, "S3")
    assert found.verdict == "cannot_tell"
    assert found.missing == ("segments[S2].hose.inside_diameter_in",)


def test_a_neighbor_of_known_length_but_no_route_adds_no_more_than_it_holds() -> None:
    document = changed(three_runs(), "S2", route=None, length_m=number(0.3))
    found = of(document, "S3")
    whole = of(three_runs(), "S3")
    assert found.upper_bound_m3 is not None
    assert whole.upper_bound_m3 is not None
    assert found.upper_bound_m3 <= whole.upper_bound_m3 + (0.3 + 0.8) * PER_METRE_M3


def test_without_its_own_route_nothing_is_computed() -> None:
    found = of(changed(three_runs(), "S1", route=None, hose=None))
    assert (found.verdict, found.state) == ("cannot_tell", "indeterminate")
    assert found.missing == ("segments[S1].route", "segments[S1].hose.inside_diameter_in")
    assert (found.volume_m3, found.upper_bound_m3, found.curve) == (None, None, ())


def test_without_its_own_bore_the_rest_may_still_be_too_much() -> None:
    document = changed(three_runs(contents_ml=600), "S2", hose=None)
    assert of(document, "S2").verdict == "over"
    little = of(changed(three_runs(), "S2", hose=None), "S2")
    assert little.verdict == "cannot_tell"
    assert little.missing == ("segments[S2].hose.inside_diameter_in",)


def test_a_feed_that_leads_to_no_tank_is_not_told() -> None:
    document = system(
        [Component("A", "connector"), pump()],
        [run("S1", ("A", "ENG"), ((0, 0.0), (1, 0.5)))],
    )
    found = of(document)
    assert (found.verdict, found.missing) == ("cannot_tell", ("segments[S1].from",))


def test_a_withdrawal_whose_tank_is_not_recorded_is_not_told() -> None:
    found = of(changed(three_runs(), "P", tank=None))
    assert found.verdict == "cannot_tell"
    assert "components[P].tank" in found.missing


# What may be left out of a survey, and of which part.
REMOVABLE: list[tuple[str, dict[str, Any]]] = [
    ("P", {"opening_head_m": None}),
    ("P", {"opening_head_m": None, "anti_siphon": None}),
    ("P", {"tank": None}),
    ("T", {"surface_m": None}),
    ("T", {"fuel": None}),
    ("FLT", {"contents_m3": None}),
    ("FLT", {"drains_pct": None}),
    ("FLT", {"height_m": None}),
    ("BULB", {"contents_m3": None}),
    ("BULB", {"height_m": None}),
    ("ENG", {"check_valve": None}),
    ("S1", {"route": None}),
    ("S1", {"hose": None}),
    ("S2", {"route": None}),
    ("S2", {"hose": None}),
    ("S3", {"route": None}),
    ("S3", {"hose": None}),
]
systems = st.builds(
    three_runs,
    low=st.sampled_from([-0.6, -0.2, -0.01, 0.0, 0.01, 0.08]),
    opening=st.sampled_from([0.0, 0.05, 0.2, 0.5]),
    contents_ml=st.sampled_from([0, 20, 200, 400]),
    check=st.booleans(),
)


@given(systems, st.lists(st.sampled_from(REMOVABLE), min_size=1, max_size=4))
def test_a_fact_less_never_makes_a_hose_pass(
    document: Document, removals: list[tuple[str, dict[str, Any]]]
) -> None:
    """Whatever is left out, what was over or not to be told does not become within."""
    poorer = document
    for part, facts in removals:
        poorer = changed(poorer, part, **facts)
    for segment in ("S1", "S2", "S3"):
        before = discharge(build(document), segment)
        after = discharge(build(poorer), segment)
        assert before is not None
        assert after is not None
        if before.verdict != "within":
            assert after.verdict != "within"
        # A share left out is all of the contents; every other fact is open, so none is over.
        if before.verdict == "within" and ("FLT", {"drains_pct": None}) not in removals:
            assert after.verdict != "over"
        assert after.missing or after.verdict != "cannot_tell"
