"""The figures that a test holds something to: those of its assertions, cases and tables."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from importlib.util import find_spec
from pathlib import Path


def asserted(module: str, test: str) -> frozenset[float]:
    """Sizes, without sign, of the numbers in what a test asserts, its cases and their tables.

    Numbers in comments, docstrings and in what is merely computed from do not count.
    """
    top = _top_level(module)
    function = top.get(test)
    if not isinstance(function, ast.FunctionDef):
        return frozenset()
    asserts = [node for node in ast.walk(function) if isinstance(node, ast.Assert)]
    if not asserts:
        return frozenset()
    cases = [node for one in function.decorator_list for node in ast.walk(one)]
    tables = [
        node
        for name in _names(function)
        if isinstance(top.get(name), ast.Assign)
        for node in ast.walk(top[name])
    ]
    inside = [node for one in asserts for node in ast.walk(one)]
    return frozenset(size for node in (*inside, *cases, *tables) for size in _sizes(node))


@cache
def _top_level(module: str) -> dict[str, ast.stmt]:
    spec = find_spec(module)
    if spec is None or spec.origin is None:
        return {}
    found: dict[str, ast.stmt] = {}
    for node in ast.parse(Path(spec.origin).read_text()).body:
        if isinstance(node, ast.FunctionDef):
            found[node.name] = node
        if isinstance(node, ast.Assign):
            for name in _targets(node):
                found[name] = node
    return found


def _targets(node: ast.Assign) -> Iterator[str]:
    for target in node.targets:
        yield from (one.id for one in ast.walk(target) if isinstance(one, ast.Name))


def _names(function: ast.FunctionDef) -> set[str]:
    return {node.id for node in ast.walk(function) if isinstance(node, ast.Name)}


def _sizes(node: ast.AST) -> Iterator[float]:
    if not isinstance(node, ast.Constant) or isinstance(node.value, bool):
        return
    if isinstance(node.value, int | float):
        yield abs(float(node.value))
    if isinstance(node.value, str):
        try:
            yield abs(float(Fraction(node.value)))
        except (ValueError, ZeroDivisionError):
            return
