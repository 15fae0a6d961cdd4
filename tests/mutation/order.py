"""Which cases to ask first: those of the rules that live in the mutated module."""

from __future__ import annotations

import ast
from collections.abc import Iterable
from pathlib import Path

from tests.mutation.prepared import Prepared

ROOT = Path(__file__).resolve().parents[2]
RULES = ROOT / "fuelsys" / "rules"
PACKAGE = "fuelsys.rules"


def nearest_first(name: str, cases: Iterable[Prepared]) -> list[Prepared]:
    """All cases: of the module's own rules, of those that use it, then the rest."""
    trees = {path.stem: ast.parse(path.read_text(encoding="utf-8")) for path in RULES.glob("*.py")}
    own = _words(trees[name])
    users = [tree for tree in trees.values() if name in _imported(tree)]
    near = {word for tree in users for word in _words(tree)}

    def distance(one: Prepared) -> int:
        table = one.case.table
        return 0 if table in own else 1 if table in near else 2

    return sorted(cases, key=distance)


def _imported(tree: ast.Module) -> set[str]:
    froms = (node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom))
    modules = (node.module or "" for node in froms)
    return {m.rpartition(".")[2] for m in modules if m.startswith(PACKAGE)}


def _words(tree: ast.Module) -> set[str]:
    words = (node.value for node in ast.walk(tree) if isinstance(node, ast.Constant))
    return {word for word in words if isinstance(word, str)}
