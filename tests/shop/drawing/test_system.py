"""What a drawing shows: true heights, one sideways scale, cuts, pockets, names, links."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import combinations
from xml.etree import ElementTree

import pytest

from fuelsys.document import read, read_object
from fuelsys.document.model import Document
from fuelsys.evaluation import evaluate
from shop.drawing import Drawing, draw_system
from shop.drawing.geometry import bounds, crossings
from shop.drawing.labels import DrawnLine
from shop.drawing.style import DRAWING_CSS
from shop.drawing.words import TITLES
from tests.fuelsys.documents import EXAMPLES, NAMES

SERVICES = {"feed", "fill", "vent", "return", "transfer", "pump_to_carburetor"}
ON = date(2026, 11, 25)


def example(name: str) -> Document:
    return read((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))


def draw(name: str, size: str = "desk", **more: object) -> Drawing:
    document = example(name)
    return draw_system(document, evaluate(document, on=ON), size=size, **more)  # type: ignore[arg-type]  # checked by the call


def pieces(drawing: Drawing, segment: str) -> list[DrawnLine]:
    return [line for line in drawing.lines if line.owner == segment and line.kind in SERVICES]


def texts(drawing: Drawing) -> set[str]:
    return {box.text for box in drawing.boxes if box.kind == "text"}


@pytest.mark.parametrize("size", ["desk", "paper", "phone"])
def test_heights_are_true_to_one_scale(size: str) -> None:
    """Second Helping's S3 runs +7, -6, -5, +10 in; the waterline is 0, the surface +5.25."""
    drawing = draw("second-helping-found", size)
    line = pieces(drawing, "S3")
    ys = [y for piece in line for _, y in piece.points]
    waterline = next(each for each in drawing.lines if each.kind == "waterline").points[0][1]
    surface = next(each for each in drawing.lines if each.kind == "surface").points[0][1]
    per_in = (waterline - surface) / 5.25
    assert waterline - ys[0] == pytest.approx(7 * per_in, abs=0.01)
    assert waterline - ys[-1] == pytest.approx(10 * per_in, abs=0.01)
    fill = pieces(drawing, "S1")[0]
    assert waterline - min(y for _, y in fill.points) == pytest.approx(41 * per_in, abs=0.01)


@pytest.mark.parametrize("size", ["desk", "paper", "phone"])
def test_one_sideways_scale_for_all_hoses(size: str) -> None:
    """Lengths of the routes, from the document: P1 60 in, G1 96 in, S5 70 in, in two parts."""
    drawing = draw("tin-whistle-found", size)
    assert len(drawing.parts) == 2
    scales = {
        name: bounds([p for piece in pieces(drawing, name) for p in piece.points]).width / inches
        for name, inches in (("P1", 60), ("G1", 96), ("S5", 70), ("G3", 104))
    }
    assert max(scales.values()) == pytest.approx(min(scales.values()), rel=1e-6)


@pytest.mark.parametrize("size", ["desk", "paper", "phone"])
@pytest.mark.parametrize("name", NAMES)
def test_no_two_lines_cross(name: str, size: str) -> None:
    """Of different segments that do not meet at a part."""
    drawing = draw(name, size)
    ends = {s.id: {s.from_id, s.to_id} for s in example(name).segments}
    lines = [line for line in drawing.lines if line.kind in SERVICES]
    crossed = [
        (one.owner, other.owner)
        for one, other in combinations(lines, 2)
        if one.owner != other.owner
        and not ends[one.owner] & ends[other.owner]
        and crossings(one.points, other.points)
    ]
    assert crossed == []


def test_the_crossing_check_finds_a_planted_crossing() -> None:
    drawing = draw("second-helping-found")
    line = pieces(drawing, "S1")[0]
    (x0, y0), (x1, y1) = line.points
    assert crossings(line.points, ((x0, y1), (x1, y0))) == 1


def test_the_staff_is_the_same_in_every_part() -> None:
    drawing = draw("tin-whistle-found")
    staffs = [box.box for box in drawing.boxes if box.text == "staff"]
    assert len(staffs) == 2
    assert staffs[0].height == pytest.approx(staffs[1].height)


def test_the_line_is_interrupted_at_the_worst_cut() -> None:
    """expected.md: S3 of Second Helping runs out 8.78 fl oz cut at 20 in; S6 284 at 24 in."""
    drawing = draw("second-helping-found")
    first, second = pieces(drawing, "S3")
    gap = second.points[0][0] - first.points[-1][0]
    assert 3 < gap < 12
    scale = bounds([*first.points, *second.points]).width / 64
    middle = (second.points[0][0] + first.points[-1][0]) / 2
    assert (middle - first.points[0][0]) / scale == pytest.approx(20, abs=0.5)
    assert {"worst cut / 8.78 fl oz", "worst cut / 284 fl oz"} <= texts(drawing)
    assert sum(line.kind == "cut" for line in drawing.lines) == 4
    assert len(pieces(drawing, "S4")) == 1


def test_computed_figures_slope_and_measured_ones_stand() -> None:
    svg = draw("second-helping-found").svg
    assert re.search(r'font-style="italic"[^>]*>8.78 fl oz<', svg)
    assert not re.search(r'font-style="italic"[^>]*>FLT \+10<', svg)


def test_trapped_fuel_is_named_at_its_dip() -> None:
    """expected.md: S2 holds 2.46 fl oz; its dip stands at +12 in the route."""
    assert "dips to +12 / holds 2.46 fl oz" in texts(draw("second-helping-found"))
    assert not any("dips to" in text for text in texts(draw("second-helping-proposed")))


def test_parts_carry_tag_and_height() -> None:
    found = texts(draw("second-helping-found"))
    assert {"FLT +10", "VENT +36", "RAIL +22", "T1-P +7, valve holds 20 in", "+38"} <= found
    assert "T1-G +7 / no anti-siphon valve" in found
    assert "T1, 110 gal / aluminum / top +6, bottom −10" in found
    assert {"tank surface at capacity +5.25", "static waterline 0"} <= found


def test_lanes_carry_outcome_and_facts() -> None:
    desk, paper = draw("second-helping-found"), draw("second-helping-found", "paper")
    assert {"S3", "Fail, law", "Fail, practice", "B1, 3/8 in, 64 in"} <= texts(desk)
    assert {"S3", "Fail, law"} <= texts(paper)
    assert "B1, 3/8 in, 64 in" not in texts(paper)


def test_the_phone_has_five_names_and_no_tags() -> None:
    found = texts(draw("second-helping-found", "phone"))
    assert {"deck fill", "vent", "engine", "generator", "tank"} <= found
    assert not any("FLT" in text for text in found)


def test_each_segment_is_a_named_link_of_24_px() -> None:
    drawing = draw("second-helping-found", href=lambda ident: f"/segments/{ident}/?a=1&b=2")
    root = ElementTree.fromstring(drawing.svg)
    links = root.findall(".//{http://www.w3.org/2000/svg}a")
    names = {link.get("href", ""): link[0].text for link in links}
    assert {link[0].tag.rpartition("}")[2] for link in links} == {"title"}
    assert all(link[1].get("aria-hidden") == "true" for link in links)
    assert len(links) == 7
    assert names["/segments/S3/?a=1&b=2"] == "S3, feed, fails law"
    hits = root.findall(".//*[@class='d-hit']")
    assert [hit.get("stroke-width") for hit in hits] == ["24"] * 7


def test_without_addresses_nothing_is_a_link() -> None:
    root = ElementTree.fromstring(draw("second-helping-found").svg)
    assert root.get("role") == "img"
    assert root.find(".//{http://www.w3.org/2000/svg}a") is None
    assert root[0].text == TITLES["found"]
    assert "S3, feed, fails law" in (root[1].text or "")


def test_the_chosen_number_is_reversed_and_banded() -> None:
    plain, chosen = draw("second-helping-found"), draw("second-helping-found", chosen="S3")
    assert "d-sel-line" not in plain.svg
    assert "d-sel-line" in chosen.svg
    assert re.search(r'class="d-paper-text"[^>]*>S3<', chosen.svg)


def test_a_proposed_course_lies_over_the_thin_found_one() -> None:
    """S2 of Second Helping gets another route; the other six keep theirs."""
    drawing = draw(
        "second-helping-proposed", state="proposed", found=example("second-helping-found")
    )
    thin = [line for line in drawing.lines if line.kind == "earlier"]
    assert [(line.owner, line.width, len(line.points)) for line in thin] == [("S2", 1.0, 5)]
    assert "as found" in texts(drawing)


def test_lines_stay_on_their_side_from_state_to_state() -> None:
    """Slack Tide's found vent dips beside the pick-up and is drawn left; the proposed one too."""
    found = draw("slack-tide-found")
    proposed = draw("slack-tide-proposed", state="proposed", found=example("slack-tide-found"))
    for drawing in (found, proposed):
        vent, feed = pieces(drawing, "S2")[0], pieces(drawing, "S3")[0]
        assert vent.points[-1][0] < vent.points[0][0] < feed.points[0][0] < feed.points[-1][0]


def test_a_found_line_that_is_left_out_stays_thin() -> None:
    found = example("second-helping-found")
    proposed = replace(found, segments=found.segments[:-1])
    drawing = draw_system(proposed, None, size="desk", state="proposed", found=found)
    assert [line.owner for line in drawing.lines if line.kind == "earlier"] == ["S7"]


def test_a_kept_line_is_soft_and_says_so() -> None:
    drawing = draw("second-helping-proposed", state="proposed", kept=frozenset({"S5"}))
    assert any(text.startswith("kept, A1") for text in texts(drawing))
    assert "kept" in " ".join(texts(draw("slack-tide-proposed", "phone", kept=frozenset({"S6"}))))


def test_a_missing_route_leaves_a_gap_with_its_name() -> None:
    found = example("second-helping-found")
    without = tuple(replace(s, route=None) if s.id == "S3" else s for s in found.segments)
    drawing = draw_system(replace(found, segments=without), None, size="desk")
    assert pieces(drawing, "S3") == []
    assert "S3: route not measured" in texts(drawing)
    assert pieces(drawing, "S4") != []


def test_a_missing_height_is_named() -> None:
    document = read_object(
        {
            "format": "fuel-system/1",
            "components": [{"id": "A", "kind": "filter"}, {"id": "B", "kind": "fuel_pump"}],
            "segments": [{"id": "S1", "service": "feed", "from": "A", "to": "B"}],
        }
    )
    said = " ".join(texts(draw_system(document, None, size="desk")))
    for words in ("S1: route not", "A: height not", "B: height not", "hose not recorded"):
        assert words in said


def test_a_tank_without_edges_says_so() -> None:
    document = read_object({"format": "fuel-system/1", "tanks": [{"id": "T9", "top_in": 4}]})
    assert "T9: bottom not measured" in " ".join(texts(draw_system(document, None, size="desk")))


def test_nothing_recorded_is_one_sentence() -> None:
    document = read_object({"format": "fuel-system/1"})
    drawing = draw_system(document, None, size="desk")
    assert "No parts of the fuel system are recorded." in texts(drawing)


def test_parts_joined_to_nothing_are_listed() -> None:
    source = {"format": "fuel-system/1", "components": [{"id": "LONE", "kind": "filter"}]}
    assert "Joined to no line: LONE." in texts(draw_system(read_object(source), None, size="desk"))


def test_names_are_escaped() -> None:
    source = {
        "format": "fuel-system/1",
        "components": [{"id": "<A&\"B'>", "kind": "filter", "height_in": 3},
                       {"id": "B", "kind": "fuel_pump", "height_in": 9}],
        "segments": [{"id": "<script>", "service": "feed", "from": "<A&\"B'>", "to": "B",
                      "length_in": 30, "route": [[0, 3], [30, 9]]}],
    }  # fmt: skip
    drawing = draw_system(read_object(source), None, size="desk", href=lambda ident: f"/{ident}")
    root = ElementTree.fromstring(drawing.svg)
    assert "<script>" not in drawing.svg
    assert root.find(".//{http://www.w3.org/2000/svg}a").get("href") == "/<script>"  # type: ignore[union-attr]  # fails if absent


@pytest.mark.parametrize("name", NAMES)
def test_no_style_attribute_and_no_script(name: str) -> None:
    svg = draw(name, href=lambda ident: f"/{ident}").svg
    assert not re.search(r"\sstyle\s*=|<script|<style|\son\w+\s*=", svg)
    assert svg.count("<svg") == 1


def test_phrases_are_translated() -> None:
    drawing = draw("second-helping-found", strings=lambda phrase: phrase.replace("fl oz", "Unzen"))
    assert "worst cut / 8.78 Unzen" in texts(drawing)


def test_the_style_sheet_is_the_one_of_the_package() -> None:
    with open("static/css/drawing.css", encoding="utf-8") as sheet:
        assert sheet.read() == DRAWING_CSS


def test_every_class_in_a_drawing_is_in_the_style_sheet() -> None:
    svg = draw("second-helping-found", chosen="S3", href=lambda ident: ident).svg
    names = {name for value in re.findall(r'class="([^"]+)"', svg) for name in value.split()}
    markers = {"drawing", "d-desk", "d-segment", "d-chosen", "d-hit"}
    assert names > markers
    assert [name for name in names - markers if f".{name} " not in DRAWING_CSS] == []
