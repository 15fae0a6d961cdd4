"""The cases of a rule, as its table beside the rules holds them, for whoever reads the rule."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import resources
from typing import Any, Final

import yaml
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

NOTHING: Final = "nothing"
# As the outcomes stand everywhere, worst last; then where the rule is silent.
ORDER: Final = ("pass", "not_applicable", "cannot_tell", "review", "fail", NOTHING)
NOTHING_WORDS: Final = gettext_lazy("Says nothing")
NEVER_WORDS: Final[dict[str, Promise]] = {
    "pass": gettext_lazy("Never passes"),
    "fail": gettext_lazy("Never fails"),
    "review": gettext_lazy("Never a review"),
    "cannot_tell": gettext_lazy("Can always tell"),
    "not_applicable": gettext_lazy("Always applies"),
}
# The same reader in C where the library has it: it is ten times as quick.
LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class RuleCase:
    """One case: what is found on a boat, on which day it is asked, and how the rule is read."""

    name: str
    on: date
    as_practice: bool


@dataclass(frozen=True)
class CaseGroup:
    """The cases of one rule that come out alike."""

    outcome: str
    cases: tuple[RuleCase, ...]

    @property
    def words(self) -> str | Promise:
        """The word of a group that has no mark of an outcome."""
        return NOTHING_WORDS if self.outcome == NOTHING else ""


@dataclass(frozen=True)
class Never:
    """An outcome that a rule cannot give, and why."""

    outcome: str
    why: str

    @property
    def words(self) -> str | Promise:
        return NEVER_WORDS[self.outcome]


def case_groups(rule_id: str) -> tuple[CaseGroup, ...]:
    """The cases of a rule by outcome; empty where it has no table."""
    found: dict[str, list[RuleCase]] = {}
    for raw in _table(rule_id).get("cases", ()):
        expect = raw["expect"]
        said = {"outcome": expect} if isinstance(expect, str) else expect
        asked = str(said.get("rule", rule_id))  # law may be read as practice, under its own name
        practice = asked != rule_id and asked.startswith("practice-")
        case = RuleCase(raw["name"], raw["date"], practice)
        found.setdefault(said["outcome"], []).append(case)
    return tuple(CaseGroup(outcome, tuple(found[outcome])) for outcome in ORDER if outcome in found)


def usual_day(rule_id: str) -> date | None:
    """The day on which most cases of a rule are asked; a case says its own where it differs."""
    days = Counter(raw["date"] for raw in _table(rule_id).get("cases", ()))
    return days.most_common(1)[0][0] if days else None


def never_of(rule_id: str) -> tuple[Never, ...]:
    """The outcomes that the rule cannot give."""
    said = _table(rule_id).get("never", {})
    return tuple(Never(outcome, why) for outcome, why in said.items() if outcome in NEVER_WORDS)


@cache
def case_names(rule_id: str) -> tuple[str, ...]:
    """The sentences of all cases of a rule, to be searched."""
    return tuple(raw["name"] for raw in _table(rule_id).get("cases", ()))


def _table(rule_id: str) -> Mapping[str, Any]:
    return _tables().get(rule_id, {})


@cache
def _tables() -> dict[str, Mapping[str, Any]]:
    """Every table by the id of its rule; the files come with the package and are read once."""
    folder = resources.files("fuelsys.rules") / "cases"
    return {
        path.name.removesuffix(".yaml"): yaml.load(path.read_text("utf-8"), Loader=LOADER)  # noqa: S506  (a safe loader)
        for path in folder.iterdir()
        if path.name.endswith(".yaml")
    }
