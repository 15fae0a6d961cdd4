"""The mutants of a module: cosmic-ray's operators, less those that ask nothing of a test."""

from __future__ import annotations

import ast
import pickle
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from cosmic_ray.ast import Visitor, get_ast
from cosmic_ray.mutating import MutationVisitor
from cosmic_ray.plugins import get_operator, operator_names

RULES = Path(__file__).resolve().parents[2] / "fuelsys" / "rules"
# Left out: swaps of `is` and `==`, which the same words and None answer alike, and the operators
# of arithmetic beyond the four that turn a number round.
WANTED_BINARY = ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul")
ALIKE = ("Is_Eq", "Eq_Is", "IsNot_NotEq", "NotEq_IsNot")
# Parts of a declaration that are only read by people.
WORDS = ("title", "words")
# Orderings of what is only ever equal or not: strings, None.
UNORDERED = ("Is_", "IsNot_")
PLAIN = (
    "AddNot",
    "ExceptionReplacer",
    "NumberReplacer",
    "RemoveDecorator",
    "ReplaceAndWithOr",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "ReplaceFalseWithTrue",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceUnaryOperator_Delete_Not",
    "ZeroIterationForLoop",
)


@dataclass(frozen=True)
class Mutant:
    """One change to one module."""

    module: str
    operator: str
    occurrence: int
    line: int
    code: str
    was: str = ""  # the line, and what it becomes
    now: str = ""


def operators() -> list[str]:
    """The operators asked, by name."""
    return [name for name in sorted(operator_names()) if _wanted(name.partition("/")[2])]


def _wanted(name: str) -> bool:
    kind, _, change = name.partition("_")
    if kind == "ReplaceBinaryOperator":
        return change in WANTED_BINARY
    if kind == "ReplaceComparisonOperator":
        return change in ("Is_IsNot", "IsNot_Is") or not (
            change in ALIKE or change.startswith(UNORDERED) or change.endswith(("_Is", "_IsNot"))
        )
    return name in PLAIN


def mutants_of(module: str, code: str) -> Iterator[Mutant]:
    """Every mutant that differs in what decides: annotations, docstrings and words do not."""
    plain, tree = _read(code), get_ast(code)
    again = pickle.dumps(tree, pickle.HIGHEST_PROTOCOL)  # three times as quick as to parse anew
    for name in operators():
        for occurrence in range(_places(tree, get_operator(name)())):
            visitor = MutationVisitor(occurrence, get_operator(name)())
            changed = visitor.walk(pickle.loads(again)).get_code()
            runs, orderings = _read(changed)
            if runs not in (plain[0], "") and orderings == plain[1]:
                line, was, now = _line(code, changed)
                yield Mutant(module, name, occurrence, line, changed, was, now)


class _Places(Visitor):  # type: ignore[misc]  # cosmic-ray publishes no types
    """Counts where an operator could change something, and changes nothing."""

    def __init__(self, operator: Any) -> None:
        self.operator, self.count = operator, 0

    def visit(self, node: Any) -> Any:
        self.count += len(list(self.operator.mutation_positions(node)))
        return node


def _places(tree: Any, operator: Any) -> int:
    visitor = _Places(operator)
    visitor.walk(tree)
    return visitor.count


def _line(code: str, changed: str) -> tuple[int, str, str]:
    """The first line that differs, as it was and as it is."""
    lines = code.splitlines()
    pairs = enumerate(zip(lines, [*changed.splitlines(), ""], strict=False))
    at, now = next((at, now) for at, (was, now) in pairs if was != now)
    at = next(n for n, line in enumerate(lines[at:], at) if line.strip())
    return at + 1, lines[at].strip(), now.strip()


def _read(code: str) -> tuple[str, int]:
    """What of a module decides, and how often a word is put before or after another."""
    try:
        tree = ast.parse(code)
    except SyntaxError:  # an operator met a star or a slash of a signature
        return "", 0
    return _runs(tree), _orderings_of_words(tree)


def _runs(tree: ast.Module) -> str:
    """What of a module decides: without annotations, words, and decorators that only keep."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            node.returns = None
            node.decorator_list = [d for d in node.decorator_list if not _keeps(d)]
            _plain(node.args)
        if isinstance(node, ast.Call) and _declares(node):
            node.keywords = [k for k in node.keywords if k.arg not in WORDS]
        if isinstance(node, ast.If) and _for_types(node.test):
            node.test, node.body, node.orelse = ast.Constant(value=None), [], []
        if isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(value=None)
        if isinstance(node, ast.ClassDef):
            node.decorator_list = [_bare(decorator) for decorator in node.decorator_list]
    return ast.dump(tree)


def _orderings_of_words(tree: ast.Module) -> int:
    """How often a word is put before or after another: a mutant that does so asks nothing."""
    compared = (node for node in ast.walk(tree) if isinstance(node, ast.Compare))
    return sum(
        isinstance(op, ast.Lt | ast.LtE | ast.Gt | ast.GtE) and _is_word(right)
        for node in compared
        for op, right in zip(node.ops, node.comparators, strict=True)
    )


def _is_word(node: ast.expr) -> bool:
    """A word, or a name that stands for one: DIESEL, base.PRACTICE."""
    if isinstance(node, ast.Attribute):
        return node.attr in _words()
    if isinstance(node, ast.Name):
        return node.id in _words()
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


@cache
def _words() -> frozenset[str]:
    """The names that the modules of the rules give to words."""
    trees = (ast.parse(path.read_text(encoding="utf-8")) for path in RULES.glob("*.py"))
    given = (node for tree in trees for node in tree.body if isinstance(node, ast.Assign))
    return frozenset(
        target.id
        for node in given
        for target in node.targets
        if isinstance(target, ast.Name)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    )


def _plain(taken: ast.arguments) -> None:
    """Arguments without annotations, nor the star or slash that asks them by name: no product."""
    taken.args = [*taken.posonlyargs, *taken.args, *taken.kwonlyargs]
    taken.defaults = [*taken.defaults, *(default for default in taken.kw_defaults if default)]
    taken.posonlyargs, taken.kwonlyargs, taken.kw_defaults = [], [], []
    for argument in taken.args:
        argument.annotation = None


def _for_types(test: ast.expr) -> bool:
    """Whether it is what only a checker of types reads, with or without a `not`."""
    asked = test.operand if isinstance(test, ast.UnaryOp) else test
    return isinstance(asked, ast.Name) and asked.id == "TYPE_CHECKING"


def _declares(call: ast.Call) -> bool:
    return isinstance(call.func, ast.Name) and call.func.id == "rule"


def _bare(decorator: ast.expr) -> ast.expr:
    """A class's decorator without its options, `frozen` and `slots`, which only guard."""
    return decorator.func if isinstance(decorator, ast.Call) else decorator


def _keeps(decorator: ast.expr) -> bool:
    """A cache only remembers; without it the answers are the same."""
    function = decorator.func if isinstance(decorator, ast.Call) else decorator
    return isinstance(function, ast.Name) and function.id in ("cache", "lru_cache", "wraps")
