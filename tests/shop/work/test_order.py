"""Leak before run, and every hose on the line before either. Common practice, no source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations, product

from shop.work.fold import fold
from shop.work.judging import Trial, trials
from shop.work.model import Event
from shop.work.order import in_order
from tests.shop.work.test_fold import event
from tests.shop.work.test_judging import AT_LOAD, GOOD, LEAK

RUN = replace(LEAK, key="run:E1", kind="run", subject="E1")
WET = event("1:1", "reading", "", test=LEAK.key, **{**GOOD, "joints_dry": False})
RAN = event("1:2", "reading", "", test=RUN.key, minutes="20", **AT_LOAD)
TIGHT = event("1:3", "reading", "", test=LEAK.key, replaces=["1:1"], **GOOD)
AGAIN = event("1:4", "reading", "", test=RUN.key, replaces=["1:2"], minutes="20", **AT_LOAD)

DAYS = ("wet", "dry", "run")
LONGEST = 4  # events of one tablet: all its days of so many are tried in every order of arrival


def run_trial(*events: Event, undone: tuple[str, ...] = ()) -> Trial:
    return both(events, undone)[1]


def both(events: Sequence[Event], undone: tuple[str, ...] = ()) -> tuple[Trial, ...]:
    folded = fold(events)
    found = trials([LEAK, RUN], folded.readings, {}, replaced=folded.replaced)
    return in_order(found, {RUN.key: undone})


def test_a_run_while_a_leak_test_stands_at_fail_tells_nothing() -> None:
    """Told before it is recorded; a leak test that holds later does not make it one."""
    assert "leak test of T1" not in str(run_trial().before)
    assert "leak test of T1" not in str(run_trial(TIGHT).before)
    assert "T1" in str(run_trial(WET).before)
    for events in ((WET, RAN), (WET, RAN, TIGHT)):
        trial = run_trial(*events)
        assert (trial.state, trial.readings[0][1].outcome) == ("missing", "cannot_tell")
    assert not run_trial(WET, RAN, TIGHT).before
    assert run_trial(WET, RAN, TIGHT, AGAIN).state == "recorded"
    assert run_trial(RAN).state == "recorded"


def test_a_run_while_a_hose_is_still_to_do_tells_nothing() -> None:
    trial = run_trial(RAN, undone=("S3",))
    assert trial.state == "missing"
    assert "S3" in str(trial.before)
    wet = event("1:2", "reading", "", test=RUN.key, minutes="20", dry=False)
    assert run_trial(wet, undone=("S3",)).state == "failed"


def day(acts: Sequence[str]) -> list[Event]:
    """What one tablet records: each reading replaces the one of its test before it."""
    made: list[Event] = []
    for seq, act in enumerate(acts, start=1):
        said = (
            {"minutes": "20", **AT_LOAD} if act == "run" else {**GOOD, "joints_dry": act == "dry"}
        )
        test = RUN.key if act == "run" else LEAK.key
        last = [each.key for each in made if each.payload["test"] == test][-1:]
        made.append(event(f"1:{seq}", "reading", "", test=test, replaces=last, **said))
    return made


def arrived(events: Sequence[Event], order: Sequence[int]) -> list[Event]:
    return [replace(each, receipt=at) for each, at in zip(events, order, strict=True)]


def test_one_tablet_is_judged_as_it_recorded_whatever_came_first() -> None:
    """Every day of leak tests and runs, in every order of arrival; told apart from the code."""
    for acts in (acts for most in range(1, LONGEST + 1) for acts in product(DAYS, repeat=most)):
        leaks = [(seq, act) for seq, act in enumerate(acts) if act != "run"]
        runs = [seq for seq, act in enumerate(acts) if act == "run"]
        stands = [act for _seq, act in leaks][-1:] == ["wet"]
        before = [act for seq, act in leaks if runs and seq < runs[-1]][-1:] == ["wet"]
        for order in permutations(range(1, len(acts) + 1)):
            leak, run = both(arrived(day(acts), order))
            assert bool(run.before) == leak.failed == stands, (acts, order)
            assert [judged.outcome for _, judged in run.readings] == (
                ["cannot_tell" if before else "pass"] if runs else []
            ), (acts, order)


def test_what_came_late_and_turned_round_reads_as_it_was_recorded() -> None:
    """Received last, second and first: mended before the run, and shown in that order."""
    events = arrived(day(["wet", "wet", "dry", "run"]), (4, 3, 2, 1))
    leak, run = both(events)
    assert run.state == "recorded"
    assert [each.device_seq for each, _judged in leak.earlier] == [1, 2]


def test_another_tablet_s_run_stands_where_the_server_had_it() -> None:
    wet, dry = day(["wet", "dry"])
    for at, state in ((0, "recorded"), (2, "missing"), (4, "recorded")):
        ran = replace(RAN, key="2:1", device_seq=1, receipt=at)
        found = both([replace(wet, receipt=1), replace(dry, receipt=3), ran])
        assert found[1].state == state
