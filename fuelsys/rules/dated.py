"""Rules that reach boats built from a day on: 33 CFR 175.201."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from fuelsys.rules.answers import Answer
from fuelsys.rules.base import (
    FAIL,
    NOT_APPLICABLE,
    PASS,
    REVIEW,
    Check,
    Result,
    Verdict,
    cannot_tell,
    not_applicable,
)
from fuelsys.rules.context import Context
from fuelsys.text import Text

BUILT_FROM = "33-cfr/175-201/built_from"
READ_FROM = "33-cfr/175-201/read_from"
TOO_OLD = "The boat was built before {day}. The rule reaches boats built from then on."
TOO_OLD_AS_READ = (
    "The boat was built before {day}. No day of this section's own was read; that of 33 CFR"
    " 175.201, which does not name it, is taken for it."
)
BUILT_UNKNOWN = Text("Cannot tell whether this rule reaches the boat: its build date is not known.")


def _listed(result: Result) -> list[Verdict]:
    if result is None:
        return []
    return [result] if isinstance(result, Verdict) else list(result)


def built_since(check: Check) -> Callable[[Any, Context], Result]:
    """The check on a boat built on or after the day; an unknown day leaves no fail standing."""
    return _dated(check, "built_from", TOO_OLD, None)


def built_since_as_read(check: Check) -> Callable[[Any, Context], Result]:
    """The same for a section that 33 CFR 175.201 does not name: its day is our inference."""
    return _dated(check, "read_from", TOO_OLD_AS_READ, "I")


def _dated(
    check: Check, key: str, words: str, evidence: str | None
) -> Callable[[Any, Context], Result]:
    @wraps(check)
    def dated(part: Any, context: Context) -> Result:
        day, built = context.day(key), context.document.boat.built
        said = _listed(check(part, context))
        reached = None if built is None else built.on_or_after(day)
        if reached:
            return said
        if reached is False:
            too_old = Text(words, {"day": day.isoformat()})
            verdict = not_applicable(too_old, citation="33 CFR 175.201", evidence=evidence)
            return [verdict] if said else None
        return [_in_doubt(verdict) for verdict in said]

    return dated


def _in_doubt(verdict: Verdict) -> Verdict:
    return _doubted(verdict, ("boat.built",), BUILT_UNKNOWN, Text("Add when it was built."))


def _doubted(verdict: Verdict, missing: tuple[str, ...], unknown: Text, look: Text) -> Verdict:
    """A verdict whose rule may not reach the part: no fail stands, and what lacks is named."""
    if verdict.outcome in (PASS, NOT_APPLICABLE):
        return verdict
    if verdict.outcome in (FAIL, REVIEW):
        return cannot_tell(unknown, *missing, remedy=look)
    return verdict._replace(missing=tuple(dict.fromkeys((*verdict.missing, *missing))))


def where_asked(said: Result, asked: Answer, unknown: Text, look: Text) -> list[Verdict]:
    """What a rule says of a part it is asked of; where that is not known, its faults in doubt."""
    if asked.holds is False:
        return []
    if asked.holds:
        return _listed(said)
    faults = (v for v in _listed(said) if v.outcome not in (PASS, NOT_APPLICABLE))
    return [_doubted(verdict, asked.missing, unknown, look) for verdict in faults]
