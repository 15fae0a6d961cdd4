"""The profile of one line: heights, cut, curve, limit and excess, and what is missing."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from fuelsys.document.model import Document
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
from shop.drawing import Drawing, draw_profile
from tests.fuelsys.documents import NAMES
from tests.shop.drawing.faults import faults
from tests.shop.drawing.test_system import example, texts


def profile(document: Document, segment: str, size: str = "desk") -> Drawing:
    found = discharge(build(document), segment, curves=True)
    return draw_profile(document, segment, found, size=size)


@pytest.mark.parametrize("size", ["desk", "paper", "phone"])
@pytest.mark.parametrize("name", NAMES)
def test_every_profile_of_the_examples_is_clean(name: str, size: str) -> None:
    document = example(name)
    for segment in document.segments:
        drawing = profile(document, segment.id, size)
        ElementTree.fromstring(drawing.svg)
        assert faults(drawing) == []


def test_the_worst_cut_is_named_over_the_limit() -> None:
    """expected.md: S3 of Second Helping, B1, 8.78 fl oz cut at 20 in, limit 5."""
    drawing = profile(example("second-helping-found"), "S3")
    assert {"8.78 at 20 in, worst cut", "limit 5", "fl oz"} <= texts(drawing)
    assert {"T1-P +7, valve holds 20 in", "FLT +10", "tank +5.25"} <= texts(drawing)
    assert "d-tint-fill" in drawing.svg
    line = next(each for each in drawing.lines if each.kind == "limit")
    curve = next(each for each in drawing.lines if each.kind == "curve")
    zero = max(y for each in drawing.lines if each.kind == "axis" for _, y in each.points)
    peak = min(y for _, y in curve.points)
    ratio = (zero - peak) / (zero - line.points[0][1])
    assert ratio == pytest.approx(8.78 / 5, rel=0.005)


def test_curve_and_heights_share_their_abscissa() -> None:
    drawing = profile(example("second-helping-found"), "S3")
    curve = next(each for each in drawing.lines if each.kind == "curve")
    line = [p for each in drawing.lines if each.kind == "feed" for p in each.points]
    assert curve.points[0][0] == pytest.approx(line[0][0])
    assert curve.points[-1][0] == pytest.approx(line[-1][0])


def test_type_a_hose_has_no_limit_line() -> None:
    """33 CFR 183.558(b)(2)(i): type A1 in a feed line without condition."""
    drawing = profile(example("second-helping-found"), "S4")
    assert "no limit for type A1" in texts(drawing)
    assert not any(each.kind == "limit" for each in drawing.lines)
    assert "d-tint-fill" not in drawing.svg


def test_trapped_fuel_is_filled_to_its_level() -> None:
    drawing = profile(example("slack-tide-found"), "S2")
    assert "6.8 at 20 in, worst cut" in texts(drawing)
    assert re.search(r'class="d-mark-fill" d="M[^"]*Z"', drawing.svg)


def test_without_a_curve_the_panel_says_why() -> None:
    document = example("second-helping-found")
    assert "The curve is not computed for this line." in texts(profile(document, "S5"))


def test_a_missing_fact_is_named_in_place_of_the_curve() -> None:
    found = example("second-helping-found")
    without = tuple(replace(s, route=None) if s.id == "S3" else s for s in found.segments)
    drawing = profile(replace(found, segments=without), "S3")
    said = " ".join(texts(drawing))
    assert "S3: route not measured" in said
    assert faults(drawing) == []


@pytest.mark.parametrize("size", ["desk", "paper", "phone"])
def test_where_the_head_decides_the_curve_is_broken_and_says_at_least(size: str) -> None:
    """Slack Tide's valve without its opening head: what stands in the hose runs out in any case."""
    found = example("slack-tide-found")
    parts = tuple(
        replace(c, opening_head_m=None) if c.kind == "withdrawal" else c for c in found.components
    )
    drawing = profile(replace(found, components=parts), "S3", size)
    assert faults(drawing) == []
    assert 'stroke-dasharray="6 3"' in drawing.svg
    said = " ".join(texts(drawing))
    assert "at least this much runs out" in said
    assert "components[T1-P].opening_head_in" in said


def test_an_unknown_segment_is_an_error() -> None:
    with pytest.raises(KeyError, match="S99"):
        draw_profile(example("slack-tide-found"), "S99", None, size="desk")
