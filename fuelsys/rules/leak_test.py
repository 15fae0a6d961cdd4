"""A leak test as it was held, against what 33 CFR 183.542 asks of the tank's system."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from fuelsys.document.model import LeakTest, Tank
from fuelsys.graph import Graph
from fuelsys.rules.base import (
    CANNOT_TELL,
    FAIL,
    PASS,
    REVIEW,
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    cannot_tell,
    failed,
    passed,
    review,
    rule,
    worst,
)
from fuelsys.rules.context import Context, tank_path
from fuelsys.rules.system_test import SystemTest, system_test_once
from fuelsys.text import Figure, Text
from fuelsys.units import from_base, to_base

ANY_DROP = Text(
    "Any drop is leakage; the rule knows no allowable leak. Air that cools falls too: note the"
    " temperatures and repeat."
)
NOT_AIR = Text("Tested with liquid; 183.542 asks for air or inert gas.")
ABOVE_LABEL = (
    "The pressure of {pressure} is above the {label} on the tank's label. It may stand only where"
    " the tank was isolated; a lead decides."
)
TOO_LOW = "The pressure of {pressure} is below the {asked} that the rule asks."
TOO_SHORT = "Held for {held}; the handbook asks {asked}."
JOINTS_WET = Text("A joint was not dry under pressure.")
NOT_ASKED = Text("No pressure is named for this tank, so none can be held against the reading.")
UNKNOWN = Text("Cannot tell whether this tank's system is tight: no test as the rule asks it.")
ISOLATED = Text("Ask whether the tank was isolated from the lines while they were tested.")
TEST_IT = Text(
    "Test with air or inert gas at the pressure named for this tank, and look at joints."
)


@dataclass(frozen=True, slots=True)
class LeakReading:
    """One test read: its outcome, why, and the facts of it that are lacking.

    `short` says where it was less or other than asked, what a lead decides first: no fact of a
    test says whether the tank was isolated.
    """

    outcome: str
    failing: tuple[Text, ...]
    short: tuple[Text, ...]
    lacking: tuple[str, ...]


def read_test(
    graph: Graph, number: int, test: LeakTest, tank_id: str, asked: SystemTest | None
) -> LeakReading:
    """Fail on any drop or wet joint; review above the label; cannot_tell on a lesser test."""
    failing = tuple(_failing(test))
    decided = tuple(_above_label(graph, test, tank_id, asked))
    short = (*decided, *_short(test, asked))
    lacking = _lacking(number, test)
    if asked is not None and asked.wait_min is None:
        lacking = (*lacking, tank_path(tank_id, "capacity_gal"))  # the wait is asked by capacity
    outcome = PASS
    if failing:
        outcome = FAIL
    elif decided:
        outcome = REVIEW
    elif short or lacking:
        outcome = CANNOT_TELL
    return LeakReading(outcome, failing, short, lacking)


def tank_of_test(graph: Graph, test: LeakTest) -> str | None:
    """The tank a test is of; the only one aboard where it names none."""
    tanks = graph.document.tanks
    return test.tank or (tanks[0].id if len(tanks) == 1 else None)


def _psi(pressure_pa: Fraction, *, computed: bool = False) -> Figure:
    return Figure(from_base(pressure_pa, "psi"), "psi", computed)


def _failing(test: LeakTest) -> list[Text]:
    said = []
    if test.drop_pa is not None and test.drop_pa > 0:
        said.append(ANY_DROP)
    if test.joints_dry is False:
        said.append(JOINTS_WET)
    return said


def _above_label(
    graph: Graph, test: LeakTest, tank_id: str, asked: SystemTest | None
) -> list[Text]:
    """The section does not say what to do where the tank bears less than it asks."""
    said = [asked.above_label] if asked is not None and asked.above_label is not None else []
    label_pa = _label_pa(graph, tank_id)
    if label_pa is not None and test.pressure_pa is not None and test.pressure_pa > label_pa:
        figures = {"pressure": _psi(test.pressure_pa), "label": _psi(label_pa)}
        said.append(Text(ABOVE_LABEL, figures))
    return said


def _label_pa(graph: Graph, tank_id: str) -> Fraction | None:
    """What the tank's label bears; None too where a test names a tank that is not there."""
    tanks = {tank.id: tank for tank in graph.document.tanks}
    return tanks[tank_id].label_pressure_pa if tank_id in tanks else None


def _short(test: LeakTest, asked: SystemTest | None) -> list[Text]:
    """Where the test was less than what is asked."""
    said = [NOT_AIR] if test.gas == "liquid" else []
    if asked is None or (asked.pressure_pa is None and asked.above_label is None):
        said.append(NOT_ASKED)
    elif asked.pressure_pa is None:
        pass  # a lead decides
    elif test.pressure_pa is not None and test.pressure_pa < asked.pressure_pa:
        asked_psi = _psi(asked.pressure_pa, computed=True)
        said.append(Text(TOO_LOW, {"pressure": _psi(test.pressure_pa), "asked": asked_psi}))
    wait_min = None if asked is None else asked.wait_min
    if wait_min is not None and test.hold_s is not None and test.hold_s < to_base(wait_min, "min"):
        held = Figure(from_base(test.hold_s, "min"), "min")
        said.append(Text(TOO_SHORT, {"held": held, "asked": Figure(wait_min, "min")}))
    return said


def _lacking(number: int, test: LeakTest) -> tuple[str, ...]:
    facts = {
        "pressure_psi": test.pressure_pa,
        "hold_min": test.hold_s,
        "drop_psi": test.drop_pa,
        "gas": test.gas,
        "joints_dry": test.joints_dry,
    }
    return tuple(f"tests[{number}].{name}" for name, fact in facts.items() if fact is None)


def _latest(graph: Graph, tank: Tank) -> list[tuple[int, LeakTest]]:
    """The tests that may be the last one of a tank: a test without a date may be."""
    numbered = enumerate(graph.document.tests)
    own = [(n, t) for n, t in numbered if t.kind == "leak" and tank_of_test(graph, t) == tank.id]
    last = max((test.on.earliest() for _, test in own if test.on), default=None)
    return [
        (number, test)
        for number, test in own
        if last is None or test.on is None or test.on.latest() >= last
    ]


@rule(
    id="cfr-33-183-542",
    title="Leak test of the system",
    words=Text(
        "The builder tests each fuel system with air or inert gas, at {test_pressure_floor} or"
        " at {test_head_factor} times the pressure of its own head when full, whichever is more,"
        " and nothing may leak. Liquid is no test gas. Where that pressure, or the"
        " test's own, is above the tank's label, the tank is to be isolated; the text is silent"
        " on it and a lead decides. Without a test on file it cannot be told."
    ),
    regime=SUBPART_J,
    applies_to="tank",
    citation="33 CFR 183.542",
    force="boat builder",
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    parameters=("33-cfr/183-542/test_pressure_floor", "33-cfr/183-542/test_head_factor"),
    practice_id="practice-leak-test",
)
def leak_test(tank: Tank, context: Context) -> Result:
    """The system was tested by air or inert gas, at 3 psi or 1.5 times its head, without a leak."""
    graph = context.graph
    asked = system_test_once(graph, tank, context.on)
    latest = _latest(graph, tank)
    if not latest:
        return cannot_tell(Text("No leak test is on file."), "tests", remedy=TEST_IT)
    readings = [read_test(graph, n, test, tank.id, asked) for n, test in latest]
    overall = worst(reading.outcome for reading in readings)
    decides = next(reading for reading in readings if reading.outcome == overall)
    if overall == FAIL:
        return failed(decides.failing[0], remedy=Text("Find the leak, mend it, test again."))
    if overall == REVIEW:
        return review(decides.short[0], remedy=ISOLATED, evidence="I", missing=decides.lacking)
    missing = [path for reading in readings for path in reading.lacking]
    short = [text for reading in readings for text in reading.short]
    if missing or short:
        missing += asked.missing if asked.pressure_pa is None else ()
        place = f"tests[{latest[-1][0]}].pressure_psi"
        said = short[0] if short else UNKNOWN
        return cannot_tell(said, *(dict.fromkeys(missing) or (place,)), remedy=TEST_IT)
    return passed(Text("The system was tested and held its pressure."))
