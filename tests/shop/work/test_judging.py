"""What a reading says: limits from the law, the handbook and the boat's own file."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from shop.work.fold import fold
from shop.work.judging import Asked, Trial, faults_of_leak_set_up, judge, trials
from shop.work.model import Event
from shop.work.safe import STEPS, too_much_vapor
from shop.work.waiving import Consented
from tests.shop.work.test_fold import NOON, event

TITLE = STEPS[0].title

# Scenario, section 7: 3.0 psi for 9 min on a tank whose label bears 3.
LEAK = Asked("leak:T1", "leak", "T1", TITLE, Decimal("3.00"), Decimal("3.00"), 9)
NO_LABEL = Asked("leak:TP", "leak", "TP", TITLE, wait_min=14)
GOOD: dict[str, Any] = {
    "pressure_psi": "3.0",
    "gauge_psi": "5",
    "wait_min": "9",
    "drop_psi": "0.0",
    "joints_dry": True,
    "scope": "system",
    "fuel_wet": False,
}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, ""),
        ({"drop_psi": "0.01"}, "Any drop is a leak"),  # handbook, Appendix A
        ({"joints_dry": False}, "A joint was wet"),
        ({"pressure_psi": "2.9"}, "the test asks 3 psi"),
        ({"wait_min": "8.9"}, "the test asks 9 min"),
        ({"gauge_psi": "9"}, ""),  # three times the pressure is allowed
        ({"gauge_psi": "9.1"}, "too coarse"),
        ({"gauge_psi": "2.9"}, "cannot show"),
        ({"pressure_psi": "3.1"}, "on the tank's label"),  # 33 CFR 183.514(b)(5)
    ],
)
def test_leak_test(change: dict[str, Any], words: str) -> None:
    judged = judge(LEAK, {**GOOD, **change})
    assert judged.outcome == ("fail" if words else "pass")
    assert words in str(judged.message)


def test_no_label_no_pressure_on_the_tank() -> None:
    assert NO_LABEL.label_gate
    assert judge(NO_LABEL, {**GOOD, "wait_min": "14"}).outcome == "fail"
    assert faults_of_leak_set_up(NO_LABEL, GOOD)
    lines = {**GOOD, "scope": "lines", "wait_min": "14"}
    assert judge(NO_LABEL, {**lines, "drop_psi": "0.1"}).outcome == "fail"


LINES = Asked("leak:T1", "leak", "T1", TITLE, wait_min=9)
NO_CAPACITY = Asked("leak:T1", "leak", "T1", TITLE, Decimal("3.00"), Decimal("3.00"))


@pytest.mark.parametrize(
    ("asked", "change", "words"),
    [
        (LINES, {}, "No test pressure"),
        (LINES, {"pressure_psi": "0", "gauge_psi": "0", "wait_min": "60"}, "Under no pressure"),
        (LINES, {"wait_min": "60"}, "No test pressure"),
        (NO_CAPACITY, {}, "capacity"),
        (NO_CAPACITY, {"wait_min": "0"}, "no time"),
    ],
)
def test_a_leak_test_that_lacks_a_fact_does_not_pass(
    asked: Asked, change: dict[str, Any], words: str
) -> None:
    reading = {**GOOD, "scope": "lines", **change}
    judged = judge(asked, reading)
    assert (judged.outcome, words in str(judged.message)) == ("cannot_tell", True)
    assert judge(asked, {**reading, "joints_dry": False}).outcome == "fail"


@pytest.mark.parametrize("answer", [True, None])
def test_a_steady_gauge_over_liquid_fuel_is_no_test(answer: bool | None) -> None:
    """Its vapor hides a leak for many minutes; so may it where nobody said. A drop still leaks."""
    reading = {**GOOD, "fuel_wet": answer}
    if answer is None:
        del reading["fuel_wet"]
    judged = judge(LEAK, reading)
    assert judged.outcome == "cannot_tell"
    assert "hide a leak" in str(judged.message)
    assert judge(LEAK, {**reading, "drop_psi": "0.01"}).outcome == "fail"
    assert judge(LEAK, {**reading, "joints_dry": False}).outcome == "fail"


def test_at_no_pressure_no_leak_test_passes() -> None:
    """With a target and without, whatever the gauge and however long."""
    for asked in (LEAK, LINES, NO_LABEL, NO_CAPACITY):
        for gauge in ("0", "5"):
            for wait in ("0", "60"):
                reading = {**GOOD, "pressure_psi": "0", "gauge_psi": gauge, "wait_min": wait}
                for scope in ("system", "lines"):
                    assert judge(asked, {**reading, "scope": scope}).outcome != "pass"


@pytest.mark.parametrize(("ohm", "outcome"), [("0.6", "pass"), ("99.9", "pass"), ("100", "fail")])
def test_ground_is_below_100_ohm(ohm: str, outcome: str) -> None:
    """33 CFR 183.572: less than 100 ohm, so 100 fails."""
    asked = Asked("ground:FILL", "ground", "FILL", TITLE)
    assert judge(asked, {"ohm": ohm}).outcome == outcome


@pytest.mark.parametrize(("inhg", "outcome"), [("1.4", "pass"), ("2", "pass"), ("2.1", "fail")])
def test_vacuum_against_the_engine_s_own_limit(inhg: str, outcome: str) -> None:
    asked = Asked("vacuum:E1", "vacuum", "E1", TITLE, limit_inhg=Decimal(2))
    assert judge(asked, {"inhg": inhg}).outcome == outcome


def test_vacuum_without_a_limit_on_file_is_not_judged() -> None:
    judged = judge(Asked("vacuum:E1", "vacuum", "E1", TITLE), {"inhg": "9"})
    assert judged.outcome == "noted"
    assert str(judged.message) == "9 inHg at the inlet. No limit of this engine is on file."


@pytest.mark.parametrize("limit", [Decimal(2), None])
def test_no_vacuum_at_all_is_no_test(limit: Decimal | None) -> None:
    """A gauge that is not joined shows the same: the test is missing until a lead waives it."""
    asked = Asked("vacuum:E1", "vacuum", "E1", TITLE, limit_inhg=limit)
    assert judge(asked, {"inhg": "0"}).outcome == "cannot_tell"
    reading = event("1:1", "reading", "", test=asked.key, inhg="0")
    waive = event("1:2", "waive", "", test=asked.key, text="The tank stands above the engine.")
    assert trials([asked], {asked.key: (reading,)}, {})[0].state == "missing"
    assert trials([asked], {asked.key: (reading,)}, {asked.key: (waive,)})[0].state == "waived"


@pytest.mark.parametrize(("lel", "outcome"), [("0", "pass"), ("9.9", "pass"), ("10", "fail")])
def test_vapor_stops_at_10_percent(lel: str, outcome: str) -> None:
    """29 CFR 1926.152(e)(1) as copied in 8 CCR 1934(a)."""
    assert judge(Asked("vapor:boat", "vapor", "boat", TITLE), {"lel_pct": lel}).outcome == outcome
    assert too_much_vapor(Decimal(lel)) == (outcome == "fail")


AT_LOAD = {"dry": True, "load": "At the dock, idle to 3000 rpm"}


def test_a_run_that_shows_fuel_fails() -> None:
    asked = Asked("run:E1", "run", "E1", TITLE)
    assert judge(asked, {**AT_LOAD, "minutes": "20"}).outcome == "pass"
    assert judge(asked, {**AT_LOAD, "minutes": "20", "dry": False}).outcome == "fail"
    assert judge(asked, {**AT_LOAD, "minutes": "0"}).outcome == "cannot_tell"
    assert judge(asked, {"minutes": "0", "dry": False}).outcome == "fail"


@pytest.mark.parametrize(
    ("change", "outcome", "words"),
    [
        ({"minutes": "15"}, "pass", "Ran 15 min"),
        ({"minutes": "14.9"}, "cannot_tell", "Ran 14.9 min; the run test asks 15 to 20 min"),
        ({"minutes": "1", "load": ""}, "cannot_tell", "part of it at load"),
        ({"load": ""}, "cannot_tell", "No load is noted"),
        ({"load": " "}, "cannot_tell", "part of it at load"),
        ({"load": None}, "cannot_tell", "part of it at load"),
        ({"load": "\u200b\u2060"}, "cannot_tell", "No load is noted"),
        ({"load": "\u3164\u2800"}, "cannot_tell", "No load is noted"),
        ({"load": "–"}, "cannot_tell", "No load is noted"),
        ({"load": "4500"}, "pass", "Ran 20 min"),
        ({"minutes": "1", "load": "", "dry": False}, "fail", "Fuel showed"),
    ],
)
def test_a_run_shorter_than_asked_or_at_no_load_tells_nothing(
    change: dict[str, Any], outcome: str, words: str
) -> None:
    """Common practice, no source: the page asks it, so less is not held to be it."""
    judged = judge(Asked("run:E1", "run", "E1", TITLE), {"minutes": "20", **AT_LOAD, **change})
    assert judged.outcome == outcome
    assert words in str(judged.message)


def test_state_of_a_test() -> None:
    asked = Asked("ground:FILL", "ground", "FILL", TITLE)
    good = event("1:1", "reading", "", test="ground:FILL", ohm="1")
    bad = event("1:2", "reading", "", test="ground:FILL", ohm="150")
    waive = event("1:3", "waive", "", test="ground:FILL", text="No meter.")

    def state(readings: tuple[Any, ...], waivers: tuple[Any, ...] = ()) -> str:
        key = asked.key
        return trials([asked], {key: readings}, {key: waivers})[0].state

    assert state(()) == "missing"
    assert state((), (waive,)) == "waived"
    assert state((good,)) == "recorded"
    assert state((good, bad), (waive,)) == "failed"


def test_a_reading_that_cannot_tell_is_no_test() -> None:
    asked = Asked("run:E1", "run", "E1", TITLE)
    nothing = event("1:1", "reading", "", test="run:E1", minutes="0", dry=True)
    whole = event("1:2", "reading", "", test="run:E1", minutes="20", **AT_LOAD)
    waive = event("1:3", "waive", "", test="run:E1", text="Ashore.")

    def state(readings: tuple[Any, ...], waivers: tuple[Any, ...] = ()) -> str:
        return trials([asked], {asked.key: readings}, {asked.key: waivers})[0].state

    assert state((nothing,)) == "missing"
    assert state((nothing,), (waive,)) == "waived"
    assert state((nothing, whole)) == "recorded"


def test_eight_steps_two_of_them_measured() -> None:
    """Scenario, section 7: make-safe checklist 8 of 8."""
    assert [step.key for step in STEPS if step.reads_lel] == ["air", "again"]
    assert len(STEPS) == 8


TICK = event("1:2", "tick", "S3")


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (TICK, "Fitted after the test; test again."),
        (event("1:2", "start", "S3"), "Work was begun after the test; test again."),
        (event("1:2", "untick", "S3", names=["1:9"]), "taken back after the test; test again."),
    ],
)
def test_work_received_after_a_test_puts_it_out_of_date(work: Event, words: str) -> None:
    """By the order of the server, so that a tablet's clock and its day away do not matter."""
    early = event("1:1", "reading", "", test=LEAK.key, **GOOD)
    again = event("1:3", "reading", "", test=LEAK.key, **GOOD)
    before, since = (event(key, "waive", "", test=LEAK.key, text="Cold.") for key in ("1:0", "1:4"))

    def trial(*readings: Event, waivers: tuple[Event, ...] = ()) -> Trial:
        kept = {LEAK.key: readings}
        return trials([LEAK], kept, {LEAK.key: waivers}, {LEAK.key: (work,)})[0]

    [(_, judged)] = trial(early).readings
    assert (judged.outcome, trial(early).state) == ("cannot_tell", "missing")
    assert words in str(judged.message)
    assert "S3" in str(judged.notes[0])
    assert trial(early, waivers=(before,)).state == "missing"
    assert trial(early, waivers=(before, since)).state == "waived"
    assert trial(again).state == trial(early, again).state == "recorded"


def test_a_leak_is_not_made_a_lack_by_work_that_follows() -> None:
    """What failed is mended and tested again: no waiver covers it, whatever was fitted since."""
    wet = event("1:1", "reading", "", test=LEAK.key, **{**GOOD, "joints_dry": False})
    waive = event("1:3", "waive", "", test=LEAK.key, text="It was only a little.")
    waived = {LEAK.key: (waive,)}
    assert trials([LEAK], {LEAK.key: (wet,)}, waived, {LEAK.key: (TICK,)})[0].state == "failed"


def test_a_waiver_does_not_hold_for_a_part_that_was_added_since() -> None:
    """By the moment the server had it, whatever its tablet's clock said."""
    early = replace(event("1:1", "waive", "", test=LEAK.key, text="Cold."), received_at=NOON)
    consented = {"S3": Consented(NOON + timedelta(minutes=1))}

    def trial(*waivers: Event, work: Event = TICK) -> Trial:
        found = {LEAK.key: (work,)}
        return trials([LEAK], {}, {LEAK.key: waivers}, found, consented)[0]

    assert trial(early).state == "missing"
    assert trial(early).lapsed is not None
    assert "S3" in str(trial(early).lapsed)
    assert trial(early, work=event("1:2", "tick", "S4")).state == "waived"
    for minutes in (1, 2):
        later = replace(early, key="1:3", received_at=NOON + timedelta(minutes=minutes))
        assert trial(early, later).waiver == later
        assert trial(early, later).lapsed is None
    assert trial(replace(early, received_at=None)).state == "missing"


def test_what_cannot_tell_does_not_put_a_fail_away() -> None:
    """Of every kind: a fail stands until a reading passes, whoever waives; then it is earlier."""
    good = {
        "leak": ({**GOOD, "joints_dry": False}, {**GOOD, "fuel_wet": True}, GOOD),
        "run": ({"minutes": "20", "dry": False}, {"minutes": "15", "dry": True},
                {"minutes": "20", **AT_LOAD}),
        "ground": ({"ohm": "150"}, None, {"ohm": "1"}),
        "vacuum": ({"inhg": "9"}, {"inhg": "0"}, {"inhg": "1"}),
        "vapor": ({"lel_pct": "20"}, None, {"lel_pct": "0"}),
    }  # fmt: skip
    for kind, (bad, vague, better) in good.items():
        asked = replace(LEAK, key=f"{kind}:T1", kind=kind, limit_inhg=Decimal(2))
        sent = [event("1:1", "reading", "", test=asked.key, **bad)]
        if vague is not None:
            sent.append(event("1:2", "reading", "", test=asked.key, replaces=["1:1"], **vague))
            folded = fold(sent)
            waived = {asked.key: (event("1:9", "waive", "", test=asked.key, text="Late."),)}
            [trial] = trials([asked], folded.readings, waived, replaced=folded.replaced)
            outcomes = [judged.outcome for _, judged in trial.readings]
            assert (kind, trial.state, outcomes) == (kind, "failed", ["fail", "cannot_tell"])
        sent.append(event("1:3", "reading", "", test=asked.key, replaces=[sent[-1].key], **better))
        folded = fold(sent)
        [trial] = trials([asked], folded.readings, {}, replaced=folded.replaced)
        assert (kind, trial.state, len(trial.readings)) == (kind, "recorded", 1)
        assert [judged.outcome for _, judged in trial.earlier][:1] == ["fail"]
