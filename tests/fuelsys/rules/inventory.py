"""What must be true of every rule, table and parameter; each fault is a sentence."""

from __future__ import annotations

import ast
import inspect
import re
import string
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from fuelsys.rules import base
from fuelsys.rules.base import Rule
from fuelsys.rules.parameters import Parameter, all_parameters
from fuelsys.units import UNITS

LONGEST_CHECK = 30
SHORTEST_WORDS = 80
# How a rule's words name who is bound.
BOUND = {
    "boat builder": "builder",
    "tank maker": "maker",
    "hose maker": "maker",
    "seller": "seller",
    "operator": "whoever runs",
    "vessel or engine maker": "maker",
    "everyone": "everyone",
    "voluntary": "binds nobody",
    "shop": "this shop",
}
QUANTITY = re.compile(r"\d\s?(?:in|ft|mm|psi|ohm|gal|g|floz|fl|cfm|min|%)\b")
KINDS = ("pass", "fail", "not_applicable", "cannot_tell")
LIMIT_KINDS = ("at_limit", "past_limit")
LAW_ID = re.compile(r"(cfr-\d+-\d+|ca-(sor|tp)-\d+|eu-\d+)(-[a-z0-9]+)*")
DATE_KINDS = ("before_date", "after_date")


def rule_faults(rule: Rule) -> list[str]:
    """What a rule's declaration lacks."""
    faults = []
    law = rule.regime != base.PRACTICE
    if law and not LAW_ID.fullmatch(rule.id):
        faults.append("a rule of law takes its id from its citation")
    if rule.id.startswith("cfr-") and (section := _section(rule.id)) not in rule.citation:
        faults.append(f"its id says section {section}, its citation {rule.citation!r}")
    if not law and not rule.id.startswith("practice-"):
        faults.append("a rule of practice has an id that starts with practice-")
    if rule.regime not in base.ALL_REGIMES:
        faults.append(f"regime {rule.regime!r} is none of the contract's")
    if rule.force not in base.FORCES:
        faults.append(f"force {rule.force!r} is none of the contract's")
    if rule.evidence not in base.EVIDENCE:
        faults.append(f"evidence {rule.evidence!r} is no mark")
    if not rule.title or not rule.citation:
        faults.append("it has no title or no citation")
    if law and (rule.in_force_from is None) == (not rule.undated):
        faults.append("it does not say from when it is in force, or why no day is known")
    if (lines := check_lines(rule)) > LONGEST_CHECK:
        faults.append(f"its check has {lines} lines, more than {LONGEST_CHECK}")
    return [f"{rule.id}: {fault}" for fault in faults]


def words_faults(rule: Rule) -> list[str]:
    """What a rule's own words lack: length, who is bound, figures from its parameters."""
    words = rule.words.msgid
    faults = []
    if len(words) < SHORTEST_WORDS or not words.endswith("."):
        faults.append("it has no words of its own")
    if BOUND[rule.force] not in words.lower():
        faults.append(f"its words do not name who is bound: {rule.force}")
    named = {name for _text, name, _spec, _kind in string.Formatter().parse(words) if name}
    held = {name.rpartition("/")[2] for name in rule.parameters}
    faults += [f"its words name {name}, no parameter of it" for name in sorted(named - held)]
    if rule.parameters and (typed := QUANTITY.search(words)):
        faults.append(f"its words give {typed[0]!r} beside its parameters")
    return [f"{rule.id}: {fault}" for fault in faults]


def _section(rule_id: str) -> str:
    part, section = rule_id.split("-")[2:4] if rule_id.count("-") >= 3 else (rule_id, "")
    return f"{part}.{section}"


def check_lines(rule: Rule) -> int:
    """Lines of a check from `def` on, its docstring left out."""
    function = ast.parse(textwrap.dedent(inspect.getsource(rule.check))).body[0]
    if not isinstance(function, ast.FunctionDef):
        raise TypeError(f"The check of {rule.id} is not a function.")
    lines = (function.end_lineno or 0) - function.lineno + 1
    first = function.body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
        lines -= (first.end_lineno or 0) - first.lineno + 1
    return lines


def parameter_faults(parameters: Mapping[str, Parameter], rules: Iterable[Rule]) -> list[str]:
    """Parameters that say too little, and names that no file holds."""
    faults = []
    for name, parameter in parameters.items():
        if parameter.unit not in {*UNITS, "count", "date"}:
            faults.append(f"{name}: unit {parameter.unit!r} is not known")
        if parameter.evidence not in base.EVIDENCE:
            faults.append(f"{name}: evidence {parameter.evidence!r} is no mark")
        if not parameter.description or not parameter.citation or not parameter.values:
            faults.append(f"{name}: description, citation or values are lacking")
    for rule in rules:
        for name in rule.parameters:
            if name not in parameters:
                faults.append(f"{rule.id}: no file holds its parameter {name}")
            elif rule.in_force_from and parameters[name].values[0][0] > rule.in_force_from:
                faults.append(f"{rule.id}: {name} begins after the rule does")
    return faults


def covered(table: Mapping[str, Any]) -> set[str]:
    """The kinds of case a table has: what `covers` says and what outcomes are expected."""
    kinds: set[str] = set()
    for case in table["cases"]:
        said = case.get("covers", [])
        kinds |= {said} if isinstance(said, str) else set(said)
        expect = case["expect"]
        if isinstance(expect, str):
            kinds.add(expect)
        elif not expect.get("rule", "").startswith("cfr-"):  # a case may look at another law
            kinds.add(expect.get("outcome", ""))
    return kinds


def case_faults(rule: Rule, table: Mapping[str, Any] | None) -> list[str]:
    """Cases that a rule's table lacks. `never` names an outcome the rule cannot give, and why."""
    if table is None:
        return [f"{rule.id}: no table of cases"]
    never = table.get("never", {})
    found = covered(table)
    faults = [
        f"{rule.id}: no case covers {wanted}"
        for wanted, *others in _wanted(rule)
        if not {wanted, *others} & {*found, *never} and wanted.partition(" ")[0] not in never
    ]
    faults += [
        f"{rule.id}: {kind} is said never to be, yet a case covers it"
        for kind in never
        if kind in found
    ]
    faults += [f"{rule.id}: {kind!r} names no parameter" for kind in _misnamed(rule, found, never)]
    faults += [f"{rule.id}: no case lies {side}" for side in _date_sides(rule, table)]
    names = [case["name"] for case in table["cases"]]
    faults += [f"{rule.id}: two cases are called {n!r}" for n in set(names) if names.count(n) > 1]
    faults += [f"{rule.id}: {n!r} is no sentence" for n in names if not n.endswith(".")]
    return faults


def _wanted(rule: Rule) -> Iterator[tuple[str, ...]]:
    """Each kind a table covers, with what says the same.

    A date asks for a case on each side, a number for one at the limit and one past it, each
    parameter by its own name. Where a rule has one such parameter the name may be left out.
    """
    yield from ((kind,) for kind in KINDS)
    parameters = [all_parameters()[name] for name in rule.parameters if name in all_parameters()]
    dates = [each for each in parameters if each.unit == "date"]
    numbers = [each for each in parameters if each.unit != "date"]
    for kinds, asked in ((LIMIT_KINDS, numbers), (DATE_KINDS, dates)):
        names = [parameter.name.rpartition("/")[2] for parameter in asked]
        for kind in kinds:
            alone = (kind,) if len(names) == 1 else ()
            yield from ((*alone, f"{kind} {name}") for name in names)


def _misnamed(rule: Rule, *said: Iterable[str]) -> list[str]:
    """What is said of a parameter that the rule does not have."""
    held = {name.rpartition("/")[2] for name in rule.parameters}
    named = (kind for kinds in said for kind in kinds if " " in kind)
    return sorted(kind for kind in named if kind.partition(" ")[2] not in held)


def _date_sides(rule: Rule, table: Mapping[str, Any]) -> list[str]:
    """The sides of a rule's first day on which no case lies."""
    first = rule.in_force_from
    if first is None:
        return []
    days = {case["date"] for case in table["cases"]}
    eve = any(day < first for day in days)
    return [
        *([] if eve else [f"before {first}"]),
        *([] if first in days else [f"on {first}, the first day of the rule"]),
    ]


def change_faults(changes: str, rules: Iterable[str], sections: Iterable[str]) -> list[str]:
    """Rules and parameter files that the list of changes does not name."""
    lacking = [rule for rule in rules if f"`{rule}`" not in changes]
    lacking += [section for section in sections if f"`{section}`" not in changes]
    entries = re.split(r"^## ", changes, flags=re.MULTILINE)[1:]
    heads = ("**Kind**", "**Dates**", "**Affects**", "**Why**")
    for entry in entries:
        number = entry.partition("\n")[0]
        lacking += [f"version {number}: {head}" for head in heads if head not in entry]
    return lacking
