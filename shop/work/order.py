"""The order of the tests after the work: leak before run, and every hose in before either."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from fuelsys.text import Text
from shop.work.judging import LEAK, RUN, Judged, Trial, is_outdated
from shop.work.model import Event

LEAK_FIRST = Text("The leak test of {tank} stands at fail. Mend and test it before a run.")
HOSES_FIRST = Text("Still to do on this line: {parts}. Fit them before a run.")
OUT_OF_ORDER = Text("Run out of order: it says nothing. Test again.")
NO_END = 2**63  # no event was received as late as that


def in_order(trials: Iterable[Trial], undone: Mapping[str, tuple[str, ...]]) -> tuple[Trial, ...]:
    """Run tests with what comes before them. A run that held out of order tells nothing.

    `undone` holds the hoses on the line of a run test that are neither fitted nor put off; what
    was fitted after a run puts it out of date by itself.
    """
    found = tuple(trials)
    leaks = [trial for trial in found if trial.asked.kind == LEAK]
    return tuple(
        _run(trial, leaks, undone.get(trial.asked.key, ())) if trial.asked.kind == RUN else trial
        for trial in found
    )


def _run(trial: Trial, leaks: Iterable[Trial], undone: tuple[str, ...]) -> Trial:
    hoses = (Text(HOSES_FIRST.msgid, {"parts": ", ".join(undone)}),) if undone else ()
    read = tuple(
        (event, _judged(judged, (*_leaking(leaks, event.receipt), *hoses)))
        for event, judged in trial.readings
    )
    return replace(trial, readings=read, before=(*_leaking(leaks, NO_END), *hoses))


def _judged(judged: Judged, before: tuple[Text, ...]) -> Judged:
    if judged.outcome != "pass" or not before:
        return judged
    return Judged("cannot_tell", OUT_OF_ORDER, (*before, judged.message), judged.figure)


def _leaking(leaks: Iterable[Trial], receipt: int) -> tuple[Text, ...]:
    """The leak tests that stood at fail when the server had received that much."""
    return tuple(
        Text(LEAK_FIRST.msgid, {"tank": leak.asked.subject})
        for leak in leaks
        if _stood_at_fail([*leak.readings, *leak.earlier], receipt)
    )


def _stood_at_fail(read: list[tuple[Event, Judged]], receipt: int) -> bool:
    known = [(event, judged) for event, judged in read if event.receipt < receipt]
    failed = max((e.receipt for e, judged in known if judged.outcome == "fail"), default=None)
    held = max((e.receipt for e, judged in known if _held(judged)), default=-1)
    return failed is not None and failed > held


def _held(judged: Judged) -> bool:
    return judged.outcome == "pass" or is_outdated(judged)
