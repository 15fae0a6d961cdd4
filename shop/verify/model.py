"""What a check reports: ids and figures, never a person's words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.db import models


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is not as it must be."""

    subject: str
    found: str
    expected: str


@dataclass(frozen=True, slots=True)
class Finding(Fault):
    """A fault with the name of the check that found it."""

    check: str

    def to_json(self) -> dict[str, str]:
        return {
            "check": self.check,
            "subject": self.subject,
            "found": self.found,
            "expected": self.expected,
        }


@dataclass(slots=True)
class Look:
    """Counts what one check has looked at, and what it could not compare with anything."""

    count: int = 0
    uncovered: int = 0

    def at(self, number: int = 1) -> None:
        self.count += number

    def past(self, number: int = 1) -> None:
        """Of so many rows the log says too little: they are from before it said more."""
        self.uncovered += number


Check = Callable[[Look], Iterator[Fault]]


@dataclass(slots=True)
class Report:
    """Every check with what it looked at, and all faults by the check that found them.

    What is not covered is no fault and no proof either: nothing independent says what it was.
    """

    looked: dict[str, int] = field(default_factory=dict)
    faults: dict[str, list[Fault]] = field(default_factory=dict)
    not_covered: dict[str, int] = field(default_factory=dict)

    @property
    def findings(self) -> list[Finding]:
        return [
            Finding(fault.subject, fault.found, fault.expected, check)
            for check, found in self.faults.items()
            for fault in found
        ]

    @property
    def clean(self) -> bool:
        return not self.faults

    def to_json(self) -> dict[str, Any]:
        return {
            "clean": self.clean,
            "looked_at": self.looked,
            "not_covered": self.not_covered,
            "findings": [finding.to_json() for finding in self.findings],
        }


def named(row: models.Model) -> str:
    """A row by kind and id: no name of a person or a boat goes into a report."""
    return f"{row._meta.model_name} {row.pk}"
