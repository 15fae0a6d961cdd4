"""What one rule replies about a part on its day, before its regime and the boat are looked at."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from fuelsys.graph import Graph
from fuelsys.rules.base import NOT_APPLICABLE, Rule, Verdict
from fuelsys.rules.context import Context
from fuelsys.rules.fuel import DIESEL, fuel_of, unknown_fuel
from fuelsys.rules.parameters import ParameterNotInForceError
from fuelsys.text import Text

NOT_IN_FORCE = Text("This rule is not in force on the date asked for.")
NOT_YET = "This rule holds from {first}. It was asked for on {on}."
FUEL_UNKNOWN = Text("Cannot tell whether this rule applies: the fuel is not on file.")

Asked = Callable[[Any], tuple[Verdict, ...]]  # what a rule says of a part


def asked_of(context: Context) -> Asked:
    """What answers for the context's rule on its day; what all parts share is settled here."""
    rule = context.rule
    if rule is None:
        raise ValueError("A verdict needs the rule that gives it.")
    if not rule.holds_on(context.on):
        silent = () if rule.gate else (Verdict(NOT_APPLICABLE, _not_in_force(rule, context.on)),)
        return lambda part: silent
    check = rule.check

    def answers(part: Any) -> tuple[Verdict, ...]:
        try:
            result = check(part, context)
            if result is None:
                return ()
            return (result,) if isinstance(result, Verdict) else tuple(result)
        except ParameterNotInForceError:
            return (Verdict(NOT_APPLICABLE, NOT_IN_FORCE),)

    by_fuel = rule.names_carburetor or (rule.gasoline_practice and context.as_practice)
    return _of_gasoline(context.graph, answers) if by_fuel else answers


def _of_gasoline(graph: Graph, answers: Asked) -> Asked:
    """The same, silent about diesel; without a fuel it cannot be told whether the rule applies."""

    def asked(part: Any) -> tuple[Verdict, ...]:
        answer = fuel_of(graph, part)
        if answer and answer.fuel is None:
            return (unknown_fuel(answer, FUEL_UNKNOWN),)
        if answer and answer.fuel == DIESEL:
            return ()
        return answers(part)

    return asked


def _not_in_force(rule: Rule, on: date) -> Text:
    first = rule.in_force_from
    if first is None or first <= on:
        return NOT_IN_FORCE
    return Text(NOT_YET, {"first": first.isoformat(), "on": on.isoformat()})
