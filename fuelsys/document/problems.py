"""What is wrong with a document: where, what stands there, what should."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

SHOWN_CHARACTERS = 60
LONGEST_PATH = 240
# Beyond this many the document is another kind of file, not a survey with mistakes in it.
MOST_PROBLEMS = 1000
WHOLE_DOCUMENT = "document"


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem; `path` names list items by id where they have one."""

    path: str
    found: str
    expected: str

    def __str__(self) -> str:
        return f"{self.path}: found {self.found}; expected {self.expected}"

    def to_json(self) -> dict[str, str]:
        return {"path": self.path, "found": self.found, "expected": self.expected}


class InputProblems(ValueError):
    """A document was refused; `problems` holds every one, in document order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def to_json(self) -> dict[str, object]:
        """The `problems/1` object of the command line and the API."""
        return {
            "format": "problems/1",
            "problems": [problem.to_json() for problem in self.problems],
        }


class TooManyProblems(Exception):
    """The log is full."""


class Log:
    """The problems found so far."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, path: object, found: str, expected: str) -> None:
        """Note one problem. Raises TooManyProblems when there is no use in reading on."""
        place = _shortened(printable(str(path)), LONGEST_PATH)
        self.problems.append(Problem(place, printable(found), expected))
        if len(self.problems) >= MOST_PROBLEMS:
            self.problems.append(
                Problem(
                    WHOLE_DOCUMENT,
                    f"{MOST_PROBLEMS} problems, and reading stopped there",
                    "a fuel-system/1 document; correct these and read it again",
                )
            )
            raise TooManyProblems

    def refuse_if_any(self) -> None:
        """Raises InputProblems when anything was noted."""
        if self.problems:
            raise InputProblems(self.problems)


class Spot:
    """A place in the document, spelled out only when something is wrong there."""

    __slots__ = ("above", "step")

    def __init__(self, above: Spot | None, step: str) -> None:
        self.above = above
        self.step = step

    def key(self, name: str) -> Spot:
        return Spot(self, f"{name}" if self.above is None else f".{name}")

    def item(self, name: str | int) -> Spot:
        return Spot(self, f"[{name}]")

    def __str__(self) -> str:
        return self._steps() or WHOLE_DOCUMENT

    def _steps(self) -> str:
        return (self.above._steps() if self.above else "") + self.step


def root() -> Spot:
    """The place of the whole document."""
    return Spot(None, "")


def shown(value: object) -> str:
    """A value as a message shows it: short, on one line, printable."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "true" if value else "false"
        case str():
            return _shortened(json.dumps(value, ensure_ascii=False))
        case Decimal() | int() | float():
            return _shortened(str(value) if not isinstance(value, int) else _whole(value))
        case dict():
            return "an object" if value else "an empty object"
        case list() | tuple():
            return f"a list of {len(value)}" if value else "an empty list"
    return type(value).__name__


def printable(text: str) -> str:
    """The text with half characters and NUL escaped, so that any output can carry it."""
    return text.encode("utf-8", "backslashreplace").decode().replace("\0", "\\0")


def _whole(value: int) -> str:
    # Python refuses to print very long integers; nobody reads them either.
    return str(value) if abs(value) < 10**30 else f"a whole number of {value.bit_length()} bits"


def _shortened(text: str, most: int = SHOWN_CHARACTERS) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
