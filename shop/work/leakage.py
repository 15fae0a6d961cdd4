"""A leak test with the temperatures of its air: the drop that is left, and the leak behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.hydraulics.leaktest import (
    STANDARD_PA,
    Judged,
    Reading,
    judge,
    leak_rate,
    standard_flow,
)
from fuelsys.text import Figure, Text
from fuelsys.units import to_base

# The project's own choice: a thermometer read to one degree Fahrenheit, [K].
THERMOMETER_K = 5.0 / 9.0
ML_MIN = 6e7  # of one m3/s
# Half of the last digit that the yard's form takes, 0.001 psi, [Pa]: less than that is rounding.
ROUNDING_PA = 3.45
TEMPERATURES = ("start_f", "end_f")
BAROMETER = ("start_barometer_inhg", "end_barometer_inhg")

NO_TEMPERATURE = Text(
    "The air's temperatures were not noted: a steady gauge can hide a leak while it warms."
)
NO_STEP = Text("The gauge's smallest division was not noted, so no correction is made.")
CHANGED = Text(
    "The air's temperature changed, and without the gauge's smallest division that cannot be taken"
    " out: the reading says nothing."
)
HALF_NOTED = Text(
    "The air's temperature was noted once only: whether it changed is not known, and the reading"
    " says nothing."
)
GAUGE_ROSE = Text(
    "The gauge rose, and without the air's temperatures and the gauge's smallest division what"
    " lifted it cannot be taken out: it can hide a leak."
)
BAROMETER_MOVED = Text(
    "The barometer changed, and without the air's temperatures and the gauge's smallest division"
    " that cannot be taken out: it can hide a leak."
)
NO_SUCH_READING = Text(
    "The figures noted cannot be: below no pressure at all, or held for no time. Read it again."
)
FUEL_WET = Text(
    "Liquid fuel was in the part tested: its vapor can hide a leak for many minutes. No correction"
    " is made; empty and air the part, and test again."
)
FUEL_NOT_SAID = Text(
    "Nobody said whether liquid fuel was in the part tested: its vapor can hide a leak. No"
    " correction is made."
)
LEAKS = Text("At one temperature it fell by {drop}, give or take {doubt}: it leaks.")
NOT_RESOLVED = Text(
    "At one temperature it fell by {drop}, give or take {doubt}: too little to tell from none."
)
ROSE_LITTLE = Text(
    "At one temperature it rose by {drop}, give or take {doubt}: too little to tell from none."
)
SHOWS_NOTHING = Text(
    "The drop is in doubt by {doubt}, and it was held at {pressure}: no leak could have been seen."
)
ROSE = Text("At one temperature it rose by {drop}, give or take {doubt}. Read it again.")
RATE = Text("That is {rate} of air at 20 °C and one atmosphere. For information: none is allowed.")
TAKEN = Text("Barometer taken as steady.")
THERMOMETER = Text("Thermometer taken as read to 1 °F.")
DRY = Text("The part tested held no liquid fuel.")
METHOD = Text(
    "drop of absolute pressure with the change of temperature taken out, p1 - p2 T1/T2; a drop"
    " beyond twice its uncertainty is a leak, a smaller one says nothing"
)
SOURCE = (
    "ideal gas; 33 CFR 183.542 allows no leak; rate: 40 CFR 1065.644; factor two: this project's"
    " own choice"
)
# What was noted of a test: its name here, and the unit it was read in.
NOTED = {
    "pressure_psi": ("pressure", "psi"),
    "drop_psi": ("drop_read", "psi"),
    "rose_psi": ("rise_read", "psi"),
    "wait_min": ("held", "min"),
    "start_f": ("start_air", "f"),
    "end_f": ("end_air", "f"),
    "gauge_step_psi": ("gauge_step", "psi"),
    "start_barometer_inhg": ("start_barometer", "inhg"),
    "end_barometer_inhg": ("end_barometer", "inhg"),
    "volume_gal": ("tested_volume", "gal"),
}


@dataclass(frozen=True)
class Leakage:
    """What the temperatures add to a reading.

    `fault` where they make it fail, `untold` where a steady gauge says nothing: a fact is lacking,
    or the doubt is more than what is left. `figure` is the drop that is left.
    """

    notes: tuple[Text, ...]
    fault: Text | None = None
    untold: Text | None = None
    figure: Computed | None = None


def leakage(reading: Mapping[str, Any]) -> Leakage:
    """The reading with the change of temperature taken out, as far as it was noted.

    Examples
    --------
    Held at 3 psi without a drop while its air warmed by 5 °F: about 0.17 psi is gone.

    >>> steady = {"pressure_psi": "3.0", "drop_psi": "0", "wait_min": "11", "start_f": "70",
    ...     "end_f": "75", "gauge_step_psi": "0.01", "fuel_wet": False, "volume_gal": "30"}
    >>> str(leakage(steady).fault)
    'At one temperature it fell by 0.165 psi, give or take 0.0986 psi: it leaks.'
    >>> str(leakage(steady | {"fuel_wet": True}).untold)[:48]
    'Liquid fuel was in the part tested: its vapor ca'
    """
    if reading.get("fuel_wet") is True:
        return Leakage((), untold=FUEL_WET)
    if "fuel_wet" not in reading:
        return Leakage((), untold=FUEL_NOT_SAID)
    if all(name in reading for name in (*TEMPERATURES, "gauge_step_psi")):
        return _corrected(reading)
    return _uncorrected(reading)


def _uncorrected(reading: Mapping[str, Any]) -> Leakage:
    """Without a correction only what was steady in every respect that was noted says anything.

    The handbook's procedure asks for no temperatures: where none were noted, a note says so.
    """
    noted = [name for name in TEMPERATURES if name in reading]
    causes = (
        (_noted(reading, "rose_psi") > 0, GAUGE_ROSE),
        (_noted(reading, BAROMETER[0]) != _noted(reading, BAROMETER[1]), BAROMETER_MOVED),
        (len(noted) == 1, HALF_NOTED),
        (_noted(reading, TEMPERATURES[0]) != _noted(reading, TEMPERATURES[1]), CHANGED),
    )
    untold = next((words for is_so, words in causes if is_so), None)
    if untold is not None:
        return Leakage((), untold=untold)
    return Leakage((NO_STEP if noted else NO_TEMPERATURE,))


def _corrected(reading: Mapping[str, Any]) -> Leakage:
    measured = _measured(reading)
    try:
        found = _rounded(judge(measured))
    except ValueError:  # a slip of the hand, kept as it was read: it must not close its job's pages
        return Leakage((), untold=NO_SUCH_READING)
    assert found.drop_pa is not None
    assert found.uncertainty_pa is not None
    figures = {
        "drop": in_unit(abs(found.drop_pa), "psi", computed=True),
        "doubt": in_unit(2.0 * found.uncertainty_pa, "psi", computed=True),
    }
    figure, taken = _figure(reading, measured, found), _taken(reading)
    if found.verdict == "cannot_resolve":
        return _unresolved(measured, found, figures, taken, figure)
    if found.verdict == "rose":
        return Leakage(taken, Text(ROSE.msgid, figures), figure=figure)
    notes = (*_rate(reading, measured), *taken)
    return Leakage(notes, Text(LEAKS.msgid, figures), figure=figure)


def _rounded(found: Judged) -> Judged:
    """Without a difference that is the last digit's own."""
    assert found.drop_pa is not None
    if found.verdict == "cannot_resolve" and abs(found.drop_pa) < ROUNDING_PA:
        return replace(found, drop_pa=0.0)
    return found


def _unresolved(
    measured: Reading,
    found: Judged,
    figures: dict[str, Figure],
    taken: tuple[Text, ...],
    figure: Computed,
) -> Leakage:
    """Too little to tell from none: a fall may be a leak, and nothing is seen in too much doubt."""
    assert found.drop_pa is not None
    assert found.uncertainty_pa is not None
    if 2.0 * found.uncertainty_pa >= measured.start_gauge_pa:
        held = in_unit(measured.start_gauge_pa, "psi")
        said = Text(SHOWS_NOTHING.msgid, {"doubt": figures["doubt"], "pressure": held})
        return Leakage(taken, untold=said, figure=figure)
    if found.drop_pa > 0.0:
        return Leakage(taken, untold=Text(NOT_RESOLVED.msgid, figures), figure=figure)
    said = Text((ROSE_LITTLE if found.drop_pa < 0.0 else NOT_RESOLVED).msgid, figures)
    return Leakage((said, *taken), figure=figure)


def _taken(reading: Mapping[str, Any]) -> tuple[Text, ...]:
    steady = () if "start_barometer_inhg" in reading else (TAKEN,)
    return (*steady, THERMOMETER)


def _figure(reading: Mapping[str, Any], measured: Reading, found: Judged) -> Computed:
    """The drop that is left, with all it rests on."""
    assert found.uncertainty_pa is not None
    rate = _flow(reading, measured) if found.verdict == "leaks" else None
    inputs = {
        name: Figure(Decimal(str(reading[key])), unit)
        for key, (name, unit) in NOTED.items()
        if key in reading
    }
    return Computed(
        found.drop_pa,
        "psi",
        METHOD,
        SOURCE,
        inputs,
        (DRY, *_taken(reading)),
        details={
            "doubt": in_unit(2.0 * found.uncertainty_pa, "psi", computed=True),
            "leak_rate": rate,
        },
    )


def _rate(reading: Mapping[str, Any], measured: Reading) -> tuple[Text, ...]:
    rate = _flow(reading, measured)
    return () if rate is None else (Text(RATE.msgid, {"rate": rate}),)


def _flow(reading: Mapping[str, Any], measured: Reading) -> Figure | None:
    if "volume_gal" not in reading or not _base(reading, "volume_gal", "gal"):
        return None
    flow = standard_flow(leak_rate(measured, _base(reading, "volume_gal", "gal")))
    return Figure(flow * ML_MIN, "mL/min", computed=True)


def _measured(reading: Mapping[str, Any]) -> Reading:
    start = _base(reading, "pressure_psi", "psi")
    rose = float(to_base(_noted(reading, "rose_psi"), "psi"))
    return Reading(
        start_gauge_pa=start,
        end_gauge_pa=start - _base(reading, "drop_psi", "psi") + rose,
        start_c=_base(reading, "start_f", "f"),
        end_c=_base(reading, "end_f", "f"),
        seconds=_base(reading, "wait_min", "min"),
        gauge_uncertainty_pa=_base(reading, "gauge_step_psi", "psi"),
        temperature_uncertainty_k=THERMOMETER_K,
        start_barometer_pa=_barometer(reading, BAROMETER[0]),
        end_barometer_pa=_barometer(reading, BAROMETER[1]),
        fuel_wet=reading["fuel_wet"],
    )


def _noted(reading: Mapping[str, Any], name: str) -> Decimal:
    return Decimal(str(reading.get(name, 0)))


def _base(reading: Mapping[str, Any], name: str, unit: str) -> float:
    return float(to_base(Decimal(str(reading[name])), unit))


def _barometer(reading: Mapping[str, Any], name: str) -> float:
    return _base(reading, name, "inhg") if name in reading else STANDARD_PA
