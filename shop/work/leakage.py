"""A leak test with the temperatures of its air: the drop that is left, and the leak behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fuelsys.hydraulics.leaktest import Reading, judge, leak_rate, standard_flow
from fuelsys.text import Figure, Text
from fuelsys.units import from_base, to_base

# The project's own choice: a thermometer read to one degree Fahrenheit, [K].
THERMOMETER_K = 5.0 / 9.0
ML_MIN = 6e7  # of one m3/s

NO_TEMPERATURE = Text(
    "The air's temperatures were not noted: a steady gauge can hide a leak while it warms."
)
NO_STEP = Text("The gauge's smallest division was not noted, so no correction is made.")
FUEL_WET = Text(
    "Liquid fuel was in the part tested: its vapor can hide a leak for many minutes. No correction"
    " is made; empty and air the part, and test again."
)
FUEL_NOT_SAID = Text(
    "Nobody said whether liquid fuel was in the part tested, so no correction is made."
)
LEAKS = Text("At one temperature it fell by {drop}, give or take {doubt}: it leaks.")
NOT_RESOLVED = Text(
    "At one temperature it fell by {drop}, give or take {doubt}: too little to tell from none."
)
ROSE = Text("At one temperature it rose by {drop}, give or take {doubt}. Read it again.")
RATE = Text("That is {rate} of air at 20 °C and one atmosphere. For information: none is allowed.")
TAKEN = Text("Barometer taken as steady, thermometer as read to 1 °F.")


@dataclass(frozen=True)
class Leakage:
    """What the temperatures add to a reading; `fault` where they make it fail."""

    notes: tuple[Text, ...]
    fault: Text | None = None


def leakage(reading: Mapping[str, Any]) -> Leakage:
    """The reading with the change of temperature taken out, as far as it was noted.

    Examples
    --------
    Held at 3 psi without a drop while its air warmed by 5 °F: about 0.17 psi is gone.

    >>> steady = {"pressure_psi": "3.0", "drop_psi": "0", "wait_min": "11", "start_f": "70",
    ...     "end_f": "75", "gauge_step_psi": "0.01", "fuel_wet": False, "volume_gal": "30"}
    >>> str(leakage(steady).fault)
    'At one temperature it fell by 0.165 psi, give or take 0.0986 psi: it leaks.'
    >>> str(leakage(steady | {"fuel_wet": True}).notes[0])[:48]
    'Liquid fuel was in the part tested: its vapor ca'
    """
    if reading.get("fuel_wet") is True:
        return Leakage((FUEL_WET,))
    if "start_f" not in reading or "end_f" not in reading:
        return Leakage((NO_TEMPERATURE,))
    if "fuel_wet" not in reading:
        return Leakage((FUEL_NOT_SAID,))
    if "gauge_step_psi" not in reading:
        return Leakage((NO_STEP,))
    return _corrected(reading)


def _corrected(reading: Mapping[str, Any]) -> Leakage:
    measured = _measured(reading)
    found = judge(measured)
    assert found.drop_pa is not None
    assert found.uncertainty_pa is not None
    figures = {
        "drop": _psi(abs(found.drop_pa)),
        "doubt": _psi(2.0 * found.uncertainty_pa),
    }
    if found.verdict == "cannot_resolve":
        return Leakage((Text(NOT_RESOLVED.msgid, figures), TAKEN))
    if found.verdict == "rose":
        return Leakage((TAKEN,), Text(ROSE.msgid, figures))
    return Leakage((*_rate(reading, measured), TAKEN), Text(LEAKS.msgid, figures))


def _rate(reading: Mapping[str, Any], measured: Reading) -> tuple[Text, ...]:
    if "volume_gal" not in reading or not _base(reading, "volume_gal", "gal"):
        return ()
    flow = standard_flow(leak_rate(measured, _base(reading, "volume_gal", "gal")))
    return (Text(RATE.msgid, {"rate": Figure(flow * ML_MIN, "mL/min", computed=True)}),)


def _measured(reading: Mapping[str, Any]) -> Reading:
    start = _base(reading, "pressure_psi", "psi")
    rose = _base(reading, "rose_psi", "psi") if "rose_psi" in reading else 0.0
    return Reading(
        start_gauge_pa=start,
        end_gauge_pa=start - _base(reading, "drop_psi", "psi") + rose,
        start_c=_base(reading, "start_f", "f"),
        end_c=_base(reading, "end_f", "f"),
        seconds=_base(reading, "wait_min", "min"),
        gauge_uncertainty_pa=_base(reading, "gauge_step_psi", "psi"),
        temperature_uncertainty_k=THERMOMETER_K,
        fuel_wet=reading["fuel_wet"],
    )


def _base(reading: Mapping[str, Any], name: str, unit: str) -> float:
    return float(to_base(Decimal(str(reading[name])), unit))


def _psi(pressure_pa: float) -> Figure:
    return Figure(from_base(pressure_pa, "psi"), "psi", computed=True)
