"""Documents that are read, and what becomes of their facts."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
import yaml

from fuelsys.document import read, read_bytes, read_object
from fuelsys.document.model import Document, PartialDate
from tests.fuelsys.documents import NAMES, changed, example, example_text, small

INCH = Fraction("0.0254")


@pytest.mark.parametrize("name", NAMES)
def test_an_example_is_read_whole(name: str) -> None:
    data = example(name)
    document = read(example_text(name))
    for listed in ("engines", "compartments", "tanks", "components", "segments"):
        read_ids = [part.id for part in getattr(document, listed)]
        assert read_ids == [part["id"] for part in data[listed]]
    assert len(document.canonical) == len(data)


@pytest.mark.parametrize("name", NAMES)
def test_yaml_and_json_of_an_example_are_one_document(name: str) -> None:
    as_yaml = yaml.safe_dump(example(name), sort_keys=False)
    assert read(as_yaml, yaml=True) == read(example_text(name))


def test_facts_come_in_base_units() -> None:
    document = read_object(small())
    segment = document.segments[0]
    assert segment.route == ((0 * INCH, 19 * INCH), (30 * INCH, 2 * INCH), (60 * INCH, 12 * INCH))
    assert segment.inside_diameter_m == Fraction(3, 8) * INCH
    assert document.tanks[0].capacity_m3 == 60 * Fraction("0.003785411784")
    assert document.tests[0].hold_s == 300
    assert document.tests[0].pressure_pa == 3 * Fraction("6894.757")
    assert document.fuel.ethanol_pct == 10


def test_a_document_of_its_format_alone_is_read() -> None:
    document = read('{"format": "fuel-system/1"}')
    assert document == Document(canonical=document.canonical, sha256=document.sha256)
    assert document.boat.market == "US"


def test_absent_facts_are_not_known_but_those_that_loosen_are_false() -> None:
    document = read_object(small())
    segment, component, tank = document.segments[1], document.components[3], document.tanks[0]
    assert (segment.portable, segment.part_of_outboard, segment.detection_tube) == (False,) * 3
    assert segment.engine_maker_part is False
    assert document.boat.exemption_recorded is False
    assert document.engines[0].flexible_fuel is document.engines[0].portable is False
    assert tank.installed is True
    assert (segment.length_m, segment.hose, component.check_valve, tank.integral) == (None,) * 4


def test_null_is_left_out() -> None:
    nulls = changed("segments", 0, "hose", "class", to=None)
    nulls["tanks"][0]["installed"] = None
    nulls["segments"][1]["metal_line"] = None
    nulls["boat"]["length_in"] = None
    document = read_object(nulls)
    assert document.segments[0].hose is not None
    assert document.segments[0].hose.mark is None
    assert document.tanks[0].installed is True
    assert document.sha256 == read_object(_without(nulls)).sha256


def _without(data: Any) -> Any:
    if isinstance(data, dict):
        return {key: _without(value) for key, value in data.items() if value is not None}
    return [_without(value) for value in data] if isinstance(data, list) else data


@pytest.mark.parametrize(
    ("key", "value", "metres"),
    [
        ("length_in", 60, Fraction("1.524")),
        ("length_ft", 5, Fraction("1.524")),
        ("length_mm", 1524, Fraction("1.524")),
        ("length_m", 1.524, Fraction("1.524")),
        ("length_m", Decimal("1.524"), Fraction("1.524")),
        ("length_ft", "4-3/4", Fraction("1.4478")),
        ("length_in", "57 1/2", Fraction("1.4605")),
    ],
)
def test_a_length_in_any_unit(key: str, value: object, metres: Fraction) -> None:
    data = small()
    del data["segments"][0]["length_in"]
    data["segments"][0][key] = value
    assert read_object(data).segments[0].length_m == metres


def test_a_route_in_millimetres() -> None:
    data = changed("segments", 0, "route", to=[[0, 100], ["1000", -50]])
    data["segments"][0]["route"][1][0] = 1000
    data["segments"][0]["route_unit"] = "mm"
    expected = ((Fraction(0), Fraction(1, 10)), (Fraction(1), Fraction(-1, 20)))
    assert read_object(data).segments[0].route == expected


def test_a_route_that_falls_plumb_and_one_that_differs_from_the_length_are_read() -> None:
    data = changed("segments", 0, "route", to=[[0, 19], [0, 12], [44, 12]])
    assert len(read_object(data).segments[0].route or ()) == 3


def test_one_compartment_or_a_list_of_them() -> None:
    data = small()
    del data["segments"][0]["compartments"]
    data["segments"][0]["compartment"] = "ER"
    assert read_object(data).segments[0].compartments == ("ER",)


@pytest.mark.parametrize(
    ("given", "date"),
    [
        ("2008", PartialDate(2008)),
        ("2008-03", PartialDate(2008, 3)),
        ("2008-02-29", PartialDate(2008, 2, 29)),
        (2008, PartialDate(2008)),
    ],
)
def test_dates_of_three_precisions(given: object, date: PartialDate) -> None:
    assert read_object(changed("boat", "built", to=given)).boat.built == date


def test_the_surface_of_a_tank_is_its_top_unless_given() -> None:
    assert read_object(small()).tanks[0].level_at_capacity_m == 18 * INCH
    given = read_object(changed("tanks", 0, "surface_in", to=17)).tanks[0]
    assert given.level_at_capacity_m == 17 * INCH
    unknown = read_object(changed("tanks", 0, "top_in", to=None)).tanks[0]
    assert unknown.level_at_capacity_m is None


def test_ground_is_a_number_or_open() -> None:
    assert read_object(changed("tanks", 0, "ground_ohm", to="open")).tanks[0].ground_ohm == "open"
    assert read_object(changed("tanks", 0, "ground_ohm", to=0.5)).tanks[0].ground_ohm == Fraction(
        1, 2
    )


def test_a_class_of_none_is_a_fact() -> None:
    hose = read_object(changed("segments", 0, "hose", "class", to="none")).segments[0].hose
    assert hose is not None
    assert hose.mark == "NONE"


@pytest.mark.parametrize(
    ("hose", "mark", "low", "made", "label"),
    [
        ({"marking": "USCG TYPE A1-15 2026 SAE J1527"}, "A1", True, 2026, None),
        ({"marking": "USCG TYPE B1 2014", "made": 2015}, "B1", None, 2015, None),
        ({"marking": "USCG TYPE A1-15 EPA COMPLIANT"}, "A1", True, None, True),
        ({"marking": "EPA COMPLIANT", "epa_label": False, "class": "A2"}, "A2", None, None, False),
        ({"marking": "worn off", "class": "B2"}, "B2", None, None, None),
        ({"marking": "SAE J30R7", "class": "none"}, "NONE", None, None, None),
    ],
)
def test_a_marking_gives_what_no_key_says(
    hose: dict[str, Any], mark: str, low: bool | None, made: int | None, label: bool | None
) -> None:
    read_hose = read_object(changed("segments", 0, "hose", to=hose)).segments[0].hose
    assert read_hose is not None
    got = (read_hose.mark, read_hose.low_permeation, read_hose.made, read_hose.epa_label)
    assert got == (mark, low, made, label)


def test_an_empty_list_of_clamps_is_known_to_be_empty() -> None:
    ends = read_object(changed("segments", 0, "from_end", to={"clamps": []})).segments[0]
    assert ends.from_end is not None
    assert ends.from_end.clamps == ()
    assert ends.to_end is None


def test_a_byte_order_mark_is_no_part_of_the_document() -> None:
    data = json.dumps(small()).encode()
    assert read_bytes(b"\xef\xbb\xbf" + data) == read_bytes(data)


def test_a_policy_is_read_as_written() -> None:
    data = changed("policy", to={"practice-five-ounce": "off", "practice-x-1": "advice"})
    assert read_object(data).policy == {"practice-five-ounce": "off", "practice-x-1": "advice"}
