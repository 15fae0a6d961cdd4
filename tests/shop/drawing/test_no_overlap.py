"""Labels never overlap, nor does a line strike one: all example boats at all sizes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fuelsys.document import read
from fuelsys.document.model import Document
from fuelsys.evaluation import evaluate
from shop.drawing import Drawing, draw_system
from shop.drawing.geometry import Box
from shop.drawing.labels import DrawnLine, LabelBox
from tests.fuelsys.documents import EXAMPLES, NAMES
from tests.shop.drawing.faults import faults

SIZES = ("desk", "paper", "phone")


def example(name: str) -> Document:
    return read((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))


def drawn(name: str, size: str, chosen: str | None = None) -> Drawing:
    document = example(name)
    state = name.rsplit("-", 1)[1]
    return draw_system(
        document,
        evaluate(document, on=date(2026, 11, 25)),
        size=size,
        state=state,
        chosen=chosen,
        found=example(name.replace("proposed", "found")) if state == "proposed" else None,
        kept=frozenset({"S5", "S6"}) if state == "proposed" else frozenset(),
        href=lambda ident: f"/segments/{ident}/",
    )


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", NAMES)
def test_example_boats_have_no_overlap(name: str, size: str) -> None:
    drawing = drawn(name, size)
    assert len([box for box in drawing.boxes if box.kind == "text"]) > 10
    assert faults(drawing) == []


@pytest.mark.parametrize("size", SIZES)
def test_a_chosen_segment_moves_no_label_into_another(size: str) -> None:
    for segment in example("slack-tide-found").segments:
        assert faults(drawn("slack-tide-found", size, segment.id)) == []


def test_the_check_finds_planted_faults() -> None:
    """Each kind of fault, put into a clean drawing, is found by the same check."""
    drawing = drawn("second-helping-found", "desk")
    label = next(box for box in drawing.boxes if box.text == "FLT +10")
    over = LabelBox("text", "planted", label.box.moved(4, 2))
    assert any("overlaps" in f for f in faults(replace(drawing, boxes=(*drawing.boxes, over))))
    sign = LabelBox("symbol", "planted", label.box.moved(4, 2))
    assert any("symbol" in f for f in faults(replace(drawing, boxes=(*drawing.boxes, sign))))
    middle = label.box.center[1]
    line = DrawnLine("feed", "planted", ((0, middle), (drawing.width, middle)), 4)
    assert any("strikes" in f for f in faults(replace(drawing, lines=(*drawing.lines, line))))
    out = LabelBox("text", "planted", Box(-5, 0, 5, 5))
    assert any("cut off" in f for f in faults(replace(drawing, boxes=(*drawing.boxes, out))))
