"""Yes, no, or not known with the facts that would tell: how conditions of a rule combine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Answer:
    """True, False, or None with the document paths of the facts that are lacking."""

    holds: bool | None
    missing: tuple[str, ...] = ()


YES = Answer(True)
NO = Answer(False)


def known(fact: bool | None, path: str) -> Answer:
    """A recorded fact; left out it is not known."""
    if fact is None:
        return Answer(None, (path,))
    return YES if fact else NO


def unless(fact: bool | None, path: str) -> Answer:
    """The opposite of a recorded fact."""
    return known(None if fact is None else not fact, path)


def all_of(answers: Iterable[Answer]) -> Answer:
    """Every condition holds; one that does not decides, whatever is not known."""
    given = tuple(answers)
    if any(answer.holds is False for answer in given):
        return NO
    missing = tuple(dict.fromkeys(path for answer in given for path in answer.missing))
    return Answer(None, missing) if missing else YES


def any_of(answers: Iterable[Answer]) -> Answer:
    """One condition at least holds; one that does decides, whatever is not known."""
    given = tuple(answers)
    if any(answer.holds for answer in given):
        return YES
    missing = tuple(dict.fromkeys(path for answer in given for path in answer.missing))
    return Answer(None, missing) if missing else NO
