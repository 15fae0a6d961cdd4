"""The small rules beneath a drawing, one by one, with their doctests."""

from __future__ import annotations

import doctest
import importlib
from types import ModuleType

import pytest

from fuelsys.document import read_object
from shop.drawing import canvas, facts, geometry, lanes
from shop.drawing.geometry import Box
from shop.drawing.judge import Verdict, judgment, verdict_of
from shop.drawing.labels import Board, DrawnLine
from shop.drawing.lanes import DOWN, Hung, LaneItem
from shop.drawing.marks import mark
from shop.drawing.runs import runs_of
from tests.shop.drawing.test_system import example

MODULES = ["canvas", "curve", "facts", "geometry", "judge", "metrics", "strokes"]


@pytest.mark.parametrize("name", MODULES)
def test_doctests(name: str) -> None:
    module: ModuleType = importlib.import_module(f"shop.drawing.{name}")
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize(
    ("outcomes", "advice", "expected"),
    [
        ({"33-cfr-183": "fail", "practice": "fail"}, False, Verdict("fail", "law")),
        ({"33-cfr-183": "review", "practice": "fail"}, False, Verdict("fail", "practice")),
        (
            {"40-cfr-1060": "cannot_tell", "practice": "review"},
            False,
            Verdict("review", "practice"),
        ),
        ({"33-cfr-183": "pass", "practice": "pass"}, True, Verdict("advice")),
        ({"33-cfr-183": "not_applicable", "practice": "pass"}, False, Verdict("pass")),
        ({"33-cfr-183": "not_applicable"}, False, Verdict("not_applicable")),
        ({}, False, Verdict("not_applicable")),
        ({"33-cfr-183": "cannot_tell"}, True, Verdict("cannot_tell", "law")),
    ],
)
def test_verdicts(outcomes: dict[str, str], advice: bool, expected: Verdict) -> None:
    """The contract's order: fail, then review, then cannot_tell, then pass."""
    assert verdict_of(outcomes, advice=advice) == expected


def test_a_tied_worst_cut_is_drawn_at_its_first_place() -> None:
    data = {"segments": [{"id": "S1", "discharge": {"volume_floz": 2, "worst_cut_in": [5, 9]}}]}
    assert judgment(data).cuts["S1"].place_in == 5


def test_nothing_is_judged_without_an_evaluation() -> None:
    assert judgment(None).verdicts == {}


@pytest.mark.parametrize(
    "outcome", ["pass", "fail", "review", "cannot_tell", "advice", "not_applicable"]
)
def test_marks_take_the_current_color(outcome: str) -> None:
    assert "currentColor" in mark(outcome, 0, 0, 16)


def test_runs_leave_the_tank_and_hold_every_segment_once() -> None:
    document = example("tin-whistle-found")
    runs = runs_of(document)
    assert sorted(step.segment.id for run in runs for step in run.steps) == sorted(
        segment.id for segment in document.segments
    )
    feed = next(run for run in runs if run.root == "TP-P")
    assert [step.segment.id for step in feed.steps] == ["P3", "P4"]
    back = next(run for run in runs if run.root == "TP-R")
    assert [(step.segment.id, step.back) for step in back.steps] == [("P5", True)]
    sides = {run.steps[0].segment.id: run.preferred for run in runs if run.tank == "TS"}
    assert sides == {"S1": -1, "S2": 1, "S3": 1, "S5": 1, "G1": -1, "G3": -1}


def test_a_loop_ends() -> None:
    source = {
        "format": "fuel-system/1",
        "components": [{"id": name, "kind": "tee"} for name in "ABC"],
        "segments": [
            {"id": f"S{a}{b}", "service": "feed", "from": a, "to": b} for a, b in ("AB", "BC", "CA")
        ],
    }
    runs = runs_of(read_object(source))
    assert [step.segment.id for run in runs for step in run.steps] == ["SAB", "SBC", "SCA"]


def test_pockets_fill_to_the_lower_rim() -> None:
    """expected.md: Second Helping +14 from 20 to 34.5 in; Slack Tide +9 over 40 in."""
    (start, end, level), *more = facts.pockets(((0, 7), (20, 14), (32, 12), (64, 38), (88, 36)))
    assert (start, level, more) == (20, 14, [])
    assert end == pytest.approx(34.5, abs=0.05)
    assert facts.pockets(((0, 9), (20, 6), (40, 9), (84, 31), (96, 29))) == [(0.0, 40.0, 9.0)]
    assert facts.pockets(((0, 9), (84, 31), (96, 29))) == []
    assert facts.pockets(((0, 41), (54, 7))) == []


def test_text_and_control_characters_are_made_fit_for_xml() -> None:
    assert canvas.attribute("a\x00<b>\"&'\ud800") == "a&lt;b&gt;&quot;&amp;&#x27;"


def test_a_line_near_a_label_makes_its_place_taken() -> None:
    board = Board(Box(0, 0, 100, 100))
    assert board.is_free(Box(10, 10, 30, 20))
    board.add_line(DrawnLine("feed", "S1", ((0, 22), (100, 22)), 4))
    assert not board.is_free(Box(10, 10, 30, 20))
    assert board.is_free(Box(10, 5, 30, 15))
    assert not board.is_free(Box(90, 5, 110, 15))


def test_lane_items_keep_their_order_and_their_distance() -> None:
    """Eight leaders 6 px apart, items 40 px wide: more rows than one, no leader through an item."""
    items = [
        LaneItem(
            str(i),
            ((100.0 + 6 * i, 10.0),),
            lambda lane: Box(-8, -8, 32, 8),
            lambda lane, at: ("", []),
        )
        for i in range(8)
    ]
    plot = Box(0, 0, 260, 50)
    hung = lanes.hang(items, Board(plot), plot, (0, 260))
    low = sorted((h for h in hung.hung if h.lane == DOWN), key=lambda h: h.start[0])
    assert [h.x for h in low] == sorted(h.x for h in low)
    placed = [(h, h.item.reach(h.lane).moved(h.x, _middle(hung, h, plot))) for h in hung.hung]
    for one, box in placed:
        assert box.left >= 0
        assert box.right <= 260
        for other, _ in placed:
            if other is not one and other.lane == one.lane:
                leader = lanes.leader_points(
                    other, plot, 10, other.item.reach(other.lane), _middle(hung, other, plot)
                )
                assert not geometry.strikes(leader, box)


def _middle(hung: lanes.Lanes, one: Hung, plot: Box) -> float:
    return lanes.center_of_row(hung, one, plot, 10)
