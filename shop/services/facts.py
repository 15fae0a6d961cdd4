"""Facts inside one object of a document: found, set and removed by path.

A path is written as in the document's problems: `hose.inside_diameter_in`,
`to_end.clamps[0].seat`. No database here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fuelsys.units import UNITS, units_of

_STEP = re.compile(r"([a-z][a-z0-9_]*)((?:\[[0-9]{1,3}\])*)")
_INDEX = re.compile(r"\[([0-9]+)\]")

Facts = dict[str, Any]


class PathError(ValueError):
    """A path that leads nowhere in the object."""


@dataclass(frozen=True, slots=True)
class Edit:
    """What one edit replaced. `previous_key` differs from `key` when the unit was changed."""

    key: str
    previous_key: str
    previous: Any
    value: Any


def fact_edit(facts: Facts, key: str, value: Any) -> Edit:
    """Set one fact in place, or remove it when `value` is None.

    The same quantity given in another unit is replaced, since a document gives each once.
    """
    value = plain(value)
    if value is None and isinstance(steps(key)[-1], int):
        raise PathError(f"“{key}” is an item of a list. Give the list without it.")
    old_key = _key_in_use(facts, key)
    previous = fact_get(facts, old_key)
    if old_key != key:
        _remove(facts, old_key)
    if value is None:
        _remove(facts, key)
    else:
        _set(facts, key, value)
    return Edit(key, old_key, previous, value)


def fact_undo_edit(facts: Facts, key: str, previous_key: str, previous: Any) -> Edit:
    """Put back what an edit replaced, with its own unit."""
    value = fact_get(facts, key)
    _remove(facts, key)
    if previous is None:
        _prune(facts, key)
    else:
        _set(facts, previous_key, previous)
    return Edit(previous_key, key, value, previous)


def fact_get(facts: Facts, key: str) -> Any:
    """The fact at a path; None when it is not known."""
    at: Any = facts
    for step in steps(key):
        if isinstance(at, dict) and isinstance(step, str):
            at = at.get(step)
        elif isinstance(at, list) and isinstance(step, int) and step < len(at):
            at = at[step]
        else:
            return None
    return at


def steps(key: str) -> list[str | int]:
    """Names and indices of a path."""
    found: list[str | int] = []
    for part in key.split("."):
        match = _STEP.fullmatch(part)
        if match is None:
            raise PathError(f"“{key}” is no path to a fact, such as hose.inside_diameter_in.")
        found.append(match[1])
        found.extend(int(index) for index in _INDEX.findall(match[2]))
    return found


def plain(value: Any) -> Any:
    """The value in JSON's types; exact numbers become the number that JSON writes."""
    if isinstance(value, Decimal | Fraction):
        return int(value) if value == int(value) else float(value)
    if isinstance(value, dict):
        return {name: plain(held) for name, held in value.items()}
    if isinstance(value, list | tuple):
        return [plain(held) for held in value]
    return value


def _key_in_use(facts: Facts, key: str) -> str:
    """The key under which this quantity stands now: `length_in` when `length_mm` is asked for."""
    head, dot, name = key.rpartition(".")
    holder = fact_get(facts, head) if head else facts
    if not isinstance(holder, dict):
        return key
    for sibling in _same_quantity(name):
        if holder.get(sibling) is not None:
            return f"{head}{dot}{sibling}"
    return key


def _same_quantity(name: str) -> list[str]:
    """The name itself, then the names of the same quantity in other units."""
    words = name.split("_")
    # Suffixes of two words, such as g_day, are found before their last word alone.
    for length in (2, 1):
        if len(words) > length and "_".join(words[-length:]) in UNITS:
            stem, suffix = "_".join(words[:-length]), "_".join(words[-length:])
            kind = UNITS[suffix].kind
            others = [f"{stem}_{unit.suffix}" for unit in units_of(kind) if unit.suffix != suffix]
            return [name, *others]
    return [name]


def _set(facts: Facts, key: str, value: Any) -> None:
    path = steps(key)
    at: Any = facts
    for step in path[:-1]:
        at = _descend(at, step, key)
    last = path[-1]
    if isinstance(last, str) and isinstance(at, dict):
        at[last] = value
    elif isinstance(last, int) and isinstance(at, list) and last <= len(at):
        at[last : last + 1] = [value]
    else:
        raise PathError(f"“{key}” does not fit the facts there. Give the whole list.")


def _descend(at: Any, step: str | int, key: str) -> Any:
    """The container at a step; an object that is not there yet is made, a list never."""
    if isinstance(step, str) and isinstance(at, dict):
        if at.get(step) is None:
            at[step] = {}
        return at[step]
    if isinstance(step, int) and isinstance(at, list) and step < len(at):
        return at[step]
    raise PathError(f"“{key}” does not fit the facts there. Give the whole list.")


def _remove(facts: Facts, key: str) -> None:
    path = steps(key)
    holder: Any = facts
    for step in path[:-1]:
        if isinstance(holder, dict) and isinstance(step, str):
            holder = holder.get(step)
        elif isinstance(holder, list) and isinstance(step, int) and step < len(holder):
            holder = holder[step]
        else:
            return
    last = path[-1]
    if isinstance(holder, dict) and isinstance(last, str):
        holder.pop(last, None)
    elif isinstance(holder, list) and isinstance(last, int) and last < len(holder):
        del holder[last]


def _prune(facts: Facts, key: str) -> None:
    """Drop containers that the edit had made and that are empty now."""
    head = key.rpartition(".")[0]
    while head and fact_get(facts, head) == {}:
        _remove(facts, head)
        head = head.rpartition(".")[0]
