"""The published checks of the computation, each with the test that reproduces it.

The letters are those of the computation: 0 friction, A discharge, B suction, C leak test,
D filling and venting, E permeation and vapor, F geometry, G expansion, H cutting, I fuels.
"""

from __future__ import annotations

from importlib import import_module

import pytest

# Check: (what is published, module under tests.fuelsys, test in it).
CHECKS: dict[str, tuple[str, str, str]] = {
    "0-epanet": ("EPANET's friction from Re 2100 to 3900",
                 "hydraulics.test_friction", "test_transition_is_that_of_epanet"),
    "0-colebrook": ("Swamee-Jain against Colebrook",
                    "hydraulics.test_friction", "test_turbulent_as_the_second_method"),
    "0-1": ("Crane TP-410 7.13", "hydraulics.test_friction",
            "test_crane_7_13_pressure_drop_of_fuel_oil"),
    "0-2": ("Crane TP-410 7.9", "hydraulics.test_friction",
            "test_crane_7_9_laminar_oil_with_fittings_and_rise"),
    "0-3": ("Crane TP-410 7.1", "hydraulics.test_friction", "test_crane_7_1_smooth_tube"),
    "A-contents": ("contents of hose by bore", "hydraulics.test_friction",
                   "test_a_metre_of_hose_holds"),
    "A-drain": ("plain straight drain", "hydraulics.test_flow", "test_the_plain_straight_drain"),
    "A-head": ("0.84 mm of head let five ounces out", "hydraulics.test_flow",
               "test_five_ounces_need_less_than_a_millimetre_of_head"),
    "A-trace": ("worked trace", "hydraulics.test_trace", "test_every_cut_of_the_table"),
    "A-crest": ("greatest crest of a siphon", "hydraulics.test_boiling",
                "test_the_greatest_crest_of_a_siphon"),
    "A-1": ("time to drain, problem 435", "hydraulics.test_drain",
            "test_practice_problem_time_to_drain"),
    "A-2": ("Torricelli demonstration", "hydraulics.test_drain", "test_torricelli_demonstration"),
    "A-3": ("Munson 3.10, siphon", "hydraulics.test_drain", "test_siphon_of_munson_3_10"),
    "A-falling": ("falling head behind a valve, closed form", "hydraulics.test_emptying",
                  "test_almost_without_a_hose_it_is_the_closed_form"),
    "A-bubble": ("bore in which air rises", "hydraulics.test_limits_of_method",
                 "test_the_bore_in_which_air_no_longer_rises"),
    "B-1": ("flow at rated power", "hydraulics.test_boiling",
            "test_fuel_burned_at_rated_power"),
    "B-4": ("AP-42 table 7.1-2", "hydraulics.test_boiling",
            "test_vapor_pressure_against_every_column_of_the_table"),
    "B-lock": ("vacuum at which fuel boils", "hydraulics.test_boiling",
               "test_the_vacuum_at_which_fuel_boils"),
    "B-6": ("two pipes in two programs", "hydraulics.test_network",
            "test_two_pipes_in_series_against_two_programs"),
    "C-1": ("40 CFR 1065.644", "hydraulics.test_leaktest",
            "test_the_example_of_40_cfr_1065_644"),
    "C-2": ("leak-test bulletin", "hydraulics.test_leaktest",
            "test_equal_temperatures_give_the_formula_of_a_leak_bulletin"),
    "C-3": ("33 CFR 183.542", "rules.test_system_test",
            "test_the_head_of_fuel_takes_over_above_six_feet"),
    "C-wait": ("boatbuilder handbook, wait", "rules.test_system_test", "test_the_wait"),
    "C-kelvin": ("0.060 psi a kelvin", "hydraulics.test_leaktest",
                 "test_one_kelvin_is_six_hundredths_of_a_psi"),
    "D-gas": ("91 Pa at 10 gal/min", "hydraulics.test_vent",
              "test_gas_pushed_out_at_ten_gallons_a_minute"),
    "D-trap": ("150 mm of liquid", "hydraulics.test_vent", "test_liquid_in_a_dip"),
    "D-overfill": ("37.6 and 6.0 kPa", "hydraulics.test_vent",
                   "test_overfill_by_a_nozzle_that_does_not_shut_off"),
    "D-1": ("Crane TP-410 7.16", "hydraulics.test_vent", "test_crane_7_16_compressed_air"),
    "D-2": ("Crane TP-410 7.1", "hydraulics.test_vent",
            "test_crane_7_1_friction_in_a_smooth_pipe"),
    "E-factor": ("EPA NONROAD2008", "hydraulics.test_permeation",
                 "test_the_routine_s_own_checks"),
    "E-lel": ("grams and mL to the limit", "hydraulics.test_vapor",
              "test_grams_and_milliliters_to_the_limit"),
    "E-1": ("dilution equation", "hydraulics.test_vapor", "test_the_dilution_equation"),
    "E-2": ("HVAC design guide, purge", "hydraulics.test_vapor", "test_purging_a_space"),
    "E-3": ("33 CFR 183.610", "hydraulics.test_vapor", "test_blowers"),
    "E-4": ("33 CFR 183.630(d)", "hydraulics.test_vapor", "test_natural_ventilation"),
    "F-1": ("right angle", "hydraulics.test_geometry",
            "test_a_right_angle_turns_at_its_own_tangent"),
    "F-hose": ("RMA IP-2, hose in a bend", "hydraulics.test_geometry",
               "test_the_handbook_s_bend"),
    "F-length": ("RMA IP-2 table 4-8", "hydraulics.test_geometry", "test_length_tolerance"),
    "F-2": ("183.558(d) Table 8", "catalogue.test_fit", "test_clearance_is_exact"),
    "F-3": ("conserved wall, SAE J1508 sizes", "catalogue.test_fit",
            "test_clamping_diameter_and_its_sizes"),
    "G-1": ("fuel mass and volume table, G-1 to G-3", "hydraulics.test_expansion",
            "test_coefficient_against_a_published_table"),
    "G-4": ("5 L warmed by 10 °C", "hydraulics.test_expansion",
            "test_five_liters_warmed_by_ten_degrees"),
    "H-1": ("paper rolls", "cutting.test_published", "test_paper_rolls_take_seventy_three"),
    "H-2": ("u120_00", "cutting.test_published",
            "test_a_hundred_and_twenty_pieces_take_the_published_bins"),
    "H-3": ("u120_08, u120_19", "cutting.test_published",
            "test_a_hundred_and_twenty_pieces_take_the_published_bins"),
    "H-ffd": ("first-fit decreasing is not best", "cutting.test_published",
              "test_four_lengths_where_first_fit_takes_five"),
    "I": ("DOE AFDC ranges", "hydraulics.test_liquids",
          "test_defaults_lie_in_the_published_ranges"),
    "I-weight": ("lb/gal", "hydraulics.test_boiling",
                 "test_the_weights_of_fuel_lie_in_the_published_ranges"),
}  # fmt: skip


@pytest.mark.parametrize("check", CHECKS)
def test_a_published_check_has_its_test(check: str) -> None:
    _, module, name = CHECKS[check]
    assert callable(getattr(import_module(f"tests.fuelsys.{module}"), name, None)), name


def test_twin_a_check_without_a_test_is_found() -> None:
    module = import_module("tests.fuelsys.hydraulics.test_friction")
    assert getattr(module, "test_of_a_check_that_is_not_there", None) is None
