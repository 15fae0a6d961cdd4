"""Rules that reach boats built from a day on: 33 CFR 175.201."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from fuelsys.rules.base import (
    FAIL,
    NOT_APPLICABLE,
    PASS,
    REVIEW,
    Check,
    Result,
    Verdict,
    cannot_tell,
)
from fuelsys.rules.context import Context
from fuelsys.text import Text

BUILT_FROM = "33-cfr/175-201/built_from"
TOO_OLD = "The boat was built before {day}. The rule reaches boats built from then on."
BUILT_UNKNOWN = Text("Cannot tell whether this rule reaches the boat: its build date is not known.")


def _listed(result: Result) -> list[Verdict]:
    if result is None:
        return []
    return [result] if isinstance(result, Verdict) else list(result)


def built_since(check: Check) -> Callable[[Any, Context], Result]:
    """The check on a boat built on or after the day; an unknown day leaves no fail standing."""

    @wraps(check)
    def dated(part: Any, context: Context) -> Result:
        day, built = context.day("built_from"), context.document.boat.built
        said = _listed(check(part, context))
        reached = None if built is None else built.on_or_after(day)
        if reached:
            return said
        if reached is False:
            too_old = Text(TOO_OLD, {"day": day.isoformat()})
            return [Verdict(NOT_APPLICABLE, too_old, citation="33 CFR 175.201")] if said else None
        return [_in_doubt(verdict) for verdict in said]

    return dated


def _in_doubt(verdict: Verdict) -> Verdict:
    if verdict.outcome in (PASS, NOT_APPLICABLE):
        return verdict
    if verdict.outcome in (FAIL, REVIEW):
        return cannot_tell(BUILT_UNKNOWN, "boat.built", remedy=Text("Add when it was built."))
    return verdict._replace(missing=(*verdict.missing, "boat.built"))
