"""The figures of suction and vents: values, words, and what a missing fact says."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate

ON = date(2026, 11, 25)


def boat(**engine: Any) -> dict[str, Any]:
    """Tank, pick-up, filter, engine: every fact of the suction side on file; a vent with a dip."""
    return {
        "format": "fuel-system/1",
        "boat": {"kind": "motorboat", "built": "2008"},
        "engines": [
            {
                "id": "E",
                "mount": "sterndrive",
                "fuel": "gasoline",
                "use": "propulsion",
                "rated_power_hp": 300,
                "inlet_vacuum_limit_inhg": 2,
                "minimum_bore_in": "3/8",
                **engine,
            }
        ],
        "fuel": {"ethanol_pct": 0, "rvp_psi": 9, "temperature_f": 80, "fill_rate_gpm": 10},
        "tanks": [
            {
                "id": "T",
                "fuel": "gasoline",
                "capacity_gal": 60,
                "lowest_usable_in": 0,
                "label_pressure_psi": 3,
                "surface_in": 10,
            }
        ],
        "components": [
            {
                "id": "P",
                "kind": "withdrawal",
                "tank": "T",
                "height_in": 11,
                "anti_siphon": "spring_valve",
                "opening_head_in": 12,
                "dip_tube_length_in": 10,
                "dip_tube_inside_diameter_in": "3/8",
            },
            {"id": "F", "kind": "filter", "height_in": 10, "drop_psi": 0.1, "drop_flow_gph": 20},
            {"id": "IN", "kind": "engine_inlet", "height_in": 13},
            {"id": "N", "kind": "vent_nipple", "tank": "T", "height_in": 11},
            {"id": "OUT", "kind": "vent_fitting", "height_in": 33},
        ],
        "segments": [
            run("S1", "feed", "P", "F", [[0, 11], [60, 10]], "3/8", engine="E"),
            run("S2", "feed", "F", "IN", [[0, 10], [30, 13]], "3/8", engine="E"),
            run("V", "vent", "N", "OUT", [[0, 11], [20, 8], [60, 33]], "9/16"),
        ],
    }


def run(
    name: str, service: str, start: str, end: str, route: list[list[int]], bore: str, **facts: Any
) -> dict[str, Any]:
    return {
        "id": name,
        "service": service,
        "from": start,
        "to": end,
        "route": route,
        "length_in": route[-1][0],
        "hose": {"inside_diameter_in": bore, "class": "A1"},
        **facts,
    }


def part(document: dict[str, Any], name: str) -> dict[str, Any]:
    """The tank, engine, component or segment of that id, to change in place."""
    lists = ("engines", "tanks", "components", "segments")
    found: dict[str, Any] = next(p for each in lists for p in document[each] if p["id"] == name)
    return found


def figures(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = evaluate(read_object(document), on=ON).to_json()["figures"]
    return found


def suction(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = figures(document)["suction"]["E"]
    return found


def vent(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = figures(document)["vent"]["T"]
    return found


def test_figures_stand_in_the_order_of_the_format() -> None:
    found = list(figures(boat()))
    assert found == [
        "test_pressure",
        "suction",
        "vent",
        "permeation",
        "vapor",
        "clamp_size",
        "clearance",
        "bend",
        "expansion",
    ]


def test_suction_has_its_shares_and_they_add_up() -> None:
    found = suction(boat())
    details = found["details"]
    names = ("lift", "pipe", "fittings", "filter", "bulb", "valve")
    shares = [details[name]["value"] for name in names]
    assert found["value"] == pytest.approx(sum(shares), rel=1e-5)
    # By hand: 13 in and 12 in of gasoline of 735 kg/m3 at 80 F, and 24.59/20 of 0.1 psi.
    inch_inhg = 0.0254 * 735 * 9.80665 / 3386.39
    assert details["lift"]["value"] == pytest.approx(13 * inch_inhg, rel=2e-3)
    assert details["valve"]["value"] == pytest.approx(12 * inch_inhg, rel=2e-3)
    assert details["filter"]["value"] == pytest.approx(0.1 * 24.59 / 20 * 2.03602, rel=1e-3)
    # 300 hp x 0.50 lb/(hp h) / 6.1 lb/gal, published as 24.5 gal/h.
    assert details["flow"] == {"value": pytest.approx(24.59, abs=0.01), "unit": "gph"}
    assert (found["unit"], found["limit"]) == ("inhg", {"value": 2, "unit": "inhg"})
    assert (found["outcome"], found["missing"]) == ("pass", [])


def test_suction_over_its_limit_fails_even_with_a_share_unknown() -> None:
    assert suction(boat(inlet_vacuum_limit_inhg=1))["outcome"] == "fail"
    document = boat(inlet_vacuum_limit_inhg=1)
    del part(document, "F")["drop_psi"]
    found = suction(document)
    assert (found["value"], found["outcome"]) == (None, "fail")
    assert found["details"]["at_least"]["value"] > 1
    assert found["missing"] == ["components[F].drop_psi"]
    part(document, "E")["inlet_vacuum_limit_inhg"] = 2
    assert suction(document)["outcome"] == "cannot_tell"


def test_without_a_limit_suction_is_recorded_not_judged() -> None:
    document = boat()
    del part(document, "E")["inlet_vacuum_limit_inhg"]
    found = suction(document)
    assert found["value"] > 0
    assert "outcome" not in found
    assert found["missing"] == ["engines[E].inlet_vacuum_limit_inhg"]
    assert any("recorded, not judged" in said for said in found["assumptions"])


def test_the_smallest_bore_with_contents_and_permeation() -> None:
    found = suction(boat())
    assert found["details"]["smallest_bore"] == {"value": 0.375, "unit": "in"}
    fitted = next(row for row in found["choices"] if row["bore"]["value"] == 0.375)
    assert fitted["vacuum"]["value"] == pytest.approx(found["value"], rel=1e-5)
    # 90 in of 3/8 in: 9.94 in3 are 162.9 mL; 100 g/m2 of 0.0684 m2 at 80 F (2^(3.89/10)).
    assert fitted["contents"]["value"] == pytest.approx(162.9, rel=1e-3)
    assert fitted["permeation"]["value"] == pytest.approx(6.84 * 2**0.3889, rel=2e-3)
    assert [row["bore"]["value"] for row in found["choices"]] == [0.25, 0.3125, 0.375, 0.5, 0.625]


def test_a_maker_s_flow_comes_first_and_is_said() -> None:
    found = suction(boat(supply_flow_gph=35))
    assert found["inputs"]["supply_flow"] == {"value": 35, "unit": "gph"}
    assert "rated_power" not in found["inputs"]
    assert any("the maker's" in said for said in found["assumptions"])
    assert found["value"] > suction(boat())["value"]


def test_vapor_lock_needs_the_reid_vapor_pressure() -> None:
    document = boat()
    # RVP 9 at 80 F: 6.70 psi by AP-42; the lowest pressure is the inlet's.
    found = suction(document)
    vacuum_psi = found["value"] * 3386.39 / 6894.757
    assert found["details"]["boiling_margin"]["value"] == pytest.approx(
        14.696 - vacuum_psi - 6.70, abs=0.05
    )
    del document["fuel"]["rvp_psi"]
    lacking = suction(document)
    assert lacking["details"]["boiling_margin"] is None
    assert lacking["missing"] == ["fuel.rvp_psi"]


@pytest.mark.parametrize(
    ("fuel", "words"),
    [
        ({"rvp_psi": 13.5, "temperature_f": 100}, "Within 1 psi of boiling"),
        ({"rvp_psi": 9, "temperature_f": 115}, "is extrapolated"),
        ({"rvp_psi": 30, "temperature_f": 80}, "not gasoline's"),
        ({"rvp_psi": 9, "temperature_f": 200}, "Check its unit"),
    ],
)
def test_fuel_near_boiling_or_out_of_range_is_flagged(fuel: dict[str, float], words: str) -> None:
    document = boat()
    document["fuel"] |= fuel
    assert any(words in said for said in suction(document)["assumptions"])


def test_diesel_has_no_vapor_lock_and_asks_for_its_flow() -> None:
    document = boat(fuel="diesel")
    part(document, "T")["fuel"] = "diesel"
    del document["fuel"]["rvp_psi"]
    found = suction(document)
    assert found["missing"] == ["engines[E].supply_flow_gph"]
    assert (found["value"], found["outcome"]) == (None, "cannot_tell")


def test_the_vent_of_a_tank_by_hand() -> None:
    found = vent(boat())
    # Dip of 3 in full to 11: 0.0762 m of 735 kg/m3 are 549 Pa.
    assert found["details"]["trap"]["value"] == pytest.approx(549.3 / 6894.757, rel=3e-3)
    assert found["details"]["trap_at_most"]["value"] > found["details"]["trap"]["value"]
    assert found["value"] == pytest.approx(
        found["details"]["gas"]["value"] + found["details"]["trap"]["value"], rel=1e-5
    )
    assert found["limit"] == {"value": 2.4, "unit": "psi"}
    # 10 gal/min in 60 in of 9/16 in hose, 22 in up: above 2.4 psi, a warning and no violation.
    assert found["details"]["overfill"]["value"] > 2.4
    assert found["outcome"] == "review"
    assert any("rests on the nozzle" in said for said in found["assumptions"])


def test_a_wide_vent_is_within_and_a_deep_dip_is_not() -> None:
    document = boat()
    part(document, "V")["hose"]["inside_diameter_in"] = 1
    part(document, "V")["route"] = [[0, 11], [60, 33]]
    assert vent(document)["outcome"] == "pass"
    part(document, "V")["route"] = [[0, 11], [110, -89], [300, 33]]
    part(document, "V")["length_in"] = 300
    assert vent(document)["outcome"] == "fail"


def test_a_vent_names_what_it_lacks() -> None:
    document = boat()
    part(document, "T")["label_legible"] = False
    assert vent(document)["missing"] == ["tanks[T].label_pressure_psi"]
    assert vent(document)["outcome"] == "cannot_tell"
    document = boat()
    del part(document, "V")["route"]
    del part(document, "V")["hose"]["inside_diameter_in"]
    assert vent(document)["missing"] == [
        "segments[V].hose.inside_diameter_in",
        "segments[V].route",
    ]
    document["segments"].pop()
    found = vent(document)
    assert (found["value"], found["missing"]) == (None, ["components"])


def test_a_fill_rate_not_on_file_is_the_default_and_said() -> None:
    document = boat()
    del document["fuel"]["fill_rate_gpm"]
    found = vent(document)
    assert any("taken as 12 gal/min" in said for said in found["assumptions"])
    assert found["details"]["gas"]["value"] > vent(boat())["details"]["gas"]["value"]


@pytest.mark.parametrize(("gpm", "banded"), [(5, False), (10, True), (12, False)])
def test_gas_in_transition_flow_is_said(gpm: float, banded: bool) -> None:
    """Re 2000 to 4000 (EPANET 2.2 User Manual): 9/16 in hose, air of 1.506e-5 m2/s."""
    reynolds = 4 * gpm * 3.785411784e-3 / 60 / (3.141592653589793 * 0.0142875 * 1.506e-5)
    assert (2000 < reynolds < 4000) == banded
    document = boat()
    document["fuel"]["fill_rate_gpm"] = gpm
    words = "Flow in V lies between laminar and turbulent"
    assert any(words in said for said in vent(document)["assumptions"]) == banded


def test_of_two_ways_out_the_easier_counts() -> None:
    document = boat()
    document["components"].append({"id": "OUT2", "kind": "vent_fitting", "height_in": 40})
    easier = run("V2", "vent", "N", "OUT2", [[0, 11], [40, 40]], "3/4")
    document["segments"].append(easier)
    found = vent(document)
    assert found["inputs"]["smallest_bore"]["value"] == 0.75
    assert found["details"]["trap"]["value"] == 0
    assert any("counted alone" in said for said in found["assumptions"])


def test_a_vent_through_a_tee_is_one_way() -> None:
    document = boat()
    document["components"].append({"id": "TEE", "kind": "tee", "height_in": 20})
    part(document, "V").update(to="TEE", route=[[0, 11], [30, 20]], length_in=30)
    document["segments"].append(run("V2", "vent", "TEE", "OUT", [[0, 20], [30, 33]], "5/8"))
    found = vent(document)
    assert found["inputs"]["length"]["value"] == 60
    assert any("No loss is counted for TEE, OUT" in said for said in found["assumptions"])


def test_every_sentence_ends_and_claims_no_more_than_it_may() -> None:
    sentences = [*suction(boat())["assumptions"], *vent(boat())["assumptions"]]
    assert len(sentences) > 8
    for sentence in sentences:
        assert sentence.endswith(".")
        assert not {"safe", "certified", "approved", "compliant"} & set(sentence.lower().split())
