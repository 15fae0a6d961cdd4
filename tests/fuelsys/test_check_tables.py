"""The published checks of the computation, each with the test that reproduces it.

The letters are those of the computation: 0 friction, A discharge, B suction, C leak test,
D filling and venting, E permeation and vapor, F geometry, G expansion, H cutting, I fuels.
A row names the figures that its test has to hold something to: what is published, what is
computed here, and the deviation between them as a share.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from tests.fuelsys.figures import asserted


class Row(NamedTuple):
    what: str
    module: str  # under tests.fuelsys
    test: str
    figures: tuple[float, ...]


FRICTION, FLOW, DRAIN = "hydraulics.test_friction", "hydraulics.test_flow", "hydraulics.test_drain"
TRACE, BOILING = "hydraulics.test_trace", "hydraulics.test_boiling"
NETWORK, LEAK = "hydraulics.test_network", "hydraulics.test_leaktest"
SYSTEM, VENT = "rules.test_system_test", "hydraulics.test_vent"
PERMEATION, VAPOR = "hydraulics.test_permeation", "hydraulics.test_vapor"
GEOMETRY, FIT = "hydraulics.test_geometry", "catalogue.test_fit"
EXPANSION, PUBLISHED = "hydraulics.test_expansion", "cutting.test_published"

CHECKS: dict[str, Row] = {
    "0-epanet": Row("EPANET's friction from Re 2100 to 3900", FRICTION,
        "test_transition_is_that_of_epanet", (0.03062, 0.02913, 0.03310, 0.03867, 0.04077)),
    "0-colebrook": Row("Swamee-Jain against Colebrook", FRICTION,
        "test_swamee_jain_against_colebrook", (5000, 0.013, 10_000, 0.004, 50_000, 0.003)),
    "0-1": Row("Crane TP-410 7.13", FRICTION, "test_crane_7_13_pressure_drop_of_fuel_oil",
        (66_500, 0.0230, 66_484, 0.0, 0.02270, 65_623, 0.013)),
    "0-1-here": Row("the same by Swamee-Jain", FRICTION,
        "test_crane_7_13_with_the_friction_used_here", (66_500, 66_044, 0.007)),
    "0-2": Row("Crane TP-410 7.9", FRICTION,
        "test_crane_7_9_laminar_oil_with_fittings_and_rise", (1676, 0.038193, 26.064, 1e-4)),
    "0-3": Row("Crane TP-410 7.1", FRICTION, "test_crane_7_1_smooth_tube",
        (100_600, 0.0179, 0.01783, 0.004)),
    "A-contents": Row("contents of hose by bore", FRICTION, "test_a_metre_of_hose_holds",
        (31.67, 0.3264, 4.67, 15.3, 49.48, 0.51, 2.99, 9.80, 71.26, 0.7344, 2.08, 6.81,
         126.68, 1.3056, 1.17, 3.83, 160.33, 1.6524, 0.92, 3.03, 197.93, 2.04, 0.75, 2.45,
         1140.1, 11.75, 0.13, 2026.8, 20.89, 0.07)),
    "A-drain": Row("plain straight drain", FLOW, "test_the_plain_straight_drain",
        (57.6, 292, 35.8, 182, 19.8, 101)),
    "A-centimetre": Row("1 cm of head on the same", FLOW,
        "test_a_centimetre_of_head_still_gives_fifty_ounces", (52.8,)),
    "A-head": Row("0.84 mm of head let five ounces out", FLOW,
        "test_five_ounces_need_less_than_a_millimetre_of_head", (0.84e-3, 5.0)),
    "A-trace": Row("worked trace", TRACE, "test_every_cut_of_the_table",
        (2.972, 1.767, 1.205, 292.05, 3.614, 198.74, 96.44, 2.409)),
    "A-worst": Row("worked trace, worst cut", TRACE, "test_the_worst_cut_is_the_low_point",
        (295.7, 7.23, 202.4, 1.5)),
    "A-crest": Row("greatest crest of a siphon", BOILING, "test_the_greatest_crest_of_a_siphon",
        (11.5, 90, 4.1, 13.5, 100, 0.26)),
    "A-1": Row("time to drain, problem 435", DRAIN, "test_practice_problem_time_to_drain",
        (93.9, 93.38, 0.006)),
    "A-2": Row("Torricelli demonstration", DRAIN, "test_torricelli_demonstration", (39_909,)),
    "A-3": Row("Munson 3.10, siphon", DRAIN, "test_siphon_of_munson_3_10",
        (28.2, 28.23, 28.33, 0.001)),
    "A-falling": Row("falling head behind a valve, closed form", "hydraulics.test_emptying",
        "test_almost_without_a_hose_it_is_the_closed_form", (0.05, 0.1, 0.15)),
    "A-bubble": Row("bore in which air rises", "hydraulics.test_limits_of_method",
        "test_the_bore_in_which_air_no_longer_rises", (3.2, 0.0032)),
    "B-1": Row("flow at 300 hp", BOILING, "test_fuel_burned_by_300_hp",
        (16.6, 16.67, 24.5, 24.59, 0.004)),
    "B-2": Row("flow at 200 hp", BOILING, "test_fuel_burned_by_200_hp",
        (16.4, 16.39, 11.1, 11.11)),
    "B-4": Row("AP-42 table 7.1-2", BOILING,
        "test_vapor_pressure_against_every_column_of_the_table",
        (4.7, 6.9, 9.9, 13.8, 0.007, 3.4, 5.2, 7.4, 10.5, 0.020, 2.3, 3.5, 0.025)),
    "B-4-formula": Row("its formula and constants", BOILING,
        "test_vapor_pressure_and_its_constants",
        (4.704, 6.938, 9.942, 13.886, 3.459, 5.179, 7.524, 10.644, 2.278, 3.480, 5.152, 7.416,
         11.6437, 5043.6, 11.7240, 5237.3, 11.8332, 5500.6)),
    "B-lock": Row("vacuum at which fuel boils", BOILING, "test_the_vacuum_at_which_fuel_boils",
        (115, 4.96, 13.5, 100, 0.55)),
    "B-6": Row("two pipes in two programs", NETWORK,
        "test_two_pipes_in_series_against_two_programs",
        (640.767, 3182.64, 3.6, 635.7, 0.08822, 0.13884, 0.0008)),
    "C-1": Row("40 CFR 1065.644", LEAK, "test_the_example_of_40_cfr_1065_644",
        (0.00030, 0.00029657, 0.011)),
    "C-2": Row("leak-test bulletin", LEAK,
        "test_equal_temperatures_give_the_formula_of_a_leak_bulletin", (272.18, 0.20)),
    "C-3": Row("33 CFR 183.542", SYSTEM, "test_the_head_of_fuel_takes_over_above_six_feet",
        (3, 1.9)),
    "C-wait": Row("boatbuilder handbook, wait", SYSTEM, "test_the_wait", (50, 5, 51, 6, 87, 9)),
    "C-kelvin": Row("0.060 psi a kelvin", LEAK, "test_one_kelvin_is_six_hundredths_of_a_psi",
        (0.0604,)),
    "D-gas": Row("91 Pa at 10 gal/min", VENT, "test_gas_pushed_out_at_ten_gallons_a_minute",
        (91,)),
    "D-trap": Row("150 mm of liquid", VENT, "test_liquid_in_a_dip", (0.150, 1090)),
    "D-overfill": Row("37.6 and 6.0 kPa", VENT,
        "test_overfill_by_a_nozzle_that_does_not_shut_off", (37.6, 6.0)),
    "D-1": Row("Crane TP-410 7.16", VENT, "test_crane_7_16_compressed_air",
        (2.61, 2.7148, 0.04)),
    "D-2": Row("Crane TP-410 7.1", VENT, "test_crane_7_1_friction_in_a_smooth_pipe",
        (100_600, 0.003, 0.0179, 0.004)),
    "E-factor": Row("EPA NONROAD2008, hose", PERMEATION, "test_the_routine_s_own_checks",
        (73, 1.0000002, 91, 2.0000001)),
    "E-tank": Row("EPA NONROAD2008, tank", PERMEATION, "test_the_tank_factor_is_one_at_85_f",
        (85, 1.0000003)),
    "E-lel": Row("grams and mL to the limit", VAPOR, "test_grams_and_milliliters_to_the_limit",
        (37.8, 61.8, 51.0, 9.4)),
    "E-1": Row("dilution equation", VAPOR, "test_the_dilution_equation", (403, 403.2, 0.0005)),
    "E-2": Row("HVAC design guide, purge", VAPOR, "test_purging_a_space", (13.3, 6.65)),
    "E-3": Row("33 CFR 183.610", VAPOR, "test_blowers", (100, 150, 60, 34, 51.0, 20.4, 50, 20)),
    "E-4": Row("33 CFR 183.630(d)", VAPOR, "test_natural_ventilation", (50, 11.51, 3.0)),
    "F-1": Row("right angle", GEOMETRY, "test_a_right_angle_turns_at_its_own_tangent",
        (90, 0.150)),
    "F-hose": Row("RMA IP-2, hose in a bend", GEOMETRY, "test_the_handbook_s_bend",
        (7.07, 0.0098)),
    "F-length": Row("RMA IP-2 table 4-8", GEOMETRY, "test_length_tolerance",
        (12, 1 / 8, 24, 3 / 16, 36, 1 / 4, 48, 3 / 8, 72, 1 / 2, 100, 1)),
    "F-2": Row("183.558(d) Table 8", FIT, "test_clearance_is_exact",
        (0.300, 0.3125, 0.0125, 0.290, 0.0225)),
    "F-3": Row("conserved wall, SAE J1508 sizes", FIT, "test_clamping_diameter_and_its_sizes",
        (17.93, 6, 8, 10, 12, 50, 51.40, 28, 32, 36, 49)),
    "G-1": Row("fuel mass and volume table, G-1 to G-3", EXPANSION,
        "test_coefficient_against_a_published_table",
        (730, 0.00125, 0.001, 835, 0.00084, 0.015, 755, 0.00110, 0.081)),
    "G-4": Row("5 L warmed by 10 °C", EXPANSION, "test_five_liters_warmed_by_ten_degrees",
        (5.0475, 5.0629, 0.225)),
    "H-1": Row("paper rolls", PUBLISHED, "test_paper_rolls_take_seventy_three",
        (1380, 22, 2200, 20, 5600, 73, 0.401)),
    "H-2": Row("u120_00, and H-3: u120_08, u120_19", PUBLISHED,
        "test_a_hundred_and_twenty_pieces_take_the_published_bins", (48, 50, 49)),
    "H-ffd": Row("first-fit decreasing is not best", PUBLISHED,
        "test_four_lengths_where_first_fit_takes_five", (142, 160, 300, 5, 4)),
    "I": Row("DOE AFDC ranges", "hydraulics.test_liquids",
        "test_defaults_lie_in_the_published_ranges",
        (720, 780, 0.5e-6, 0.6e-6, 0.37e-3, 0.44e-3, 2.8e-6, 5.0e-6)),
    "I-weight": Row("lb/gal", BOILING, "test_the_weights_of_fuel_lie_in_the_published_ranges",
        (6.0, 6.5, 6.7, 7.4, 731, 863)),
}  # fmt: skip


def absent(row: Row) -> list[float]:
    held = asserted(f"tests.fuelsys.{row.module}", row.test)
    return [figure for figure in row.figures if figure not in held]


@pytest.mark.parametrize("check", CHECKS)
def test_a_published_check_is_held_to_its_figures(check: str) -> None:
    assert CHECKS[check].figures
    assert absent(CHECKS[check]) == []


def test_no_two_rows_lean_on_one_test() -> None:
    leaned = [(row.module, row.test) for row in CHECKS.values()]
    assert len(set(leaned)) == len(leaned)


@pytest.mark.parametrize(
    ("test", "figure"),
    [
        ("test_of_a_check_that_is_not_there", 0.0230),
        ("test_crane_7_13_pressure_drop_of_fuel_oil", 66_485),
        ("test_crane_7_13_pressure_drop_of_fuel_oil", 2067),
        ("test_a_flow_has_no_sign", 1e-6),  # it computes from this and asserts nothing of it
    ],
)
def test_twin_a_figure_that_no_test_asserts_is_found(test: str, figure: float) -> None:
    assert absent(Row("planted", FRICTION, test, (figure,))) == [figure]
