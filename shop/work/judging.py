"""Tests after the work: what is asked of a boat, and what a reading says."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fuelsys.evaluation.computed import Computed
from fuelsys.text import Figure, Text
from shop.onelines import has_sign
from shop.work.leakage import leakage
from shop.work.model import Event
from shop.work.precedence import is_after
from shop.work.safe import too_much_vapor
from shop.work.standing import standing
from shop.work.waiving import Consented, waiver_standing

LEAK, GROUND, VACUUM, VAPOR, RUN = "leak", "ground", "vacuum", "vapor", "run"
SYSTEM, LINES = "system", "lines"  # what a leak test puts under pressure

# 33 CFR 183.572: resistance between the ground and each metal part less than 100 ohm.
GROUND_BELOW_OHM = Decimal(100)
# Coast Guard boatbuilder handbook, Appendix A: a gauge reaching at most three times the pressure.
GAUGE_TIMES = 3
LEAST_RUN_MIN = 15  # common practice, no source


@dataclass(frozen=True)
class Asked:
    """One test that a job needs. Limits are None where the boat's file does not hold them."""

    key: str  # "leak:T1"
    kind: str
    subject: str
    title: Text
    pressure_psi: Decimal | None = None
    label_psi: Decimal | None = None
    wait_min: int | None = None
    limit_inhg: Decimal | None = None
    why: tuple[Text, ...] = ()
    source: str = ""

    @property
    def label_gate(self) -> bool:
        """Whether the tank itself may take no pressure: no legible label, or too weak a one."""
        return self.kind == LEAK and self.pressure_psi is None


@dataclass(frozen=True)
class Judged:
    """`outcome`: pass, fail, noted for a figure that has no limit on file, or cannot_tell.

    What cannot tell is no test yet: a fact is lacking, or nothing was tried.
    """

    outcome: str
    message: Text
    notes: tuple[Text, ...] = ()
    figure: Computed | None = None  # of a leak test: the drop with its temperatures taken out


NO_LABEL = Text("The tank has no pressure that its label bears. Test the lines with it isolated.")
ABOVE_LABEL = Text("{pressure} is above the {label} on the tank's label.")
DROPPED = Text("It fell by {drop}. Any drop is a leak.")
WET = Text("A joint was wet under leak fluid. That is a leak.")
TOO_LOW = Text("Held at {pressure}; the test asks {target}.")
TOO_SHORT = Text("Held {wait}; the test asks {target}.")
COARSE = Text("A gauge to {gauge} is too coarse: at most three times the pressure.")
BEYOND = Text("A gauge to {gauge} cannot show {pressure}.")
NO_PRESSURE = Text("Under no pressure nothing was tested.")
NO_WAIT = Text("Held for no time: nothing was tested.")
NO_TARGET = Text("No test pressure of this tank is on file: what held cannot be judged.")
NO_TARGET_WAIT = Text("How long to wait is not known without the tank's capacity: not judged.")
TIGHT = Text("{pressure} held {wait}, no drop, joints dry.")
OVER_GROUND = Text("{ohm} to ground. It must be below {limit}.")
GROUNDED = Text("{ohm} to ground, below {limit}.")
OVER_VACUUM = Text("{vacuum} at the inlet, above the engine's {limit}.")
VACUUM_HELD = Text("{vacuum} at the inlet; the engine allows {limit}.")
VACUUM_NOTED = Text("{vacuum} at the inlet. No limit of this engine is on file.")
VACUUM_NONE = Text("No vacuum at the inlet: a gauge that is not joined shows the same. Not judged.")
VAPOR_HIGH = Text("{lel} % of the lower limit. Stop at 10 %: find the leak first.")
VAPOR_LOW = Text("{lel} % of the lower limit, below 10 %.")
RUN_WET = Text("Fuel showed while running. Find the leak first.")
NO_RUN = Text("Ran for no time: nothing was tested.")
RUN_SHORT = Text("Ran {minutes}; the run test asks 15 to 20 min, part of it at load.")
RUN_NO_LOAD = Text("No load is noted; the run test asks 15 to 20 min, part of it at load.")
RUN_DRY = Text("Ran {minutes}, dry cold, hot and after the soak.")
FITTED_AFTER = Text("Fitted after the test; test again.")
TAKEN_BACK_AFTER = Text("A tick was taken back after the test; test again.")
BEGUN_AFTER = Text("Work was begun after the test; test again.")
# What is said of work after a test, by its kind; of several, the first here.
_LATE = {"tick": FITTED_AFTER, "untick": TAKEN_BACK_AFTER, "start": BEGUN_AFTER}
AFTER = Text("Worked on after the test: {parts}.")


def judge(asked: Asked, reading: Mapping[str, Any]) -> Judged:
    """What one reading says against what was asked."""
    return _JUDGES[asked.kind](asked, reading)


def faults_of_leak_set_up(asked: Asked, reading: Mapping[str, Any]) -> list[Text]:
    """What must not be done at all: pressure on a tank whose label does not bear it."""
    pressure = _number(reading, "pressure_psi")
    if reading.get("scope") != SYSTEM:
        return []
    if asked.label_gate:
        return [NO_LABEL]
    if asked.label_psi is not None and pressure > asked.label_psi:
        figures = {"pressure": Figure(pressure, "psi"), "label": Figure(asked.label_psi, "psi")}
        return [Text(ABOVE_LABEL.msgid, figures)]
    return []


def _leak(asked: Asked, reading: Mapping[str, Any]) -> Judged:
    pressure, gauge = _number(reading, "pressure_psi"), _number(reading, "gauge_psi")
    wait, drop = _number(reading, "wait_min"), _number(reading, "drop_psi")
    faults = faults_of_leak_set_up(asked, reading)
    if gauge > GAUGE_TIMES * pressure:
        faults.append(_said(COARSE, gauge=Figure(gauge, "psi")))
    if gauge < pressure:
        shown = {"gauge": Figure(gauge, "psi"), "pressure": Figure(pressure, "psi")}
        faults.append(_said(BEYOND, **shown))
    if drop > 0:
        faults.append(_said(DROPPED, drop=Figure(drop, "psi")))
    found = leakage(reading)
    if found.fault is not None and drop == 0:
        faults.append(found.fault)
    if reading.get("joints_dry") is not True:
        faults.append(WET)
    if asked.pressure_psi is not None and pressure < asked.pressure_psi:
        figures = {"pressure": Figure(pressure, "psi"), "target": Figure(asked.pressure_psi, "psi")}
        faults.append(_said(TOO_LOW, **figures))
    if asked.wait_min is not None and wait < asked.wait_min:
        faults.append(_said(TOO_SHORT, wait=_minutes(wait), target=_minutes(asked.wait_min)))
    notes = tuple(note for note in (found.fault, found.untold, *found.notes) if note is not None)
    if faults:
        besides = tuple(note for note in notes if note != faults[0])
        return Judged("fail", faults[0], besides, found.figure)
    untold = _untold(asked, pressure, wait)
    untold += [found.untold] if found.untold is not None else []
    if untold:
        rest = (*untold[1:], *(note for note in notes if note not in untold))
        return Judged("cannot_tell", untold[0], rest, found.figure)
    held = _said(TIGHT, pressure=Figure(pressure, "psi"), wait=_minutes(wait))
    return Judged("pass", held, notes, found.figure)


def _untold(asked: Asked, pressure: Decimal, wait: Decimal) -> list[Text]:
    """What lacks before a reading without a fault says anything: a test, and what it is held to."""
    lacking = (
        (pressure <= 0, NO_PRESSURE),
        (wait <= 0, NO_WAIT),
        (asked.pressure_psi is None, NO_TARGET),
        (asked.wait_min is None, NO_TARGET_WAIT),
    )
    return [words for is_lacking, words in lacking if is_lacking]


def _ground(asked: Asked, reading: Mapping[str, Any]) -> Judged:
    ohm = _number(reading, "ohm")
    figures = {"ohm": Figure(ohm, "ohm"), "limit": Figure(GROUND_BELOW_OHM, "ohm")}
    if ohm >= GROUND_BELOW_OHM:
        return Judged("fail", _said(OVER_GROUND, **figures))
    return Judged("pass", _said(GROUNDED, **figures))


def _vacuum(asked: Asked, reading: Mapping[str, Any]) -> Judged:
    vacuum = Figure(_number(reading, "inhg"), "inhg")
    if _number(reading, "inhg") <= 0:
        return Judged("cannot_tell", VACUUM_NONE)
    if asked.limit_inhg is None:
        return Judged("noted", _said(VACUUM_NOTED, vacuum=vacuum))
    figures = {"vacuum": vacuum, "limit": Figure(asked.limit_inhg, "inhg")}
    if _number(reading, "inhg") > asked.limit_inhg:
        return Judged("fail", _said(OVER_VACUUM, **figures))
    return Judged("pass", _said(VACUUM_HELD, **figures))


def _vapor(asked: Asked, reading: Mapping[str, Any]) -> Judged:
    lel = _number(reading, "lel_pct")
    said = {"lel": Figure(lel)}
    if too_much_vapor(lel):
        return Judged("fail", _said(VAPOR_HIGH, **said))
    return Judged("pass", _said(VAPOR_LOW, **said))


def _run(asked: Asked, reading: Mapping[str, Any]) -> Judged:
    if reading.get("dry") is not True:
        return Judged("fail", RUN_WET)
    minutes = _number(reading, "minutes")
    if minutes <= 0:
        return Judged("cannot_tell", NO_RUN)
    if minutes < LEAST_RUN_MIN:
        return Judged("cannot_tell", _said(RUN_SHORT, minutes=_minutes(minutes)))
    if not has_sign(str(reading.get("load") or "")):
        return Judged("cannot_tell", RUN_NO_LOAD)
    return Judged("pass", _said(RUN_DRY, minutes=_minutes(minutes)))


_JUDGES = {LEAK: _leak, GROUND: _ground, VACUUM: _vacuum, VAPOR: _vapor, RUN: _run}


@dataclass(frozen=True)
class Trial:
    """One asked test with what was recorded of it.

    `earlier` are readings that a later one replaced; of those, one that failed stays among
    `readings` until one passes.
    """

    asked: Asked
    readings: tuple[tuple[Event, Judged], ...]
    waiver: Event | None
    lapsed: tuple[Event, Text] | None = None  # the last waiver where none holds, and why not
    earlier: tuple[tuple[Event, Judged], ...] = ()
    before: tuple[Text, ...] = ()  # what must be done first, as it stands now

    @property
    def failed(self) -> bool:
        return any(judged.outcome == "fail" for _, judged in self.readings)

    @property
    def state(self) -> str:
        """recorded, failed, waived or missing.

        A reading that cannot tell records no test: it stays in sight, and the test is missing; so
        is it after what was fitted later. A reading that fails outlasts one that holds, and no
        waiver covers it: what leaks is mended and tested again.
        """
        if self.failed:
            return "failed"
        if any(judged.outcome != "cannot_tell" for _, judged in self.readings):
            return "recorded"
        return "waived" if self.waiver else "missing"


def trials(
    asked: Iterable[Asked],
    readings: Mapping[str, tuple[Event, ...]],
    waivers: Mapping[str, tuple[Event, ...]],
    work: Mapping[str, tuple[Event, ...]] | None = None,
    consented: Mapping[str, Consented] | None = None,
    replaced: Mapping[str, tuple[Event, ...]] | None = None,
) -> tuple[Trial, ...]:
    """Each asked test with its readings judged, and its waiver.

    `work` holds for a test what opened, fitted or took back a part that the test puts to use;
    `consented` when a part was authorized that was added since the work order was opened.
    """
    found, before = work or {}, replaced or {}
    return tuple(
        _trial(
            test,
            readings.get(test.key, ()),
            waivers.get(test.key, ()),
            found.get(test.key, ()),
            consented or {},
            before.get(test.key, ()),
        )
        for test in asked
    )


def _trial(
    asked: Asked,
    readings: tuple[Event, ...],
    waivers: tuple[Event, ...],
    work: tuple[Event, ...],
    consented: Mapping[str, Consented],
    replaced: tuple[Event, ...],
) -> Trial:
    """No clock decides what came after: a tablet that was away has its own, see `is_after`."""
    said = {event.key: judge(asked, event.payload) for event in (*readings, *replaced)}
    outcomes = {key: each.outcome for key, each in said.items()}
    readings, earlier = standing(readings, replaced, outcomes)
    judged = tuple((event, _dated(event, said[event.key], work)) for event in readings)
    holding, lapsed = waiver_standing(waivers, (*readings, *earlier), work, consented)
    return Trial(asked, judged, holding, lapsed, tuple((e, said[e.key]) for e in earlier))


def _dated(reading: Event, judged: Judged, work: Iterable[Event]) -> Judged:
    """What held tells nothing of what was fitted afterwards; what failed still fails."""
    late = [event for event in work if is_after(event, reading)]
    if not late or judged.outcome not in ("pass", "noted"):
        return judged
    kinds = {event.kind for event in late}
    parts = ", ".join(dict.fromkeys(event.segment for event in late))
    after = Text(AFTER.msgid, {"parts": parts})
    message = next(words for kind, words in _LATE.items() if kind in kinds)
    return Judged("cannot_tell", message, (after, judged.message, *judged.notes), judged.figure)


def is_outdated(judged: Judged) -> bool:
    """Whether a reading held, and work came after it."""
    return judged.message in _LATE.values()


def _number(reading: Mapping[str, Any], name: str) -> Decimal:
    return Decimal(str(reading[name]))


def _minutes(count: Decimal | int) -> str:
    return f"{Decimal(count).normalize():f} min"


def _said(text: Text, **figures: object) -> Text:
    return Text(text.msgid, figures)
