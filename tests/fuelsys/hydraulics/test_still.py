"""Sections in which nothing flows: fewer places are looked at, and the worst is the same."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document
from fuelsys.graph.geometry import LEVEL_TOLERANCE_M
from fuelsys.hydraulics.cuts import Section
from fuelsys.hydraulics.result import Discharge
from tests.fuelsys.hydraulics.builders import of, pickup, pump, run, system

BOATS = 150
NEARLY_LEVEL_M = 0.4 * LEVEL_TOLERANCE_M


def held_line(chance: random.Random) -> Document:
    """P --S1-- F1 --S2-- F2 --S3-- ENG, behind a spring valve that no head opens."""
    filters = [Component(f"F{k}", "filter", contents_m3=Fraction(k, 10**5)) for k in (1, 2)]
    ids = ["P", "F1", "F2", "ENG"]
    height = chance.choice([0.0, 0.2, -0.3])
    segments = []
    for k in range(3):
        points = [(0.0, height)]
        for step in range(1, chance.randint(2, 5)):
            height = chance.choice([round(chance.uniform(-0.5, 0.5), 3), height])
            height += chance.choice([0.0, NEARLY_LEVEL_M, -NEARLY_LEVEL_M])
            points.append((0.3 * step, height))
        segments.append(run(f"S{k + 1}", (ids[k], ids[k + 1]), points))
    engine = replace(pump(), check_valve=chance.random() < 0.5)
    return system([pickup(5.0), *filters, engine], segments)


def worst_cuts() -> list[Discharge]:
    chance = random.Random(183558)
    lines = [held_line(chance) for _ in range(BOATS)]
    return [of(line, f"S{k}") for line in lines for k in (1, 2, 3)]


def test_the_worst_of_a_still_section_is_that_of_all_its_candidates(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = worst_cuts()
    assert sum(bool(each.volume_m3) for each in found) > BOATS
    monkeypatch.setattr(Section, "stays_still", False)
    assert worst_cuts() == found
