"""Layouts know parts and joins, and nothing that is measured."""

from __future__ import annotations

from datetime import date

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate
from shop.layouts import LAYOUTS, layout_make

ON = date(2026, 11, 25)
BOTH = [(layout.key, generator) for layout in LAYOUTS for generator in (False, True)]
MEASURED = ("_in", "_mm", "_m", "_ft", "_gal", "_l", "_ml", "_psi")


@pytest.mark.parametrize(("key", "generator"), BOTH)
def test_it_reads_and_is_judged(key: str, generator: bool) -> None:
    document = read_object(layout_make(key, generator=generator).document())
    answer = evaluate(document, on=ON)
    assert len(answer.segments) == len(document.segments) >= 3
    # Nothing is measured, so nothing about a length, a height or a hose can pass or fail yet.
    assert not {f.rule for f in answer.findings if f.outcome == "fail"}


@pytest.mark.parametrize(("key", "generator"), BOTH)
def test_it_invents_no_measurement(key: str, generator: bool) -> None:
    plan = layout_make(key, generator=generator)
    for item in (*plan.tanks, *plan.components, *plan.segments):
        assert not [name for name in item if name.endswith(MEASURED)]
        assert not {"route", "hose", "metal_line", "from_end", "to_end"} & set(item)
    assert set(plan.notes) == {run["id"] for run in plan.segments}
    assert all(note.name and "Measure it." in note.typical for note in plan.notes.values())


@pytest.mark.parametrize("key", [layout.key for layout in LAYOUTS])
def test_a_generator_is_added_where_there_is_room_for_one(key: str) -> None:
    layout = next(each for each in LAYOUTS if each.key == key)
    without, with_one = (len(layout_make(key, generator=g).engines) for g in (False, True))
    assert with_one - without == int(layout.takes_generator)


def test_every_engine_has_its_own_pick_up() -> None:
    """Trade reference: a tee off the main feed starves one or both (common practice)."""
    for key in ("outboard_twin", "inboard_twin", "diesel_twin"):
        plan = layout_make(key, generator=True)
        pickups = {part["id"] for part in plan.components if part["kind"] == "withdrawal"}
        feeds = [run["from"] for run in plan.segments if run["from"] in pickups]
        assert len(feeds) == len(set(feeds)) == len(plan.engines)


def test_a_layout_that_is_not_in_the_list_is_an_error() -> None:
    with pytest.raises(KeyError, match="submarine"):
        layout_make("submarine")
