"""Which tests owe a row to the report: read from their text, so that a silent one is missed."""

from __future__ import annotations

import ast
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Protocol

WRITERS = frozenset({"measured", "planted"})


class Test(Protocol):
    """What of a collected test is looked at."""

    @property
    def nodeid(self) -> str: ...

    @property
    def path(self) -> Path: ...


def owing(tests: Iterable[Test]) -> list[str]:
    """The names of those that write a row when they run."""
    return [test.nodeid for test in tests if _function(test.nodeid) in writing(test.path)]


@cache
def writing(path: Path) -> frozenset[str]:
    """The functions of a module that write a row, themselves or by a function they call there."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    calls = {
        node.name: {_name(call.func) for call in ast.walk(node) if isinstance(call, ast.Call)}
        for node in tree.body
        if isinstance(node, ast.FunctionDef)
    }
    found = set(WRITERS)
    while more := {name for name, called in calls.items() if called & found} - found:
        found |= more
    return frozenset(found - WRITERS)


def _name(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else ""


def _function(nodeid: str) -> str:
    return nodeid.rpartition("::")[2].partition("[")[0]
