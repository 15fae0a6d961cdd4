"""Verdicts under a survey's tolerance, and what would turn them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document, Segment, Tank
from fuelsys.graph import Graph, build
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.remedies import lift_needed, opening_needed
from fuelsys.hydraulics.tolerance import survey_tolerance
from tests.fuelsys.hydraulics.builders import changed, line, of, pickup, pump, trace


def level(height: float, *, opening: float | None = None, length: float = 1.0) -> Graph:
    """A level hose, its height above the tank's surface."""
    return build(line([(0, height), (length, height)], first=pickup(opening), last=pump()))


@pytest.mark.parametrize(
    ("height", "verdicts"),
    [
        # The tank's surface is at 0 and any head at all runs out: 10 mm decide.
        (0.005, ("within", "over")),
        (0.025, ("within",)),
        (-0.005, ("over", "within")),
        (-0.025, ("over",)),
    ],
)
def test_ten_millimeters_about_the_tank_s_surface(height: float, verdicts: tuple[str, ...]) -> None:
    found = survey_tolerance(level(height), "S1")
    assert found is not None
    assert found.verdicts == verdicts
    assert found.steady == (len(verdicts) == 1)


def test_a_level_run_at_the_cut_may_hold_or_not() -> None:
    """Contents of 1 m of 3/8 in hose, 71 mL: all of it, or what a tilt leaves."""
    found = survey_tolerance(level(0.1, opening=2.0), "S1")
    assert found is not None
    assert found.most_m3 is not None
    assert found.most_m3 * 1e6 == pytest.approx(71.26, rel=1e-3)
    assert found.verdicts == ("within",)


def test_the_survey_itself_is_within_its_tolerance() -> None:
    for opening in (None, 0.1, 0.25):
        document = trace(opening)
        found = survey_tolerance(build(document), "S1")
        itself = of(document).volume_m3
        assert found is not None
        assert itself is not None
        assert found.least_m3 is not None
        assert found.most_m3 is not None
        assert found.least_m3 <= itself <= found.most_m3


def test_a_wider_tolerance_never_narrows_the_volumes() -> None:
    graph = build(trace(0.25))
    narrow = survey_tolerance(graph, "S1", by_m=Fraction("0.002"))
    wide = survey_tolerance(graph, "S1", by_m=Fraction("0.02"))
    assert narrow is not None
    assert wide is not None
    assert (wide.most_m3 or 0) >= (narrow.most_m3 or 0)


def test_what_is_not_cut_has_no_tolerance_lift_or_valve() -> None:
    document = line([(0, 0), (1, 0)], first=pickup(), last=pump())
    graph = build(changed(document, "S1", service="return"))
    assert survey_tolerance(graph, "S1") is None
    assert lift_needed(graph, "S1") is None
    unknown = build(changed(document, "S1", route=None))
    assert lift_needed(unknown, "S1") is None
    assert opening_needed(unknown, "S1") is None


def test_lifting_a_dip_to_the_tank_s_surface_is_enough() -> None:
    graph = build(line([(0, 0.1), (1, -0.2), (2, 0.1)], first=pickup(), last=pump()))
    found = lift_needed(graph, "S1")
    assert found is not None
    # The surface is at 0: any cut below it runs, none above it does.
    assert found.rise_m == pytest.approx(0.2, abs=0.002)
    assert found.level_m == pytest.approx(0.0, abs=0.002)
    lifted = line([(0, 0.1), (1, found.level_m), (2, 0.1)], first=pickup(), last=pump())
    assert of(lifted).verdict == "within"
    short = line([(0, 0.1), (1, found.level_m - 0.003), (2, 0.1)], first=pickup(), last=pump())
    assert of(short).verdict == "over"


def test_what_passes_needs_no_lift_and_a_long_rise_passes_by_none() -> None:
    passing = lift_needed(level(0.1), "S1")
    assert passing is not None
    assert passing.rise_m == 0.0
    # 6 m of level 3/8 in hose hold 428 mL behind a valve: wherever it lies, they run out.
    held = build(line([(0, 0.1), (6, 0.1)], first=pickup(2.0), last=pump()))
    assert of(held.document).verdict == "over"
    assert lift_needed(held, "S1") is None


def test_the_opening_head_needed_is_the_depth_below_the_surface() -> None:
    # The worked trace: the lowest point is 0.20 m below the surface; 7.23 fl oz stand in the hose,
    # so even a valve that holds does not bring it within the limit.
    found = opening_needed(build(trace(0.10)), "S1")
    assert found is not None
    assert found.head_m == pytest.approx(0.20)
    assert found.verdict == "over"


def test_a_tank_under_pressure_needs_more() -> None:
    # 1 psi is 0.95 m of gasoline.
    pressed = opening_needed(build(changed(trace(0.25), "T", relief_pa=Fraction(6895))), "S1")
    assert pressed is not None
    assert pressed.head_m == pytest.approx(0.20 + 0.95, abs=0.001)


def test_the_opening_head_needed_is_what_decides() -> None:
    """Just above it the valve holds; just below it fuel flows."""
    needed = opening_needed(build(trace(1.0)), "S1")
    assert needed is not None
    holding, flowing = needed.head_m + 0.001, needed.head_m - 0.001
    assert of(trace(round(holding, 4))).state == "held_valve"
    assert of(trace(round(flowing, 4))).state == "open"


def test_without_a_known_surface_no_head_is_named() -> None:
    graph = build(changed(trace(0.25), "T", surface_m=None))
    assert opening_needed(graph, "S1") is None


def test_a_vent_has_no_opening_head() -> None:
    document = Document(
        tanks=(Tank("T", fuel="gasoline", surface_m=Fraction(0)),),
        components=(Component("N", "vent_nipple", tank="T"), Component("OUT", "vent_fitting")),
        segments=(
            Segment(
                "V",
                "vent",
                "N",
                "OUT",
                route=((Fraction(0), Fraction(0)), (Fraction(1), Fraction(1))),
            ),
        ),
    )
    graph = build(document)
    assert discharge(graph, "V") is not None
    assert opening_needed(graph, "V") is None
