"""Mutants that no test can find, for they answer as the rule does; each with its reason.

`equivalent.yaml` lists them by module with the line as it was and as it is changed. They are
judged like the others, and counted apart, never as found. One that a test finds, and one that is
no mutant, is a fault of the list.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

FILE = Path(__file__).with_name("equivalent.yaml")


@dataclass(frozen=True)
class Equivalent:
    """One entry: a line of a module, as it was and as it is changed, and why that is alike."""

    module: str
    was: str
    now: str
    why: str


def listed(text: str | None = None) -> list[Equivalent]:
    """The entries of the list."""
    held: dict[str, Any] = yaml.safe_load(
        FILE.read_text(encoding="utf-8") if text is None else text
    )
    return [
        Equivalent(module, entry["was"], now, " ".join(entry["why"].split()))
        for module, entries in (held or {}).items()
        for entry in entries
        for now in ([entry["now"]] if isinstance(entry["now"], str) else entry["now"])
    ]


def stale(entries: Iterable[Equivalent], modules: Iterable[str], met: set[Equivalent]) -> list[str]:
    """Entries of the modules asked that no mutant answers to."""
    asked = set(modules)
    return [
        f"{e.module}: listed as equivalent, but no mutant: {e.was} -> {e.now}"
        for e in entries
        if e.module in asked and e not in met
    ]
