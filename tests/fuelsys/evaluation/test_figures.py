"""The figures of hose ends and tanks: values, inputs, words, and what a missing fact says."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate

ON = date(2026, 11, 25)
BASIC = ["value", "unit", "inputs", "assumptions", "method", "source", "missing"]
JUDGED = [*BASIC, "limit", "outcome"]


def boat(**segment: Any) -> dict[str, Any]:
    """One tank, one feed run; `segment` adds to the run."""
    return {
        "format": "fuel-system/1",
        "boat": {"kind": "motorboat", "built": "2008"},
        "engines": [{"id": "E", "mount": "sterndrive", "fuel": "gasoline"}],
        "tanks": [{"id": "T", "capacity_gal": 60, "fuel": "gasoline"}],
        "components": [
            {"id": "P", "kind": "withdrawal", "tank": "T", "height_in": 10},
            {"id": "PUMP", "kind": "fuel_pump", "height_in": 10},
        ],
        "segments": [{"id": "S", "service": "feed", "from": "P", "to": "PUMP", **segment}],
    }


def figures(document: dict[str, Any], on: date = ON) -> dict[str, Any]:
    found: dict[str, Any] = evaluate(read_object(document), on=on).to_json()["figures"]
    return found


def ends(outside_mm: float, inside_mm: float, fitting_mm: float) -> dict[str, Any]:
    return {
        "hose": {"outside_diameter_mm": outside_mm, "inside_diameter_mm": inside_mm},
        "from_end": {"minor_outside_diameter_mm": fitting_mm},
    }


def test_figures_stand_in_the_order_of_the_format_with_all_they_rest_on() -> None:
    found = figures(boat(**ends(17.5, 9.525, 10.3)))
    order = [name for name in found if name in ("clamp_size", "clearance", "bend", "expansion")]
    assert order == ["clamp_size", "clearance", "bend", "expansion"]
    assert list(found["clamp_size"]["S"]) == ["from", "to"]
    assert list(found["clamp_size"]["S"]["from"]) == [*BASIC, "sizes"]
    assert list(found["clamp_size"]["S"]["to"]) == BASIC
    assert list(found["clearance"]["S"]["from"]) == JUDGED
    assert list(found["bend"]["S"]["from"]) == JUDGED
    assert list(found["expansion"]["T"]) == BASIC


@pytest.mark.parametrize(
    ("outside_mm", "inside_mm", "fitting_mm", "expected_mm", "sizes"),
    [
        # Worked by hand from the conserved wall section; sizes SAE J1508 Type F, the one nearest
        # mid-range first.
        (17.5, 9.525, 10.3, 17.93, {"06", "08", "10", "12"}),
        (50.8, 38.1, 38.9, 51.40, {"28", "32", "36"}),
    ],
)
def test_clamp_size(
    outside_mm: float, inside_mm: float, fitting_mm: float, expected_mm: float, sizes: set[str]
) -> None:
    found = figures(boat(**ends(outside_mm, inside_mm, fitting_mm)))["clamp_size"]["S"]["from"]
    assert found["value"] * 25.4 == pytest.approx(expected_mm, abs=0.005)
    assert set(found["sizes"]) == sizes
    assert found["sizes"][0] in ("08", "32")
    assert list(found["inputs"]) == ["outside_diameter", "inside_diameter", "fitting_diameter"]


def test_a_clamp_size_names_the_diameters_to_measure() -> None:
    found = figures(boat(hose={"inside_diameter_in": "3/8"}))["clamp_size"]["S"]["to"]
    assert found["value"] is None
    assert found["missing"] == [
        "segments[S].hose.outside_diameter_in",
        "segments[S].to_end.minor_outside_diameter_in",
    ]


def test_a_hose_no_thicker_than_its_bore_has_no_clamp_size() -> None:
    found = figures(boat(**ends(9.0, 9.525, 10.3)))["clamp_size"]["S"]["from"]
    assert found["value"] is None
    assert "Measure both again" in found["assumptions"][0]
    assert len(found["missing"]) == 2


def test_metal_lines_have_no_ends_to_clamp() -> None:
    found = figures(boat(metal_line={"material": "copper"}))
    assert (found["clamp_size"], found["clearance"], found["bend"]) == ({}, {}, {})


@pytest.mark.parametrize(
    ("hose_in", "fitting_in", "gap_in", "limit_in", "outcome"),
    [
        # 33 CFR 183.558(d), Table 8, with the limit and both rows' edges.
        ("0.3125", "0.300", 0.0125, 0.020, "pass"),
        ("0.3125", "0.290", 0.0225, 0.020, "fail"),
        ("0.3125", "0.2925", 0.02, 0.020, "pass"),
        ("0.3125", "0.320", -0.0075, 0.020, "pass"),
        ("0.41", "0.375", 0.035, 0.035, "pass"),
        ("1.036", "1", 0.036, 0.035, "fail"),
        ("1.565", "1.5", 0.065, 0.065, "pass"),
    ],
)
def test_clearance(
    hose_in: str, fitting_in: str, gap_in: float, limit_in: float, outcome: str
) -> None:
    document = boat(
        hose={"inside_diameter_in": float(hose_in)},
        from_end={"minor_outside_diameter_in": float(fitting_in)},
    )
    found = figures(document)["clearance"]["S"]["from"]
    assert (found["value"], found["limit"]["value"]) == (gap_in, limit_in)
    assert found["outcome"] == outcome
    # A second way to the same answer: the rule's own finding.
    findings = evaluate(read_object(document), on=ON).findings_of("S")
    (rule,) = [f for f in findings if f.rule == "cfr-33-183-558-d" and f.end == "from"]
    assert rule.outcome == outcome


def test_a_clearance_without_its_facts_or_before_its_table() -> None:
    lacking = figures(boat(hose={}))["clearance"]["S"]["from"]
    assert (lacking["value"], lacking["outcome"]) == (None, "cannot_tell")
    assert lacking["missing"] == [
        "segments[S].hose.inside_diameter_in",
        "segments[S].from_end.minor_outside_diameter_in",
    ]
    early = figures(boat(**ends(17.5, 9.525, 9.4)), on=date(1970, 1, 1))["clearance"]["S"]["from"]
    assert (early["limit"], early["outcome"]) == (None, "not_applicable")
    assert early["value"] > 0


def bend_of(side: str = "from", route: Any = None, **hose: Any) -> dict[str, Any]:
    run = {} if route is None else {"route": route, "length_in": route[-1][0]}
    found: dict[str, Any] = figures(boat(hose=hose, **run))["bend"]["S"][side]
    return found


@pytest.mark.parametrize(
    ("measured_in", "outcome"), [(3.0, "pass"), (2.999, "fail"), (4.0, "pass")]
)
def test_a_measured_bend_against_the_product_s_own_minimum(
    measured_in: float, outcome: str
) -> None:
    found = bend_of(smallest_bend_radius_in=measured_in, minimum_bend_radius_in=3)
    assert (found["value"], found["limit"]) == (measured_in, {"value": 3, "unit": "in"})
    assert (found["outcome"], found["missing"]) == (outcome, [])


def test_without_the_product_s_minimum_no_bend_passes() -> None:
    found = bend_of(smallest_bend_radius_in=40)
    assert (found["outcome"], found["limit"]) == ("cannot_tell", None)
    assert found["missing"] == ["segments[S].hose.minimum_bend_radius_in"]


def test_a_route_shows_a_bend_that_cannot_be() -> None:
    """Down 4 in on 8, then up 4 on 8, next to the from end: 60 degrees on 8 in legs, the end's."""
    found = bend_of(route=[[0, 10], [8, 6], [16, 10]], minimum_bend_radius_in=14)
    # By hand: slopes of 30 degrees down and up, so R = 8 / tan 30 degrees = 13.856 in.
    assert found["value"] == pytest.approx(13.8564, abs=1e-4)
    assert (found["outcome"], found["missing"]) == ("review", [])
    assert found["inputs"] == {"distance": {"value": 8, "unit": "in"}}


def test_a_route_never_passes_a_bend() -> None:
    """Heights do not show turns to the side."""
    found = bend_of(route=[[0, 10], [8, 6], [16, 10]], minimum_bend_radius_in=2)
    assert found["outcome"] == "cannot_tell"
    assert found["missing"] == ["segments[S].hose.smallest_bend_radius_in"]
    flat = bend_of(route=[[0, 10], [16, 10]], minimum_bend_radius_in=2)
    assert (flat["value"], flat["outcome"]) == (None, "cannot_tell")


def test_each_end_has_the_tightest_bend_of_its_half() -> None:
    route = [[0, 10], [20, 10], [40, 2], [60, 2], [70, -5], [100, -5]]
    near, far = bend_of("from", route), bend_of("to", route)
    assert near["inputs"]["distance"]["value"] in (20, 40)
    assert far["inputs"]["distance"]["value"] in (60, 70)
    assert far["value"] < near["value"]


def test_a_leg_between_two_bends_is_shared() -> None:
    """The middle leg of 8 in serves both of its bends with 4 in each."""
    alone = bend_of(route=[[0, 10], [8, 10], [16, 6]])
    shared = bend_of(route=[[0, 10], [8, 10], [16, 6], [24, 6]])
    assert shared["value"] == pytest.approx(alone["value"] / 2, rel=1e-5)


def test_a_route_steeper_than_its_length_is_said_to_be_wrong() -> None:
    found = bend_of(route=[[0, 10], [5, 2], [30, 2]], minimum_bend_radius_in=3)
    assert (found["value"], found["outcome"]) == (None, "cannot_tell")
    assert "Survey it again" in found["assumptions"][-1]
    assert "segments[S].route" in found["missing"]


def expansion_of(tank: dict[str, Any] | None = None, **fuel: Any) -> dict[str, Any]:
    document = boat()
    document["tanks"][0] |= tank or {}
    document["fuel"] = fuel
    found: dict[str, Any] = figures(document)["expansion"]["T"]
    return found


def test_what_sixty_gallons_give_off_on_warming_by_ten_degrees() -> None:
    found = expansion_of()
    # By hand from ASTM D1250 table 54B: 744.53 kg/m3 at 15 C is 740 at 20 C; a = 0.0012143, and
    # exp(a 15 (1 + 0.8 a 15) - a 5 (1 + 0.8 a 5)) - 1 = 0.012457, times 60 gal.
    assert found["value"] == pytest.approx(60 * 0.012457, rel=1e-3)
    assert found["unit"] == "gal"
    assert any("taken as 20 °C" in said for said in found["assumptions"])
    assert "from 20 °C to 30 °C" in found["method"]


def test_expansion_follows_temperature_and_fuel() -> None:
    assert expansion_of(temperature_f=90)["inputs"]["temperature"] == {
        "value": 32.2222,
        "unit": "c",
    }
    assert expansion_of(temperature_f=90)["value"] > expansion_of()["value"]
    diesel, gasoline = expansion_of({"fuel": "diesel"})["value"], expansion_of()["value"]
    # Diesel of 850 kg/m3 grows by 0.00083 a degree, gasoline of 740 by 0.00123.
    assert diesel / gasoline == pytest.approx(0.83 / 1.22, rel=0.02)


def test_expansion_names_what_it_lacks() -> None:
    assert expansion_of({"capacity_gal": None})["missing"] == ["tanks[T].capacity_gal"]
    document = boat()
    document["tanks"][0]["fuel"] = None
    document["engines"] = []
    found = figures(document)["expansion"]["T"]
    assert (found["value"], found["missing"]) == (None, ["tanks[T].fuel"])


def test_a_temperature_that_cannot_be_is_flagged() -> None:
    found = expansion_of(temperature_f=200)
    assert (found["value"], found["missing"]) == (None, ["fuel.temperature_f"])
    assert "Check its unit" in found["assumptions"][0]


def test_every_sentence_ends_and_none_claims_more_than_it_may() -> None:
    document = boat(**ends(17.5, 9.525, 10.3), route=[[0, 10], [8, 6], [16, 10]])
    said = [
        sentence
        for figure in ("clamp_size", "clearance", "bend")
        for end in figures(document)[figure]["S"].values()
        for sentence in end["assumptions"]
    ] + expansion_of()["assumptions"]
    assert said
    for sentence in said:
        assert sentence.endswith(".")
        assert not {"safe", "certified", "approved", "compliant"} & set(sentence.lower().split())
