"""A shop's own number in a rule of practice: it may ask more than the rule does, never less.

A document does not carry these; whoever evaluates it sets them on `Document.numbers`, by the rule's
id and in the unit of its parameter. Law has none. What a shop does not want asked it sets to advice
or off.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction

from fuelsys.rules.base import PRACTICE, Rule
from fuelsys.rules.parameters import Parameter, ParameterNotInForceError, parameter
from fuelsys.text import Figure, Text
from fuelsys.units import from_base

NOT_SETTABLE = "{rule} has no number of the shop's own; law stands as it is."
NOT_ABOVE_ZERO = Text("A number of the shop's own is above 0.")
TOO_LOOSE = "The rule asks {limit}. A number of the shop's own asks more, not less."
LESS = "less"  # a smaller number asks more
MORE = "more"


def own_parameter(rule: Rule) -> Parameter | None:
    """The parameter of a rule that a shop may replace; None where it has none."""
    if rule.regime != PRACTICE or not rule.own_number:
        return None
    return next(parameter(name) for name in rule.parameters if name.endswith("/" + rule.own_number))


def default_number(held: Parameter, on: date) -> Fraction | None:
    """What holds without a number of the shop's own, in the parameter's unit; None for nothing."""
    try:
        value = held.on(on)
    except ParameterNotInForceError:
        return None
    if not isinstance(value, Fraction):
        raise TypeError(f"Parameter {held.name!r} is no number.")
    return value if held.unit == "count" else from_base(value, held.unit)


def number_fault(rule: Rule, number: Fraction, on: date) -> Text | None:
    """Why a shop may not set this number; None where it may."""
    held = own_parameter(rule)
    if held is None:
        return Text(NOT_SETTABLE, {"rule": rule.id})
    if number <= 0:
        return NOT_ABOVE_ZERO
    default = default_number(held, on)
    if default is None or asks_no_less(rule, number, default):
        return None
    unit = "" if held.unit == "count" else held.unit
    return Text(TOO_LOOSE, {"limit": Figure(default, unit)})


def stored_fault(rule: Rule, number: Fraction, on: date) -> Text | None:
    """Why a number that a shop has set does not stand; None where it does.

    One that could be set on some day stands: where the rule asks more since, `Context.own` takes
    the rule's.
    """
    held = own_parameter(rule)
    begun = [start for start, _value in held.values] if held else []
    faults = [number_fault(rule, number, day) for day in (on, *begun)]
    return faults[0] if all(faults) else None


def asks_no_less(rule: Rule, number: Fraction, other: Fraction) -> bool:
    """Whether a number asks as much of a rule as the other, or more."""
    return number == other or (number < other) == (rule.tighter == LESS)


def counts_on(rule: Rule, numbers: Mapping[str, Fraction], on: date) -> bool:
    """Whether the shop's own number is what the rule asks on a day, and not the rule's own."""
    held = own_parameter(rule) if rule.id in numbers else None
    default = default_number(held, on) if held else None
    return held is not None and (default is None or asks_no_less(rule, numbers[rule.id], default))


def number_faults(
    rules: Mapping[str, Rule], numbers: Mapping[str, Fraction], on: date
) -> dict[str, Text]:
    """The numbers set by a shop that do not stand, by rule, each with the reason."""
    found = {}
    for rule_id, number in numbers.items():
        rule = rules.get(rule_id)
        fault = Text(NOT_SETTABLE, {"rule": rule_id})
        said = fault if rule is None else stored_fault(rule, number, on)
        if said is not None:
            found[rule_id] = said
    return found
