"""Reads, before the mutants of a module are judged, what cannot know that module.

A child then reads the mutant and what is made of it, and nothing else. A module that imports the
mutated one, by whatever way round, is left to the child.
"""

from __future__ import annotations

import ast
import importlib
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("fuelsys/rules", "fuelsys/evaluation")
PARAMETERS = "fuelsys.rules.parameters"
Imports = Mapping[str, frozenset[str]]


def preload(mutated: str) -> None:
    """Import every module of rules and evaluation that does not rest on the mutated one."""
    imports = _imports()
    left_out = dependents(mutated, imports)
    for name in sorted(set(imports) - left_out):
        importlib.import_module(name)
    if PARAMETERS not in left_out:
        importlib.import_module(PARAMETERS).all_parameters()


def dependents(mutated: str, imports: Imports) -> set[str]:
    """The mutated module and every one that imports it, itself or through others."""
    found = {mutated}
    while more := {name for name, used in imports.items() if used & found} - found:
        found |= more
    return found


def _imports() -> Imports:
    paths = (path for package in PACKAGES for path in (ROOT / package).glob("*.py"))
    return {_name(path): _imported(path) for path in paths}


def _name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imported(path: Path) -> frozenset[str]:
    """What a file imports, with each name it takes from a package and the packages above."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    # Reading a module reads its package first, and with it what the package imports.
    found |= {name.rpartition(".")[0] for name in (*found, _name(path)) if "." in name}
    return frozenset(found)
