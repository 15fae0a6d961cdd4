"""The leak test's pressure and wait as rules, figures and the tablet have them."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from fuelsys.document.model import Component, Document, Fuel, Segment, Tank
from fuelsys.graph import build
from fuelsys.rules.system_test import SystemTest, system_test

ON = date(2026, 11, 25)
PSI = Fraction("6894.757")
GALLON_M3 = Fraction("0.003785411784")


def asked(
    head_m: str = "1",
    label_psi: float | None = 100,
    *,
    gallons: float | None = 60,
    temperature_c: int | None = None,
) -> SystemTest:
    """A tank of gasoline, 740 kg/m3 at 20 °C, its lowest point that far under its overflow."""
    head = Fraction(head_m)
    tank = Tank(
        "T",
        fuel="gasoline",
        bottom_m=Fraction(0),
        capacity_m3=None if gallons is None else Fraction(str(gallons)) * GALLON_M3,
        label_pressure_pa=None if label_psi is None else Fraction(str(label_psi)) * PSI,
    )
    run = Segment("F", "fill", "CAP", "SPUD", route=((Fraction(0), head), (Fraction(1), head / 2)))
    graph = build(
        Document(
            fuel=Fuel(temperature_c=None if temperature_c is None else Fraction(temperature_c)),
            tanks=(tank,),
            components=(
                Component("CAP", "deck_fill", height_m=head),
                Component("SPUD", "fill_spud", tank="T", height_m=head / 2),
            ),
            segments=(run,),
        )
    )
    return system_test(graph, graph.tank("T"), ON)


def psi(found: SystemTest) -> float | None:
    return None if found.pressure_pa is None else float(found.pressure_pa / PSI)


def test_the_head_of_fuel_takes_over_above_six_feet() -> None:
    # 33 CFR 183.542(a): 3 psi = 1.5 x 740 x g x 1.900 m.
    assert asked("1").pressure_pa == 3 * PSI
    assert asked("1.900").pressure_pa == 3 * PSI
    assert psi(asked("1.9005")) == pytest.approx(3, rel=2e-4)
    assert psi(asked("1.9005")) != 3
    assert psi(asked("3.8")) == pytest.approx(6, rel=2e-4)


def test_never_above_the_label_and_nothing_without_one() -> None:
    assert asked(label_psi=3).pressure_pa == 3 * PSI
    above, unlabeled = asked(label_psi=2.9), asked(label_psi=None)
    assert (above.pressure_pa, above.missing) == (None, ())
    assert "above the 2.9 psi" in str(above.assumptions[0])
    assert (unlabeled.pressure_pa, unlabeled.missing) == (None, ("tanks[T].label_pressure_psi",))


@pytest.mark.parametrize(
    ("gallons", "minutes"),
    # Coast Guard boatbuilder handbook, Appendix A: 5 min, and 1 for each 10 gal or part above 50.
    [(6, 5), (50, 5), (50.1, 6), (51, 6), (60, 6), (61, 7), (87, 9), (110, 11), (None, None)],
)
def test_the_wait(gallons: float | None, minutes: int | None) -> None:
    assert asked(gallons=gallons).wait_min == minutes


def test_the_facts_that_the_density_rests_on_are_named() -> None:
    found = asked("3.8", temperature_c=-30)
    assert found.inputs["temperature"].value == -22
    # Colder fuel is denser: 740 kg/m3 at 20 °C, by the petroleum tables.
    assert 6.2 < (psi(found) or 0) < 6.5


@pytest.mark.parametrize("degrees_c", [-41, 61])
def test_a_temperature_beyond_the_tables_names_no_pressure(degrees_c: int) -> None:
    found = asked(temperature_c=degrees_c)
    assert (found.pressure_pa, found.missing) == (None, ("fuel.temperature_f",))
    assert "Check its unit" in str(found.assumptions[0])
