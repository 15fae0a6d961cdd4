"""Dated numbers: read once, exact, and refused when they say too little."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from fuelsys.hydraulics.ventilation import AREA_FACTOR_M2, AREA_VOLUME_M3, MORE_THAN_M2
from fuelsys.rules import parameters
from fuelsys.rules.parameters import (
    BadParameterError,
    Parameter,
    ParameterNotInForceError,
    all_parameters,
    parameter,
)

WHOLE = {
    "description": "A number.",
    "unit": "in",
    "citation": "33 CFR 183.999",
    "evidence": "V",
    "values": {date(2000, 1, 1): 0.5},
}


def test_a_number_is_exact_in_base_units() -> None:
    # 0.029 in x 25.4 mm exactly
    wall = parameter("33-cfr/183-538/wall_min").on(date(2026, 11, 25))
    assert wall == Fraction("0.0007366")


def test_a_value_holds_from_its_day_until_the_next() -> None:
    dated = Parameter(
        "a/b/c",
        "",
        "in",
        "",
        "V",
        (
            (date(2000, 1, 1), Fraction(1)),
            (date(2010, 1, 1), Fraction(2)),
            (date(2020, 1, 1), None),
        ),
    )
    assert dated.on(date(2000, 1, 1)) == 1
    assert dated.on(date(2009, 12, 31)) == 1
    assert dated.on(date(2010, 1, 1)) == 2
    for outside in (date(1999, 12, 31), date(2020, 1, 1)):
        with pytest.raises(ParameterNotInForceError, match="a/b/c"):
            dated.on(outside)


def test_files_are_read_once() -> None:
    assert all_parameters() is all_parameters()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"unit": "furlong"}, "furlong"),
        ({"values": {"soon": 1}}, "start days"),
        ({"values": {date(2000, 1, 1): True}}, "not a number"),
        ({"values": {date(2000, 1, 1): [1]}}, "not a number"),
        ({"unit": "date"}, "not a date"),
        ({"note": "more"}, "keys"),
    ],
)
def test_a_bad_file_is_refused_by_name(change: dict[str, object], said: str) -> None:
    with pytest.raises((BadParameterError, KeyError), match=said):
        parameters._parameter("a/b/c", {**WHOLE, **change})


@pytest.mark.parametrize("key", WHOLE)
def test_a_file_that_leaves_something_out_is_refused(key: str) -> None:
    with pytest.raises(BadParameterError, match="keys"):
        parameters._parameter("a/b/c", {name: held for name, held in WHOLE.items() if name != key})


def test_a_parameter_is_a_map() -> None:
    with pytest.raises(BadParameterError, match="a/b/c"):
        parameters._parameter("a/b/c", 5)


def test_every_file_lies_under_its_body() -> None:
    for path in parameters.ROOT.rglob("*.yaml"):
        body = path.relative_to(Path(parameters.ROOT)).parts[0]
        assert body in ("33-cfr", "40-cfr", "46-cfr", "ca", "practice")


def test_the_openings_computed_without_a_day_are_those_of_the_rule_today() -> None:
    names = ("area_factor", "area_volume", "opening_over")
    of_rule = [parameter(f"33-cfr/183-630/{name}").on(date(2026, 11, 25)) for name in names]
    plain = (AREA_FACTOR_M2, AREA_VOLUME_M3, MORE_THAN_M2)
    assert [float(held) for held in of_rule if isinstance(held, Fraction)] == pytest.approx(plain)
