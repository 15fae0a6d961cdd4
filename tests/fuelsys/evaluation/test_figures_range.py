"""A fact outside the range of a method is said in its figure; no outcome rests on it quietly."""

from __future__ import annotations

from typing import Any

import pytest

from tests.fuelsys.evaluation import test_figures_vapor as vapor_boat
from tests.fuelsys.evaluation.test_figures_flow import boat, figures, part, suction, vent

COLD_F, HOT_F = -22.0, 122.0  # -30 and 50 °C


def at(degrees_f: float, fuel: str = "gasoline") -> dict[str, Any]:
    document = boat(fuel=fuel, supply_flow_gph=25)
    part(document, "T")["fuel"] = fuel
    part(document, "V")["hose"]["inside_diameter_in"] = 1
    part(document, "V")["route"] = [[0, 11], [60, 33]]
    document["fuel"]["temperature_f"] = degrees_f
    return document


def said(found: dict[str, Any]) -> str:
    return " ".join(found["assumptions"])


def test_diesel_at_thirty_below_does_not_show_the_figures_of_twenty_below() -> None:
    cold, cool = suction(at(COLD_F, "diesel")), suction(at(-4, "diesel"))
    # 850 kg/m3 at 20 °C by the petroleum tables; the viscosity ends at -20 °C and is said to.
    assert "Diesel at -30 °C: 885 kg/m3. Its viscosity is given from -20 °C to 45 °C" in said(cold)
    assert "that at -20 °C is taken, 14.7 mm2/s" in said(cold)
    assert "at least this much" in said(cold)
    assert "Diesel at -20 °C: 878 kg/m3, 14.7 mm2/s." in said(cool)


def test_colder_than_its_viscosities_suction_may_fail_but_never_passes() -> None:
    cool, cold = suction(at(-4)), suction(at(COLD_F))
    assert cool["outcome"] == "pass"
    assert (cold["outcome"], cold["missing"]) == ("cannot_tell", ["fuel.temperature_f"])
    assert cold["value"] > 0
    document = at(COLD_F)
    part(document, "E")["inlet_vacuum_limit_inhg"] = 1
    assert suction(document)["outcome"] == "fail"


def test_warmer_than_its_viscosities_the_figure_errs_to_the_safe_side_and_says_so() -> None:
    found = suction(at(HOT_F))
    assert found["outcome"] == "pass"
    assert "at most this much" in said(found)
    assert "that at 45 °C is taken" in said(found)


@pytest.mark.parametrize("degrees_f", [-148, 200])
def test_a_temperature_that_cannot_be_has_no_figure_that_rests_on_it(degrees_f: float) -> None:
    document = at(degrees_f)
    document["components"].append({"id": "CAP", "kind": "deck_fill", "height_in": 40})
    found = figures(document)
    for figure in (found["suction"]["E"], found["vent"]["T"], found["test_pressure"]["T"]):
        assert figure["value"] is None
        assert "fuel.temperature_f" in figure["missing"]
        assert "Check its unit" in " ".join(figure["assumptions"])
    assert found["suction"]["E"]["outcome"] == found["vent"]["T"]["outcome"] == "cannot_tell"
    assert found["permeation"]["segments"]["S1"]["value"] is None
    assert "fuel.temperature_f" in found["permeation"]["segments"]["S1"]["missing"]


def test_the_vent_s_liquid_is_named_and_its_range_too() -> None:
    assert vent(at(80))["outcome"] == "pass"
    assert "Gasoline at 26.6667 °C: 734 kg/m3, 0.507 mm2/s." in said(vent(at(80)))
    cold = vent(at(COLD_F))
    assert "Its viscosity is given from" in said(cold)
    assert (cold["outcome"], cold["missing"]) == ("cannot_tell", ["fuel.temperature_f"])
    document = at(COLD_F)
    part(document, "V")["route"] = [[0, 11], [110, -89], [300, 33]]
    part(document, "V")["length_in"] = 300
    assert vent(document)["outcome"] == "fail"


@pytest.mark.parametrize(
    ("rvp_psi", "words"),
    [(9, ""), (7, ""), (13, ""), (6.9, "nearer end is taken"), (13.5, "nearer end is taken")],
)
def test_vapor_beyond_its_table_is_said(rvp_psi: float, words: str) -> None:
    document = vapor_boat.boat()
    document["fuel"]["rvp_psi"] = rvp_psi
    found = vapor_boat.figures(document)["vapor"]["ENGINE"]
    assert found["value"] > 0
    assert ("nearer end" in said(found)) is bool(words)
    assert words in said(found)
    assert found["inputs"]["rvp"] == {"value": rvp_psi, "unit": "psi"}
    assert found["inputs"]["temperature"] == {"value": 73, "unit": "f"}


@pytest.mark.parametrize("rvp_psi", [1.9, 20.1])
def test_what_is_no_gasoline_has_no_vapor_figure(rvp_psi: float) -> None:
    document = vapor_boat.boat()
    document["fuel"]["rvp_psi"] = rvp_psi
    found = vapor_boat.figures(document)["vapor"]["ENGINE"]
    assert (found["value"], found["missing"]) == (None, ["fuel.rvp_psi"])
    assert "not gasoline's" in found["assumptions"][0]


def test_a_tank_s_permeation_follows_its_own_factor_and_says_so() -> None:
    """EPA NONROAD2008, routine EMSADJ: 1 at 85 °F, doubled by 18 °F."""
    document = vapor_boat.boat()
    document["tanks"][0]["permeation_g_day"] = 10
    document["segments"] = []
    for degrees_f, grams in ((85, 10), (103, 20), (67, 5)):
        document["fuel"]["temperature_f"] = degrees_f
        found = vapor_boat.figures(document)["vapor"]["TANKSP"]
        assert found["details"]["given_off"]["value"] == pytest.approx(grams, rel=1e-6)
        assert "taken as that of 85 °F" in said(found)
        assert found["inputs"]["tank_permeation T"] == {"value": 10, "unit": "g_day"}
    document["fuel"]["temperature_f"] = 120
    found = vapor_boat.figures(document)["vapor"]["TANKSP"]
    assert found["details"]["given_off"] is None
    assert "fuel.temperature_f" in found["missing"]


def test_a_fill_half_wet_stands_beside_the_bound() -> None:
    found = vapor_boat.permeation(vapor_boat.boat())
    fill = found["segments"]["F"]
    assert fill["details"]["half_wet"]["value"] == pytest.approx(fill["value"] / 2, rel=1e-5)
    assert "details" not in found["segments"]["S"]
    total = 7.6006 + 36.483 / 2
    assert found["in_all"]["details"]["half_wet"]["value"] == pytest.approx(total, rel=1e-4)
    assert any("50%" in text for text in fill["assumptions"])


def test_suction_lists_every_fact_it_rests_on() -> None:
    found = suction(boat())
    assert {name: figure["value"] for name, figure in found["inputs"].items()} == {
        "rated_power": 300,
        "inlet_height": 13,
        "lowest_usable": 0,
        "bore S1": 0.375,
        "length S1": 60,
        "bore S2": 0.375,
        "length S2": 30,
        "opening_head P": 12,
        "tube_bore P": 0.375,
        "tube_length P": 10,
        "drop F": 0.1,
        "drop_flow F": 20,
        "line_highest": 13,
        "rvp": 9,
        "temperature": 80,
        "ethanol": 0,
    }


def test_the_power_of_an_engine_on_the_same_hose_is_an_input_too() -> None:
    document = boat()
    other = {**part(document, "E"), "id": "G", "rated_power_hp": 10}
    document["engines"].append(other)
    document["components"].append({"id": "TEE", "kind": "tee", "height_in": 10})
    document["components"].append({"id": "GIN", "kind": "engine_inlet", "height_in": 12})
    part(document, "S1")["to"] = "TEE"
    del part(document, "S1")["engine"]
    s2 = part(document, "S2")
    s2["from"] = "TEE"
    document["segments"].append({**s2, "id": "S3", "to": "GIN", "engine": "G"})
    part(document, "S3")["route"] = [[0, 10], [30, 12]]
    assert suction(document)["inputs"]["rated_power G"] == {"value": 10, "unit": "hp"}


def test_the_velocity_head_that_is_left_out_is_said() -> None:
    # 30 gal/h in 3/8 in: 0.4427 m/s; 734 kg/m3 x v^2/2 are 71.9 Pa, 0.0212 inHg.
    found = suction(boat(supply_flow_gph=30))
    assert "The velocity head at the inlet is left out, 0.0212 inHg at this flow." in said(found)


def test_vent_and_test_pressure_list_the_fuel_s_facts() -> None:
    assert vent(boat())["inputs"]["temperature"] == {"value": 80, "unit": "f"}
    assert vent(boat())["inputs"]["ethanol"] == {"value": 0, "unit": "pct"}
