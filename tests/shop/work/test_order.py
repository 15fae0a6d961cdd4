"""Leak before run, and every hose on the line before either. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace

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


def run_trial(*events: Event, undone: tuple[str, ...] = ()) -> Trial:
    folded = fold(events)
    found = trials([LEAK, RUN], folded.readings, {}, replaced=folded.replaced)
    return in_order(found, {RUN.key: undone})[1]


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
