"""A leak test with the temperatures of its air noted: ideal gas, and what is refused."""

from __future__ import annotations

import doctest
from decimal import Decimal
from typing import Any

import pytest

from shop.selectors import figure_rows
from shop.work import leakage as module
from shop.work.judging import judge
from shop.work.leakage import FUEL_NOT_SAID, FUEL_WET, NO_STEP, NO_TEMPERATURE, leakage
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
        ({"start_f": None}, NO_TEMPERATURE),
        ({"gauge_step_psi": None}, NO_STEP),
    ],
)
def test_where_it_would_not_hold_no_correction_is_made(
    changed: dict[str, Any], note: object
) -> None:
    """Evaporation into the test air hides a leak (engineering dossier, C.2): refused."""
    reading = {k: v for k, v in {**STEADY, "end_f": "90", **changed}.items() if v is not None}
    found = leakage(reading)
    assert (found.notes, found.fault) == ((note,), None)
    assert str(note) in [str(each) for each in judge(LEAK, reading).notes]


def test_the_label_comes_before_everything() -> None:
    assert "on the tank's label" in words(pressure_psi="3.1")


@pytest.mark.parametrize(
    "changed", [{"start_f": "warm"}, {"fuel_wet": "no"}, {"volume_gal": 30}, {"wait_min": "0"}]
)
def test_a_payload_that_cannot_be_read_is_refused(changed: dict[str, Any]) -> None:
    payload = {"test": "leak:T1", "replaces": [], **STEADY}
    payload_check("reading", "", payload, "")
    with pytest.raises(PayloadError):
        payload_check("reading", "", {**payload, **changed}, "")


def test_the_examples_in_the_docstrings() -> None:
    for each in (module, figure_rows):
        found = doctest.testmod(each)
        assert found.attempted
        assert found.failed == 0
