"""Reads the case tables of the rules: a base boat, what is changed on it, what is expected.

A table `fuelsys/rules/cases/<rule id>.yaml` holds `base` (a boat in `bases/`), `subject` and
`cases`. A case has a `name` that is a sentence, a `date`, `given` (document path to new value; null
takes the fact away) and `expect`: the outcome of the rule for the subject, or `nothing` where it is
silent. `covers` says which of the required kinds it is (pass, fail, at_limit, past_limit,
not_applicable, cannot_tell); `never` names outcomes that the rule cannot give, and why. Further
keys of the finding may stand beside the outcome. `numbers` are the shop's own, by rule.
"""

from __future__ import annotations

import copy
import re
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import yaml

from fuelsys import rules
from fuelsys.document import read_object

if TYPE_CHECKING:
    from fuelsys.document.model import Document
    from fuelsys.evaluation import Evaluation

HERE = Path(__file__).parent
CASES = Path(rules.__file__).parent / "cases"
STEP = re.compile(r"([a-z_0-9-]+)|\[([^\]]+)\]|(.)")


@dataclass(frozen=True)
class Case:
    """One row of a table."""

    table: str
    base: str
    subject: str
    name: str
    on: date
    given: dict[str, Any]
    expect: dict[str, Any]
    row: str = ""
    boat: dict[str, Any] = field(default_factory=dict)
    numbers: dict[str, Any] = field(default_factory=dict)  # the shop's own, by rule

    @property
    def label(self) -> str:
        return f"{self.table}: {self.name}"

    @property
    def rule(self) -> str:
        """The rule that is asked: the table's own, unless the case looks at another."""
        return str(self.expect.get("rule", self.table))

    def document(self) -> dict[str, Any]:
        """The base boat with the given facts set."""
        made = copy.deepcopy(base_boat(self.base))
        for path, value in self.given.items():
            set_fact(made, path, value)
        return made

    def read(self) -> Document:
        """The boat as read, with the shop's own numbers."""
        own = {rule: Fraction(str(number)) for rule, number in self.numbers.items()}
        return replace(read_object(self.document()), numbers=own)

    def evaluation(self) -> Evaluation:
        from fuelsys.evaluation import evaluate  # tables are read without the rules, for mutants

        return evaluate(self.read(), on=self.on)


@cache
def base_boat(name: str) -> dict[str, Any]:
    """A base boat; aliases in its file are spelled out, so that each fact stands alone."""
    text = (HERE / "bases" / f"{name}.yaml").read_text(encoding="utf-8")
    boat: dict[str, Any] = copy.deepcopy(_unshared(yaml.safe_load(text)))
    return boat


def _unshared(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _unshared(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_unshared(item) for item in value]
    return value


def set_fact(document: dict[str, Any], path: str, value: Any) -> None:
    """Set the fact at a document path such as segments[FEED].hose.class; null takes it away.

    A list item whose id is not there yet is added at the end.
    """
    steps = [match[0] or match[1] for match in STEP.findall(path) if match[2] != "."]
    place: Any = document
    for step, following in zip(steps, [*steps[1:], None], strict=True):
        last = following is None
        if isinstance(place, list):
            place = _item(place, step, value if last else None)
            if last and isinstance(value, dict):
                place.update(value)
        elif last and value is None:
            place.pop(step, None)
        elif last:
            place[step] = copy.deepcopy(value)
        else:
            place = place.setdefault(step, {})


def _item(items: list[Any], step: str, value: Any) -> Any:
    if step.isdigit():
        return items[int(step)]
    for item in items:
        if item.get("id") == step:
            return item
    if value is None:
        raise KeyError(f"No item {step!r} to change.")
    items.append({"id": step})
    return items[-1]


@cache
def table(rule_id: str) -> dict[str, Any]:
    path = CASES / f"{rule_id}.yaml"
    loaded: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return loaded


@cache
def cases_of(rule_id: str) -> list[Case]:
    """The cases of one table."""
    loaded = table(rule_id)
    return [_case(rule_id, loaded, raw) for raw in loaded["cases"]]


def _case(rule_id: str, loaded: dict[str, Any], raw: dict[str, Any]) -> Case:
    expect = raw["expect"]
    return Case(
        table=rule_id,
        base=raw.get("base", loaded["base"]),
        subject=raw.get("subject", loaded["subject"]),
        name=raw["name"],
        on=raw["date"],
        given={**loaded.get("given", {}), **(raw.get("given") or {})},
        expect=expect if isinstance(expect, dict) else {"outcome": expect},
        row=raw.get("row", ""),
        numbers=raw.get("numbers") or {},
    )


def all_tables() -> list[str]:
    return sorted(path.stem for path in CASES.glob("*.yaml"))
