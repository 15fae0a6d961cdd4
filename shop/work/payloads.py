"""What an event's payload must hold, by kind. A payload that does not is refused with words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from shop.onelines import has_letter
from shop.work.judging import GROUND, LEAK, LINES, RUN, SYSTEM, VACUUM, VAPOR
from shop.work.leakage import BAROMETER, TEMPERATURES
from shop.work.safe import READS_LEL, STEP_KEYS

Payload = Mapping[str, Any]

_KEY = re.compile(r"[0-9]{1,19}:[0-9a-f]{32}")
_TEST = re.compile(r"(leak|ground|vacuum|vapor|run):[^\s:]{1,40}")
_NUMBER = re.compile(r"[0-9]{1,6}(\.[0-9]{1,4})?")
LONGEST_TEXT = 4000
LONGEST_METHOD = 120
LONGEST_IDENT = 40  # of a component, as it is stored
MOST_KEYS = 200
HUNDREDTH = Decimal("0.01")
# The project's own check of the unit: beyond, it was read in another one.
LOWEST, HIGHEST = Decimal(15), Decimal(35)
# The standard atmosphere, 101.325 kPa (NIST SP 811, appendix B.8); no vacuum is deeper.
ATMOSPHERE_INHG = Decimal("29.92")


class PayloadError(ValueError):
    """What is wrong with a payload, in words for the person who recorded it."""


def payload_check(kind: str, segment: str, payload: Payload, text: str) -> None:
    """Raise PayloadError unless the payload holds what its kind needs."""
    if len(text) > LONGEST_TEXT:
        raise PayloadError(f"The text is longer than {LONGEST_TEXT} characters.")
    if kind in _ON_SEGMENT and not segment:
        raise PayloadError(f"A {kind} names no segment.")
    for name in ("names", "replaces", "events", "after"):
        if name in payload:
            _keys(payload, name)
    if (kind in _TEXT_NEEDED and not text.strip()) or (
        kind in _REASON_NEEDED and not has_letter(text)
    ):
        raise PayloadError(f"A {kind} needs its reason in words.")
    check = _CHECKS.get(kind)
    if check is not None:
        check(payload)


def number(payload: Payload, name: str) -> Decimal:
    """A number that travels as text, so that no digit changes on the way."""
    held = payload.get(name)
    if not isinstance(held, str) or not _NUMBER.fullmatch(held):
        raise PayloadError(f"“{name}” is {held!r}. It should be a number as text, as “64.5”.")
    try:
        return Decimal(held)
    except InvalidOperation as error:
        raise PayloadError(f"“{name}” is no number.") from error


def _tick(payload: Payload) -> None:
    named = payload.get("component", "")
    if not isinstance(named, str) or len(named) > LONGEST_IDENT:
        raise PayloadError("“component” is no id of a component.")
    if "torque_in_lb" in payload and number(payload, "torque_in_lb") == 0:
        raise PayloadError("A torque is above 0 in-lb. Leave it out where none was read.")
    _texts(payload, ("method", "torque_why"))
    if "reel" in payload or "cut_in" in payload:
        if not isinstance(payload.get("reel"), str) or not payload["reel"]:
            raise PayloadError("The tick names no reel.")
        length_in = number(payload, "cut_in")
        if length_in <= 0 or length_in != length_in.quantize(HUNDREDTH):
            raise PayloadError(f"A piece of {length_in} in cannot be cut.")


def _texts(payload: Payload, names: Iterable[str]) -> None:
    """Each of them is a line of text where it is given."""
    for name in names:
        said = payload.get(name, "")
        if not isinstance(said, str) or len(said) > LONGEST_METHOD:
            raise PayloadError(f"“{name}” is a text of at most {LONGEST_METHOD} characters.")


def _names(payload: Payload) -> None:
    if not _keys(payload, "names"):
        raise PayloadError("It names no event that it takes back.")


def _step(payload: Payload) -> None:
    step = payload.get("step")
    if step not in STEP_KEYS:
        raise PayloadError(f"There is no make-safe step {step!r}.")
    if step in READS_LEL:  # too high a reading is kept and does not do the step: see safe.py
        number(payload, "lel_pct")


def _fuel(payload: Payload) -> None:
    moved, kept, wasted = (number(payload, f"{n}_gal") for n in ("moved", "kept", "wasted"))
    if kept + wasted != moved:
        raise PayloadError(f"Kept {kept} and wasted {wasted} gal do not add up to {moved} moved.")


def _reading(payload: Payload) -> None:
    kind = kind_of_test(payload)
    for name in _FIGURES[kind]:
        number(payload, name)
    if kind == LEAK and payload.get("scope") not in (SYSTEM, LINES):
        raise PayloadError("A leak test says what was under pressure: the system, or lines.")
    for name in _ANSWERS.get(kind, ()):
        if not isinstance(payload.get(name), bool):
            raise PayloadError(f"“{name}” is neither yes nor no.")
    _texts(payload, _BESIDES)
    _possible(kind, payload)
    if kind == LEAK:
        _leak_besides(payload)


def _possible(kind: str, payload: Payload) -> None:
    if kind == VACUUM and number(payload, "inhg") > ATMOSPHERE_INHG:
        raise PayloadError(f"No vacuum is above one atmosphere, {ATMOSPHERE_INHG} inHg.")
    joints = str(payload.get("joints", ""))
    if kind == LEAK and joints and not joints.strip("0."):
        raise PayloadError("With no joint under leak fluid none was seen dry.")


def is_barometer(inhg: Decimal) -> bool:
    """Whether a reading can be the air's pressure in inches of mercury."""
    return LOWEST <= inhg <= HIGHEST


def _leak_besides(payload: Payload) -> None:
    """What may be noted of a leak test: enough to take a change of temperature out of it."""
    for name in (*TEMPERATURES, "gauge_step_psi", "rose_psi", "volume_gal", *BAROMETER):
        if name in payload:
            number(payload, name)
    if payload.get("gas", _GASES[0]) not in _GASES:
        raise PayloadError("A leak test is made with air or inert gas, never with anything else.")
    _leak_gauge(payload)
    if (TEMPERATURES[0] in payload) != (TEMPERATURES[1] in payload):
        raise PayloadError("The air is noted at the start and at the end, or not at all.")
    if (BAROMETER[0] in payload) != (BAROMETER[1] in payload):
        raise PayloadError("The barometer is read at the start and at the end, or not at all.")
    if any(name in payload and not is_barometer(number(payload, name)) for name in BAROMETER):
        raise PayloadError(f"A barometer stands between {LOWEST} and {HIGHEST} inHg.")
    if "fuel_wet" in payload and not isinstance(payload["fuel_wet"], bool):
        raise PayloadError("“fuel_wet” is neither yes nor no.")
    if number(payload, "wait_min") == 0 and "start_f" in payload:
        raise PayloadError("A test with temperatures is held for some time.")


def _leak_gauge(payload: Payload) -> None:
    """What no gauge can show: a fall below nothing, a division as long as its dial."""
    pressure, drop = number(payload, "pressure_psi"), number(payload, "drop_psi")
    if drop > pressure:
        raise PayloadError(f"From {pressure} psi it cannot fall by {drop} psi. Read it again.")
    if "gauge_step_psi" not in payload:
        return
    step, gauge = number(payload, "gauge_step_psi"), number(payload, "gauge_psi")
    if step >= gauge:
        raise PayloadError(f"A gauge to {gauge} psi has no division of {step} psi.")


def kind_of_test(payload: Payload) -> str:
    """Which kind of test the payload speaks of."""
    test = payload.get("test")
    if not isinstance(test, str) or not _TEST.fullmatch(test):
        raise PayloadError(f"There is no test {test!r}.")
    return test.partition(":")[0]


def _waive(payload: Payload) -> None:
    kind_of_test(payload)


def _decide(payload: Payload) -> None:
    if not _keys(payload, "events"):
        raise PayloadError("It names no event that it decides.")
    if not isinstance(payload.get("accept"), bool):
        raise PayloadError("A decision takes into the record, or sets aside.")


def _keys(payload: Payload, name: str) -> list[str]:
    listed = payload.get(name)
    if not isinstance(listed, list) or len(listed) > MOST_KEYS:
        raise PayloadError(f"“{name}” is no list of events.")
    for key in listed:
        if not isinstance(key, str) or not _KEY.fullmatch(key):
            raise PayloadError(f"“{name}” names {key!r}, which is no event.")
    return listed


_ON_SEGMENT = frozenset({"tick", "defer", "resume", "start", "photo"})
_TEXT_NEEDED = frozenset({"note"})
_REASON_NEEDED = frozenset({"defer", "waive"})
_BESIDES = ("load", "place", "joints", "instrument")  # words that are printed beside a reading
_GASES = ("air", "inert")
_FIGURES = {
    LEAK: ("pressure_psi", "gauge_psi", "wait_min", "drop_psi"),
    GROUND: ("ohm",),
    VACUUM: ("inhg",),
    VAPOR: ("lel_pct",),
    RUN: ("minutes",),
}
_ANSWERS = {LEAK: ("joints_dry",), RUN: ("dry",)}
_CHECKS: dict[str, Callable[[Payload], None]] = {
    "tick": _tick,
    "untick": _names,
    "resume": _names,
    "step": _step,
    "fuel": _fuel,
    "reading": _reading,
    "waive": _waive,
    "decide": _decide,
}
