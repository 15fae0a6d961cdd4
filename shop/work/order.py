"""The order of the tests after the work: leak before run, and every hose in before either."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from fuelsys.text import Text
from shop.work.judging import LEAK, RUN, Judged, Trial, is_outdated
from shop.work.model import Event
from shop.work.precedence import is_after

LEAK_FIRST = Text("The leak test of {tank} stands at fail. Mend and test it before a run.")
HOSES_FIRST = Text("Still to do on this line: {parts}. Fit them before a run.")
OUT_OF_ORDER = Text("Run out of order: it says nothing. Test again.")


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
        (event, _judged(judged, (*_leaking(leaks, event), *hoses)))
        for event, judged in trial.readings
    )
    return replace(trial, readings=read, before=(*_leaking(leaks, None), *hoses))


def _judged(judged: Judged, before: tuple[Text, ...]) -> Judged:
    if judged.outcome != "pass" or not before:
        return judged
    return Judged("cannot_tell", OUT_OF_ORDER, (*before, judged.message), judged.figure)


def _leaking(leaks: Iterable[Trial], run: Event | None) -> tuple[Text, ...]:
    """The leak tests that stood at fail before a run; without one, those that do so now."""
    return tuple(
        Text(LEAK_FIRST.msgid, {"tank": leak.asked.subject})
        for leak in leaks
        if _stood_at_fail([*leak.readings, *leak.earlier], run)
    )


def _stood_at_fail(read: list[tuple[Event, Judged]], run: Event | None) -> bool:
    """Whether one failed before the run, and none that held came between."""
    known = [(e, judged) for e, judged in read if run is None or is_after(run, e)]
    failed = [event for event, judged in known if judged.outcome == "fail"]
    held = [event for event, judged in known if _held(judged)]
    return any(not any(is_after(good, bad) for good in held) for bad in failed)


def _held(judged: Judged) -> bool:
    return judged.outcome == "pass" or is_outdated(judged)
