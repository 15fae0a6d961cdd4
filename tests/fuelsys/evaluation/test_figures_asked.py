"""The figures that are worked out only where somebody looks: boiling, air, turns."""

from __future__ import annotations

from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate
from fuelsys.evaluation.computed import Computed
from fuelsys.evaluation.figures_air import with_air
from fuelsys.evaluation.figures_boiling import vapor_lock
from fuelsys.evaluation.figures_turn import with_turn
from fuelsys.graph import build
from fuelsys.text import Figure
from fuelsys.units import from_base
from tests.fuelsys.evaluation import test_figures_vapor as vapor_boat
from tests.fuelsys.evaluation.test_figures_flow import ON, boat

INHG_PSI = 3386.39 / 6894.757


def number(figure: Figure | None) -> float:
    assert figure is not None
    return float(figure.value)


def boiling(**fuel: Any) -> Computed:
    document = boat()
    document["fuel"] = {key: value for key, value in fuel.items() if value is not None}
    read = read_object(document)
    drawn = evaluate(read, on=ON).figures.suction["E"]
    found = vapor_lock(build(read), read.engines[0], drawn)
    assert found is not None
    return found


def test_the_vacuum_at_which_fuel_boils_is_shown() -> None:
    """Worked from AP-42: RVP 9 at 115 °F boils at 4.96 inHg, RVP 13.5 at 100 °F at 0.55."""
    for rvp, degrees_f, inhg in ((9, 115, 4.96), (13.5, 100, 0.55)):
        found = boiling(rvp_psi=rvp, temperature_f=degrees_f)
        assert found.value is not None
        assert float(from_base(found.value, "inhg")) == pytest.approx(inhg, abs=0.005)
        assert {"rvp", "temperature"} == set(found.inputs)


def test_a_row_for_each_temperature_of_the_table_and_the_fuel_s_own() -> None:
    found = boiling(rvp_psi=10, temperature_f=75)
    rows = {round(number(row["temperature"])): row for row in found.choices or ()}
    assert list(rows) == [40, 50, 60, 70, 75, 80, 90, 100]
    # AP-42 table 7.1-2, RVP 10 [psi].
    for degrees_f, psi in ((40, 3.4), (60, 5.2), (80, 7.4), (100, 10.5)):
        row = rows[degrees_f]
        assert number(row["vapor_pressure"]) == pytest.approx(psi, rel=0.021)
        boils_psi = 14.696 - number(row["vapor_pressure"])
        assert number(row["boils_at"]) * INHG_PSI == pytest.approx(boils_psi, abs=1e-3)
        assert number(row["boiling_margin"]) < boils_psi
    margins = [number(row["boiling_margin"]) for row in rows.values()]
    assert margins == sorted(margins, reverse=True)


def test_the_margin_of_the_row_is_that_of_the_suction_figure() -> None:
    read = read_object(boat())
    drawn = evaluate(read, on=ON).figures.suction["E"]
    found = vapor_lock(build(read), read.engines[0], drawn)
    assert found is not None
    own = next(row for row in found.choices or () if round(number(row["temperature"])) == 80)
    details = drawn.details or {}
    assert number(own["boiling_margin"]) == pytest.approx(number(details["boiling_margin"]))
    assert number(own["boils_at"]) == pytest.approx(number(details["boils_at"]))


def test_without_a_reid_vapor_pressure_three_fuels_stand_side_by_side() -> None:
    found = boiling(temperature_f=80)
    assert (found.value, found.missing) == (None, ("fuel.rvp_psi",))
    rows = found.choices or ()
    assert len(rows) == 21
    assert sorted({round(number(row["rvp"]), 9) for row in rows}) == [7, 10, 13]
    assert "not on file" in str(found.assumptions[0])


def test_diesel_and_what_is_no_fuel_have_no_row() -> None:
    for change in ({"temperature_f": 200, "rvp_psi": 9}, {"temperature_f": 80, "rvp_psi": 30}):
        document = boat()
        document["fuel"] |= change
        read = read_object(document)
        drawn = evaluate(read, on=ON).figures.suction["E"]
        assert vapor_lock(build(read), read.engines[0], drawn) is None


def blown(**space: Any) -> Computed:
    document = vapor_boat.boat()
    document["compartments"][0] |= space
    read = read_object(document)
    figure = evaluate(read, on=ON).figures.vapor["ENGINE"]
    return with_air(read.compartments[0], figure)


def test_what_the_blower_s_air_does_to_the_vapor_by_hand() -> None:
    details = blown(blower_output_cfm=60).details or {}
    # ln(7.6/0.35)/0.2 = 15.39 changes of 60 ft3, at 60 ft3/min.
    assert number(details["purge_changes"]) == pytest.approx(15.39, abs=0.01)
    assert number(details["purge_time"]) == pytest.approx(15.39, abs=0.01)
    assert number(details["label_changes"]) == pytest.approx(4)
    # 7.6006 g/day into 60 ft3/min, 2446.6 m3/day: 3.107 mg/m3 of 38.05 g/m3.
    assert number(details["blown_share"]) == pytest.approx(100 * 3.107e-3 / 38.05, rel=2e-3)


def test_without_a_blower_on_file_the_air_is_what_the_rule_asks() -> None:
    found = blown()
    # 36 ft3/min for 60 ft3.
    assert number((found.details or {})["label_changes"]) == pytest.approx(2.4)
    said = " ".join(map(str, found.assumptions))
    assert "what the rule asks of it, 36 ft³/min" in said
    assert "design guide" in found.source


def test_without_air_or_volume_nothing_is_added() -> None:
    document = vapor_boat.boat()
    read = read_object(document)
    figures = evaluate(read, on=ON).figures.vapor
    for place in read.compartments[1:]:
        assert with_air(place, figures[place.id]) is figures[place.id]


def test_the_time_to_the_limit_is_four_times_that_to_its_quarter() -> None:
    details = blown().details or {}
    quarter, whole = details["sealed_to_quarter"], details["sealed_to_limit"]
    assert number(whole) == pytest.approx(4 * number(quarter))
    assert number(whole) == pytest.approx(38.05 * 1.69901 / 7.6006, rel=2e-3)


def turned(route: list[list[float]], **hose: Any) -> Computed:
    document = boat()
    document["segments"][0] |= {"route": route, "length_in": route[-1][0]}
    document["segments"][0]["hose"] |= hose
    read = read_object(document)
    graph = build(read)
    found = evaluate(read, on=ON).figures.bend["S1"]["from"]
    return with_turn(graph, graph.segment("S1"), "from", found)


# Level for 20 in, then straight down by 20 in and level on: the first turn is a right angle, and
# its lower leg is shared with the next.
CORNER: list[list[float]] = [[0, 30], [20, 30], [40, 10], [90, 10]]


def test_what_a_right_angle_takes_of_hose() -> None:
    details = turned(CORNER, minimum_bend_radius_in=4).details or {}
    assert number(details["turn_angle"]) == pytest.approx(90)
    assert number(details["turn_tangent"]) == pytest.approx(10)
    # t = R tan 45°; R pi/2; 2 R - R pi/2.
    assert number(details["needed_tangent"]) == pytest.approx(4)
    assert number(details["bend_length"]) == pytest.approx(6.2832, rel=1e-4)
    assert number(details["shortening"]) == pytest.approx(1.7168, rel=1e-4)
    # Through (0, 30), (20, 30) and (20, 10): half the hypotenuse of 20 by 20.
    assert number(details["points_radius"]) == pytest.approx(14.1421, rel=1e-4)


def test_without_a_least_radius_only_the_turn_itself_is_shown() -> None:
    details = turned(CORNER).details or {}
    assert set(details) == {"turn_angle", "turn_tangent", "points_radius"}


def test_a_straight_or_a_measured_run_has_no_turn() -> None:
    assert turned([[0, 30], [90, 10]]).details is None
    assert turned(CORNER, smallest_bend_radius_in=5).details is None
