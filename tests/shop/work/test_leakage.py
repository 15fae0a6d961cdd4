"""A leak test with the temperatures of its air noted: ideal gas, and what is refused."""

from __future__ import annotations

import doctest
from decimal import Decimal
from typing import Any

import pytest

from shop import pairs
from shop.selectors.figure_rows import figure_row
from shop.work import leakage as module
from shop.work.judging import judge
from shop.work.leakage import (
    BAROMETER_MOVED,
    CHANGED,
    FUEL_NOT_SAID,
    FUEL_WET,
    GAUGE_ROSE,
    HALF_NOTED,
    NO_STEP,
    NO_SUCH_READING,
    NO_TEMPERATURE,
    leakage,
)
from shop.work.payloads import PayloadError, payload_check
from tests.shop.work.test_judging import GOOD, LEAK

PSI_PA, ATMOSPHERE_PSI = 6894.757, 14.696  # engineering dossier, section 0
STEADY: dict[str, Any] = {
    **GOOD,
    "start_f": "70",
    "end_f": "70",
    "gauge_step_psi": "0.01",
    "fuel_wet": False,
}

MOVED = {"start_barometer_inhg": "30", "end_barometer_inhg": "28"}
NO_AIR = {"start_f": None, "end_f": None}
NO_DIVISION = {"gauge_step_psi": None}


def words(**changed: Any) -> str:
    found = judge(LEAK, {**STEADY, **changed})
    return " ".join([found.outcome, str(found.message), *map(str, found.notes)])


def test_a_steady_gauge_at_one_temperature_passes() -> None:
    assert words().startswith("pass 3 psi held 9 min")
    assert "too little to tell from none" in words()


def test_a_steady_gauge_hides_a_leak_while_the_air_warms() -> None:
    """p1 - p2 T1/T2 with p1 = p2 = 17.696 psi absolute and 529.67 R to 534.67 R: 0.1655 psi."""
    lost = (3 + ATMOSPHERE_PSI) * (1 - 529.67 / 534.67)
    assert lost == pytest.approx(0.1655, abs=1e-4)
    assert words(end_f="75").startswith("fail At one temperature it fell by 0.165 psi")


def test_air_that_cools_is_still_a_drop_but_its_cause_is_said() -> None:
    """1 K is 0.060 psi at 3 psi gauge (engineering dossier, C.2); the rule allows no drop."""
    said = words(end_f="68.2", drop_psi="0.06")
    assert said.startswith("fail It fell by 0.06 psi")
    assert "too little to tell from none" in said


def test_what_rises_more_than_its_air_warmed_is_read_again() -> None:
    assert "Read it again" in words(rose_psi="0.5")
    assert words(rose_psi="0.5").startswith("fail")


def test_the_leak_behind_a_drop_is_shown_where_the_volume_is_known() -> None:
    """At one temperature the mole form is V dp/(p_atm dt): leak-test bulletin, C-2.

    120 L, 0.20 psi, 6 min: 272.18 standard cm3/min at 20 C.
    """
    gallons = Decimal("31.7006")  # 120 L
    reading = {**STEADY, "drop_psi": "0.20", "wait_min": "6", "start_f": "68", "end_f": "68",
               "volume_gal": str(gallons)}  # fmt: skip
    said = " ".join(map(str, leakage(reading).notes))
    rate = 120_000 * 0.20 * PSI_PA / (101_325 * 6)
    assert rate == pytest.approx(272.18, abs=0.02)
    assert "272 mL/min" in said
    assert "none is allowed" in said


@pytest.mark.parametrize(
    ("changed", "note"),
    [
        ({"fuel_wet": True}, FUEL_WET),
        ({"fuel_wet": None}, FUEL_NOT_SAID),
        ({"gauge_step_psi": None}, CHANGED),
    ],
)
def test_where_it_would_not_hold_no_correction_is_made(
    changed: dict[str, Any], note: object
) -> None:
    """Evaporation into the test air hides a leak (engineering dossier, C.2): refused."""
    reading = {k: v for k, v in {**STEADY, "end_f": "90", **changed}.items() if v is not None}
    found = leakage(reading)
    assert (found.notes, found.fault, found.untold, found.figure) == ((), None, note, None)
    judged = judge(LEAK, reading)
    assert (judged.outcome, judged.message, judged.notes) == ("cannot_tell", note, ())


@pytest.mark.parametrize(
    ("changed", "note"),
    [
        ({"start_f": None, "end_f": None}, NO_TEMPERATURE),
        ({"start_f": None, "end_f": None, "gauge_step_psi": None}, NO_TEMPERATURE),
        ({"start_f": None, "end_f": None, **MOVED, "end_barometer_inhg": "30"}, NO_TEMPERATURE),
        ({"start_f": None, "end_f": None, "rose_psi": "0"}, NO_TEMPERATURE),
        ({"gauge_step_psi": None}, NO_STEP),
    ],
)
def test_what_the_handbook_s_procedure_does_not_ask_is_noted_and_no_more(
    changed: dict[str, Any], note: object
) -> None:
    """Appendix A asks pressure, wait, drop and dry joints; temperatures only tell more."""
    reading = {k: v for k, v in {**STEADY, **changed}.items() if v is not None}
    judged = judge(LEAK, reading)
    assert (judged.outcome, judged.notes) == ("pass", (note,))


@pytest.mark.parametrize(
    ("changed", "note"),
    [
        ({**NO_AIR, "rose_psi": "0.8"}, GAUGE_ROSE),
        ({**NO_AIR, **NO_DIVISION, "rose_psi": "0.001"}, GAUGE_ROSE),
        ({**NO_DIVISION, "rose_psi": "1"}, GAUGE_ROSE),
        ({**NO_AIR, **MOVED}, BAROMETER_MOVED),
        ({**NO_DIVISION, **MOVED}, BAROMETER_MOVED),
        ({"start_f": None}, HALF_NOTED),
        ({"end_f": None}, HALF_NOTED),
    ],
)
def test_what_was_not_steady_says_nothing_without_its_correction(
    changed: dict[str, Any], note: object
) -> None:
    """Warmer air and a lower barometer lift a gauge, by more than a leak lets it fall.

    28 inHg after 30 lift it by 0.98 psi: no steady gauge is a tight system then.
    """
    lifted = 2 * 3386.39 / PSI_PA
    assert lifted == pytest.approx(0.982, abs=1e-3)
    reading = {k: v for k, v in {**STEADY, **changed}.items() if v is not None}
    judged = judge(LEAK, reading)
    assert (judged.outcome, judged.message, judged.figure) == ("cannot_tell", note, None)
    assert judge(LEAK, {**reading, "joints_dry": False}).outcome == "fail"


def test_a_fall_within_its_doubt_is_no_pass() -> None:
    """A steady gauge while its air warms by 20 °F: 0.66 psi gone, if a step of 1 psi shows it."""
    lost = (3 + ATMOSPHERE_PSI) * (1 - 519.67 / 539.67)
    assert lost == pytest.approx(0.656, abs=1e-3)
    coarse = words(start_f="60", end_f="80", gauge_step_psi="1")
    assert coarse.startswith(
        "cannot_tell At one temperature it fell by 0.656 psi, give or take 2.8"
    )
    assert coarse.count("too little to tell from none") == 1
    assert words(end_f="71").startswith("cannot_tell At one temperature it fell by 0.033")
    assert words(start_f="60", end_f="80", gauge_step_psi="0.01").startswith("fail")


def test_a_doubt_as_large_as_the_pressure_shows_no_leak() -> None:
    """Twice the square root of two steps: 2.83 psi for one of 1 psi, and 3 psi were held."""
    assert words(gauge_step_psi="1").startswith("pass")
    for step in ("1.1", "4.9", "999999"):
        said = words(gauge_step_psi=step)
        assert said.startswith("cannot_tell The drop is in doubt by"), step
        assert "held at 3 psi: no leak could have been seen" in said


def test_a_rise_within_its_doubt_is_called_a_rise() -> None:
    """Air that cooled by 1 °F should have fallen by 0.033 psi, and did not."""
    said = words(end_f="69")
    assert said.startswith("pass")
    assert "it rose by 0.033" in said
    assert "too little to tell from none" in said


@pytest.mark.parametrize("air", [str(f) for f in range(41, 100, 7)])
def test_a_steady_gauge_passes_at_every_temperature(air: str) -> None:
    """What (p T)/T leaves behind in its last bit is no drop."""
    for pressure in ("2.9", "3", "3.0001"):
        reading = {**STEADY, "start_f": air, "end_f": air, "pressure_psi": pressure}
        found = leakage(reading)
        assert (found.fault, found.untold) == (None, None)
        assert "it fell by 0 psi" in str(found.notes[0])


def test_what_was_stored_is_judged_whatever_it_says() -> None:
    """18 psi gone of 3 are below no pressure at all; a test held for no time has no rate."""
    slip = {**STEADY, "drop_psi": "18"}
    assert leakage(slip).untold == NO_SUCH_READING
    assert words(drop_psi="18").startswith("fail It fell by 18 psi")
    assert str(NO_SUCH_READING) in words(drop_psi="18")
    assert words(wait_min="0", drop_psi="0").startswith("fail Held 0 min")
    assert str(NO_SUCH_READING) in words(wait_min="0", drop_psi="0")


def test_the_barometer_is_taken_out_where_it_was_read() -> None:
    """A fall of 0.4 inHg lifts the gauge by 0.196 psi, and hides a leak of as much."""
    fallen = 0.4 * 3386.39 / PSI_PA
    assert fallen == pytest.approx(0.1965, abs=1e-4)
    fell = {"start_barometer_inhg": "29.92", "end_barometer_inhg": "29.52"}
    lifted = {**STEADY, "rose_psi": "0.1965"}
    assert "Read it again" in str(leakage(lifted).fault)
    tight = leakage({**lifted, **fell})
    assert tight.fault is None
    assert tight.figure is not None
    assert tight.figure.value == pytest.approx(0, abs=2)
    assert "Barometer taken as steady." not in map(str, tight.figure.assumptions)
    assert "start_barometer" in tight.figure.inputs
    assert words(**fell).startswith("fail At one temperature it fell by 0.196 psi")


def test_the_drop_that_is_left_is_a_figure_with_all_it_rests_on() -> None:
    reading = {**STEADY, "end_f": "75", "volume_gal": "30"}
    found = judge(LEAK, reading).figure
    assert found is not None
    assert found.value == pytest.approx(0.1655 * PSI_PA, rel=1e-3)
    assert {name: float(figure.value) for name, figure in found.inputs.items()} == {
        "pressure": 3, "drop_read": 0, "held": 9, "start_air": 70, "end_air": 75,
        "gauge_step": 0.01, "tested_volume": 30,
    }  # fmt: skip
    assert "T1/T2" in str(found.method)
    assert "33 CFR 183.542" in found.source
    assert set(found.details or {}) == {"doubt", "leak_rate"}
    row = figure_row("T1", "", found)
    assert row.value is not None
    assert (str(row.value.us), len(row.inputs)) == ("0.165 psi", 7)


def test_the_label_comes_before_everything() -> None:
    assert "on the tank's label" in words(pressure_psi="3.1")


@pytest.mark.parametrize(
    "changed",
    [
        {"start_f": "warm"},
        {"fuel_wet": "no"},
        {"volume_gal": 30},
        {"wait_min": "0"},
        {"start_barometer_inhg": "29.9"},
        {"end_barometer_inhg": "29.9"},
        {"start_barometer_inhg": "1013", "end_barometer_inhg": "1013"},
        {"start_barometer_inhg": "0", "end_barometer_inhg": "0"},
        {"drop_psi": "3.0001"},
        {"drop_psi": "18"},
        {"gauge_step_psi": "5"},
        {"gauge_step_psi": "999999"},
    ],
)
def test_a_payload_that_cannot_be_read_is_refused(changed: dict[str, Any]) -> None:
    payload = {"test": "leak:T1", "replaces": [], **STEADY}
    payload_check("reading", "", payload, "")
    with pytest.raises(PayloadError):
        payload_check("reading", "", {**payload, **changed}, "")


@pytest.mark.parametrize("changed", [{"drop_psi": "3.0"}, {"gauge_step_psi": "4.9999"}])
def test_a_payload_at_the_edge_of_what_a_gauge_shows_is_taken(changed: dict[str, Any]) -> None:
    payload_check("reading", "", {"test": "leak:T1", "replaces": [], **STEADY, **changed}, "")


@pytest.mark.parametrize("name", ["start_f", "end_f"])
def test_a_payload_with_one_temperature_is_refused(name: str) -> None:
    payload = {"test": "leak:T1", "replaces": [], **STEADY}
    del payload[name]
    with pytest.raises(PayloadError, match="at the start and at the end"):
        payload_check("reading", "", payload, "")


def test_the_examples_in_the_docstrings() -> None:
    for each in (module, pairs):
        found = doctest.testmod(each)
        assert found.attempted
        assert found.failed == 0
