"""What stands of a test: a fail until a reading passes that its author had before their eyes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from shop.work.model import Event
from shop.work.precedence import in_sequence


def standing(
    readings: Iterable[Event], replaced: Iterable[Event], outcomes: Mapping[str, str]
) -> tuple[tuple[Event, ...], tuple[Event, ...]]:
    """The readings that count, and the earlier ones, both as `in_sequence` says.

    A reading replaces those that it names. One that failed gives way to one that passed alone,
    named by it directly or by what it names: what cannot tell leaves it standing.
    """
    now, before = tuple(readings), tuple(replaced)
    answered = _answered((*now, *before), outcomes)
    held = [e for e in before if outcomes[e.key] == "fail" and e.key not in answered]
    kept = {event.key for event in held}
    earlier = [event for event in before if event.key not in kept]
    return in_sequence((*now, *held)), in_sequence(earlier)


def _answered(events: Collection[Event], outcomes: Mapping[str, str]) -> set[str]:
    """Every reading that one which passed names, and what those name in turn."""
    names = {event.key: event.named for event in events}
    todo = [event.key for event in events if outcomes[event.key] == "pass"]
    found: set[str] = set()
    while todo:
        new = names.get(todo.pop(), frozenset()) - found
        found |= new
        todo += new
    return found
