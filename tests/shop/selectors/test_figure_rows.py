"""Figures as rows: both systems of units, words for every key, what is shared said once."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import Evaluation, evaluate
from fuelsys.evaluation.computed import Computed
from fuelsys.text import Figure, Text
from shop.figurewords import INPUT_WORDS, PART_WORDS
from shop.pairs import pair_of
from shop.selectors.figure_rows import figure_row, shared
from shop.templatetags.texts import pair
from tests.fuelsys.documents import EXAMPLES, NAMES

ON = date(2026, 11, 25)


def whole(name: str) -> dict[str, Any]:
    """An example with the facts that its figures lack."""
    data: dict[str, Any] = json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    data["fuel"] = {**data.get("fuel", {}), "rvp_psi": 9, "temperature_f": 80, "fill_rate_gpm": 10}
    for engine in data["engines"]:
        engine |= {"inlet_vacuum_limit_inhg": 4, "supply_flow_gph": 20}
    for space in data.get("compartments", []):
        space |= {"net_volume_ft3": 60, "blower_rated_cfm": 100, "blower_output_cfm": 50}
        space |= {"supply_opening_in2": 10, "exhaust_opening_in2": 10}
    for tank in data["tanks"]:
        tank |= {"lowest_usable_in": -5, "label_pressure_psi": 3, "label_legible": True}
    for part in data["components"]:
        if part["kind"] in ("filter", "primer_bulb"):
            part |= {"drop_psi": 0.2, "drop_flow_gph": 20}
    data["tests"] = [{"kind": "leak", "tank": data["tanks"][0]["id"], "pressure_psi": 3,
                      "hold_min": 9, "drop_psi": 0}]  # fmt: skip
    return data


def computed(evaluation: Evaluation) -> Iterator[Computed]:
    figures = evaluation.figures
    for by_id in (figures.suction, figures.vent, figures.vapor, figures.expansion):
        yield from by_id.values()
    yield from figures.permeation.segments.values()
    yield figures.permeation.total
    for by_end in (figures.clamp_size, figures.clearance, figures.bend):
        for ends in by_end.values():
            yield from ends.values()
    for readings in figures.leak_tests.values():
        yield from readings


@pytest.mark.parametrize("name", NAMES)
def test_every_key_has_its_words(name: str) -> None:
    evaluation = evaluate(read_object(whole(name)), on=ON)
    seen = 0
    for found in computed(evaluation):
        figure_row("X", "", found)  # a KeyError names the key that has no words
        seen += len(found.inputs) + len(found.details or {})
        assert {name.partition(" ")[0] for name in found.inputs} <= set(INPUT_WORDS)
        assert set(found.details or {}) <= set(PART_WORDS)
    assert seen > 50


def test_us_units_come_first_and_si_stands_beside() -> None:
    found = pair_of(Figure(Fraction("147.868"), "ml", computed=True))
    assert found is not None
    assert (str(found.us), str(found.si)) == ("5 fl oz", "148 mL")
    assert str(pair(pair_of(Figure(-4, "in")))) == (
        '<span class="us">\u22124 in</span> <span class="si">(\u2212102 mm)</span>'
    )
    assert pair(None) == ""
    assert str(pair(pair_of(Figure(12, "g_day", computed=True)))) == (
        '<span class="us"><i class="c">12</i> g/day</span>'
    )


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        (Figure(10, "mm"), "10 mm, 0.39 in"),  # the source has two digits, and so has its inch
        (Figure(2, "kg/m3"), "2 kg/m3, 0.017 lb/gal"),
        (Figure(754, "kg/m3"), "754 kg/m3, 6.29 lb/gal"),
        (Figure(Fraction(5, 2), "kpa"), "2.5 kPa, 0.36 psi"),
        (Figure(1372, "mm"), "1372 mm, 54.02 in"),
        (Figure(20, "c"), "20 °C, 68 °F"),
        (Figure(0, "c"), "0 °C, 32 °F"),
        (Figure(Fraction(80, 3), "c"), "80 °F, 26.67 °C"),  # typed in °F: nobody states a third
        (Figure(Fraction(3, 8), "in"), "0.375 in, 9.52 mm"),
        (Figure(88, "in"), "88 in, 2235 mm"),
        (Figure(5, "floz"), "5 fl oz, 147.9 mL"),
    ],
)
def test_what_is_stated_comes_first_and_what_follows_is_no_sharper(
    figure: Figure, said: str
) -> None:
    """Worked out by hand: 1 in = 25.4 mm, 1 lb/gal = 119.826 kg/m3, 1 psi = 6.894757 kPa."""
    found = pair_of(figure)
    assert found is not None
    assert ", ".join(map(str, found.in_order)) == said


@pytest.mark.parametrize(
    ("stated", "fahrenheit"),
    [
        ("40", "104"),
        ("45", "113"),
        ("50", "122"),
        ("38", "100"),  # 100.4
        ("66", "151"),  # 150.8
        ("0", "32"),
        ("-10", "14"),
        ("-18", "0"),  # -0.4, and no sign before zero
        ("5", "41"),
        ("37.5", "99.5"),
        ("4.4", "39.9"),  # 39.92
        ("-17.8", "0"),  # -0.04
        ("100", "212"),
    ],
)
def test_a_temperature_keeps_its_degrees(stated: str, fahrenheit: str) -> None:
    """By hand: °F is 9/5 of °C and 32 more. To the decimals stated, for zero is no beginning."""
    found = pair_of(Figure(Decimal(stated), "c"))
    assert found is not None
    assert ", ".join(map(str, found.in_order)) == f"{stated} °C, {fahrenheit} °F"


def test_what_all_rest_on_is_said_once() -> None:
    one, two = Text("One."), Text("Two.")
    rows = [
        figure_row("A", "", Computed(1.0, "in", Text("m"), "s", {}, (one, two))),
        figure_row("B", "", Computed(2.0, "in", Text("m"), "t", {}, (one,))),
    ]
    basis, own = shared(rows)
    assert (basis.assumptions, basis.method, basis.source) == ((one,), Text("m"), "")
    assert [row.assumptions for row in own] == [(two,), ()]
    assert [(row.method, row.source) for row in own] == [(None, "s"), (None, "t")]
    alone, kept = shared(rows[:1])
    assert (alone.method, kept[0].method) == (None, Text("m"))
