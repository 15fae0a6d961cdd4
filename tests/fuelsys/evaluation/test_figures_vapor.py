"""The figures of permeation, vapor and leak tests."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import Evaluation, evaluate
from fuelsys.evaluation.figures_permeation import permeation_changes

ON = date(2026, 11, 25)


def boat(**segment: Any) -> dict[str, Any]:
    return {
        "format": "fuel-system/1",
        "boat": {"kind": "motorboat", "built": "2008"},
        "engines": [
            {
                "id": "E",
                "mount": "sterndrive",
                "fuel": "gasoline",
                "cranking_motor": True,
                "compartment": "ENGINE",
            }
        ],
        "fuel": {"temperature_f": 73, "rvp_psi": 10},
        "compartments": [
            {"id": "ENGINE", "kind": "engine", "net_volume_ft3": 60},
            {"id": "TANKSP", "kind": "tank", "net_volume_ft3": 50},
            {"id": "DECK", "kind": "open_deck", "net_volume_ft3": 500},
        ],
        "tanks": [
            {
                "id": "T",
                "fuel": "gasoline",
                "capacity_gal": 60,
                "label_pressure_psi": 3.5,
                "bottom_in": -10,
                "surface_in": 10,
                "compartment": "TANKSP",
                "material": "aluminum",
            }
        ],
        "components": [
            {"id": "P", "kind": "withdrawal", "tank": "T", "height_in": 11},
            {"id": "PUMP", "kind": "fuel_pump", "height_in": 10},
            {"id": "FILL", "kind": "deck_fill", "height_in": 30},
            {"id": "SPUD", "kind": "fill_spud", "tank": "T", "height_in": 11},
        ],
        "segments": [
            {
                "id": "S",
                "service": "feed",
                "from": "P",
                "to": "PUMP",
                "engine": "E",
                "length_in": 100,
                "route": [[0, 11], [100, 10]],
                "compartments": ["TANKSP", "ENGINE"],
                "hose": {"inside_diameter_in": "3/8", "class": "A1"},
                **segment,
            },
            {
                "id": "F",
                "service": "fill",
                "from": "FILL",
                "to": "SPUD",
                "length_in": 40,
                "route": [[0, 30], [40, 11]],
                "compartments": ["TANKSP"],
                "hose": {"inside_diameter_in": 1.5, "class": "A2"},
            },
        ],
    }


def judged(document: dict[str, Any]) -> Evaluation:
    return evaluate(read_object(document), on=ON)


def figures(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = judged(document).to_json()["figures"]
    return found


def permeation(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = figures(document)["permeation"]
    return found


def test_permeation_of_each_segment_and_in_all_by_hand() -> None:
    found = permeation(boat())
    # pi x 9.525 mm x 2.54 m x 100 g/m2; pi x 38.1 mm x 1.016 m x 300 g/m2; at 73 F as they stand.
    assert found["segments"]["S"]["value"] == pytest.approx(7.6006, rel=1e-4)
    assert found["segments"]["F"]["value"] == pytest.approx(36.483, rel=1e-4)
    assert found["in_all"]["value"] == pytest.approx(44.083, rel=1e-4)
    assert (found["in_all"]["unit"], found["in_all"]["missing"]) == ("g_day", [])
    said = " ".join(found["segments"]["F"]["assumptions"])
    assert "At most: a limit of the class A2" in said
    assert "seldom is" in said


def test_low_permeation_hose_and_metal() -> None:
    low = {"inside_diameter_in": "3/8", "class": "A1", "low_permeation": True}
    found = permeation(boat(hose=low))["segments"]["S"]
    assert found["value"] == pytest.approx(7.6006 * 0.15, rel=1e-4)
    assert any("A1-15" in said for said in found["assumptions"])
    metal = boat()
    del metal["segments"][0]["hose"]
    metal["segments"][0]["metal_line"] = {"material": "copper"}
    assert permeation(metal)["segments"]["S"]["value"] == 0


def test_permeation_names_what_it_lacks_and_is_not_summed() -> None:
    found = permeation(boat(hose={}))
    assert found["segments"]["S"]["missing"] == [
        "segments[S].hose.marking",
        "segments[S].hose.inside_diameter_in",
    ]
    assert found["in_all"]["value"] is None
    assert found["in_all"]["details"]["counted"]["value"] == pytest.approx(36.483, rel=1e-4)
    assert "Not counted, for want of facts: S." in found["in_all"]["assumptions"]
    none = permeation(boat(hose={"inside_diameter_in": "3/8", "class": "none"}))["segments"]["S"]
    assert (none["value"], none["missing"]) == (None, [])
    assert "bears no class" in none["assumptions"][0]


def test_permeation_doubles_in_ten_kelvin_and_stops_at_forty_five_degrees() -> None:
    warm = boat()
    warm["fuel"]["temperature_f"] = 91
    assert permeation(warm)["in_all"]["value"] == pytest.approx(2 * 44.083, rel=1e-4)
    warm["fuel"]["temperature_f"] = 120
    found = permeation(warm)["segments"]["S"]
    assert found["value"] is None
    assert found["missing"] == ["fuel.temperature_f"]
    assert any("is given from -40 °C to 45 °C" in said for said in found["assumptions"])


def test_old_against_new() -> None:
    low = {"inside_diameter_in": "3/8", "class": "A1", "low_permeation": True}
    old, new = judged(boat()).figures.permeation, judged(boat(hose=low)).figures.permeation
    changes = permeation_changes(old, new)
    assert list(changes) == ["S", "F", None]
    change = changes["S"]
    assert change.before_g_day == pytest.approx(7.6006, rel=1e-4)
    assert change.after_g_day == pytest.approx(1.1401, rel=1e-4)
    total = changes[None]
    assert total.before_g_day is not None
    assert total.after_g_day is not None
    assert total.before_g_day - total.after_g_day == pytest.approx(7.6006 * 0.85, rel=1e-4)


def test_vapor_of_a_compartment_by_hand() -> None:
    found = figures(boat())["vapor"]
    engine = found["ENGINE"]
    # 60 ft3 = 1.69901 m3; at 22.78 C the limit is 38.05 g/m3, and 5.1 lb/gal are 611.1 kg/m3.
    assert engine["details"]["to_limit"]["value"] == pytest.approx(38.05 * 1.69901, rel=1e-3)
    assert engine["value"] == pytest.approx(38.05 * 1.69901 / 0.6111, rel=1e-3)
    assert engine["details"]["blower_rated"] == {"value": 90, "unit": "cfm"}
    assert engine["details"]["blower_output"] == {"value": 36, "unit": "cfm"}
    assert engine["details"]["opening_each"]["value"] == pytest.approx(12.42, abs=0.005)
    days = 0.25 * 38.05 * 1.69901 / 7.6006
    assert engine["details"]["sealed_to_quarter"]["value"] == pytest.approx(days, rel=2e-3)
    assert "bilge reaches the limit" in engine["assumptions"][0]
    tank = found["TANKSP"]
    assert "blower_rated" not in tank["details"]
    assert tank["details"]["given_off"]["value"] == pytest.approx(44.083, rel=1e-4)
    assert found["DECK"]["value"] is None
    assert "Open to the air" in found["DECK"]["assumptions"][0]


def test_vapor_names_what_it_lacks() -> None:
    document = boat(hose={})
    del document["compartments"][0]["net_volume_ft3"]
    document["tanks"][0]["material"] = "plastic"
    found = figures(document)["vapor"]
    assert found["ENGINE"]["value"] is None
    assert found["ENGINE"]["missing"][0] == "compartments[ENGINE].net_volume_ft3"
    assert "segments[S].hose.marking" in found["ENGINE"]["missing"]
    assert "tanks[T].permeation_g_day" in found["TANKSP"]["missing"]
    assert found["TANKSP"]["details"]["given_off"] is None


@pytest.mark.parametrize("degrees_f", [-100, 200])
def test_a_temperature_that_cannot_be_is_flagged(degrees_f: float) -> None:
    document = boat()
    document["fuel"]["temperature_f"] = degrees_f
    found = figures(document)["vapor"]["ENGINE"]
    assert (found["value"], found["missing"]) == (None, ["fuel.temperature_f"])
    assert "Check its unit" in found["assumptions"][0]


def test_diesel_alone_has_no_vapor_figure() -> None:
    document = boat()
    document["engines"][0]["fuel"] = document["tanks"][0]["fuel"] = "diesel"
    found = figures(document)["vapor"]["ENGINE"]
    assert (found["value"], found["missing"]) == (None, [])


# Leak tests: the boat asks 3 psi (1.016 m of head is less), 6 min for 60 gal, a label of 3.5.
DONE = {
    "kind": "leak",
    "tank": "T",
    "pressure_psi": 3,
    "hold_min": 6,
    "drop_psi": 0,
    "gas": "air",
    "joints_dry": True,
}


def reading(**facts: Any) -> dict[str, Any]:
    document = boat()
    test = {key: value for key, value in {**DONE, **facts}.items() if value is not None}
    document["tests"] = [test]
    found: dict[str, Any] = figures(document)["test_pressure"]["T"]["readings"][0]
    return found


def test_a_test_as_it_is_asked() -> None:
    found = reading()
    assert (found["value"], found["outcome"], found["missing"]) == (0, "pass", [])
    assert found["inputs"] == {
        "pressure": {"value": 3, "unit": "psi"},
        "held": {"value": 6, "unit": "min"},
    }
    said = " ".join(found["assumptions"])
    assert "liquid fuel" in said
    assert "temperatures of the air inside are not on file" in said


@pytest.mark.parametrize(
    ("facts", "outcome", "words"),
    [
        ({"drop_psi": 0.01}, "fail", "Any drop is leakage"),
        ({"joints_dry": False}, "fail", "not dry"),
        ({"pressure_psi": 3.6}, "review", "above the 3.5 psi"),
        ({"pressure_psi": 3.6, "drop_psi": 0.1}, "fail", "Any drop"),
        ({"pressure_psi": 3.5}, "pass", ""),
        ({"pressure_psi": 2.9}, "cannot_tell", "below the 3 psi"),
        ({"hold_min": 5.9}, "cannot_tell", "the handbook asks 6 min"),
        ({"gas": "liquid"}, "cannot_tell", "air or inert gas"),
        ({"gas": "inert"}, "pass", ""),
        ({"pressure_psi": 2, "drop_psi": 0.5}, "fail", "Any drop"),
    ],
)
def test_a_test_that_is_less_or_shows_a_leak(
    facts: dict[str, Any], outcome: str, words: str
) -> None:
    found = reading(**facts)
    assert found["outcome"] == outcome
    assert words in " ".join(found["assumptions"])


@pytest.mark.parametrize("name", ["pressure_psi", "hold_min", "drop_psi", "gas", "joints_dry"])
def test_a_fact_of_a_test_that_is_lacking(name: str) -> None:
    found = reading(**{name: None})
    assert found["outcome"] == "cannot_tell"
    assert found["missing"] == [f"tests[0].{name}"]


def test_without_a_label_no_test_is_enough() -> None:
    document = boat()
    document["tests"] = [DONE]
    del document["tanks"][0]["label_pressure_psi"]
    found = figures(document)["test_pressure"]["T"]["readings"][0]
    assert found["outcome"] == "cannot_tell"
    assert "No pressure is named" in found["assumptions"][0]


def test_the_only_tank_is_meant_where_none_is_named() -> None:
    assert reading(tank=None)["outcome"] == "pass"


def test_tanks_without_a_test_have_no_readings() -> None:
    assert "readings" not in figures(boat())["test_pressure"]["T"]
