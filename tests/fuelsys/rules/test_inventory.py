"""The rule set itself: every rule cited, dated, short, and covered by cases."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from fuelsys.rules import base
from fuelsys.rules.base import SUBPART_J, DuplicateRuleError, Result, Rule, passed, rule
from fuelsys.rules.context import Context
from fuelsys.rules.engine import all_rules, practice_id, practice_ids
from fuelsys.rules.parameters import Parameter, all_parameters
from fuelsys.rules.version import RULESET_VERSION
from fuelsys.text import Text
from tests.fuelsys.rules import inventory
from tests.fuelsys.rules.tables import all_tables, cases_of, table

RULES = {rule.id: rule for rule in all_rules()}
# Parameters of the figures, which no rule declares.
FIGURE_PARAMETERS = "33-cfr/183-542/"


@pytest.mark.parametrize("rule_id", RULES)
def test_rule_is_declared_in_full(rule_id: str) -> None:
    assert inventory.rule_faults(RULES[rule_id]) == []


@pytest.mark.parametrize("rule_id", RULES)
def test_rule_says_in_words_what_it_asks(rule_id: str) -> None:
    assert inventory.words_faults(RULES[rule_id]) == []


def test_no_two_rules_say_the_same() -> None:
    words = [found.words.msgid for found in RULES.values()]
    assert len(set(words)) == len(words)


@pytest.mark.parametrize("rule_id", RULES)
def test_rule_has_the_cases_it_needs(rule_id: str) -> None:
    found = table(rule_id) if rule_id in all_tables() else None
    assert inventory.case_faults(RULES[rule_id], found) == []


def test_no_table_without_a_rule() -> None:
    assert set(all_tables()) - set(RULES) == set()


def test_parameters_are_complete() -> None:
    assert inventory.parameter_faults(all_parameters(), all_rules()) == []


def test_every_parameter_is_used() -> None:
    used = {name for found in all_rules() for name in found.parameters}
    used |= {"33-cfr/183-501/first_published"}
    left = {n for n in all_parameters() if n not in used and not n.startswith(FIGURE_PARAMETERS)}
    assert left == set()


def test_practice_ids_are_unique_and_settable() -> None:
    ids = [practice_id(r) for r in all_rules() if r.regime in (SUBPART_J, "practice")]
    assert len(ids) == len(set(ids))
    assert "practice-five-ounce" in practice_ids()
    assert not any(name.startswith("cfr-") for name in practice_ids())


def test_one_setting_alone_is_advice() -> None:
    assert [practice_id(r) for r in all_rules() if r.setting != "count"] == ["practice-five-ounce"]


def check(_part: object, _context: Context) -> Result:
    return passed(Text("Nothing to see."))


GOOD = Rule(
    id="cfr-33-183-999",
    title="A planted rule",
    regime=SUBPART_J,
    applies_to=("segment",),
    citation="33 CFR 183.999",
    force="boat builder",
    evidence="V",
    check=check,
    in_force_from=date(1977, 1, 31),
)
WORDS = (
    "The builder does what is planted here, on every boat that has it. Boats without are left out."
)
DAYS = [date(1977, 1, 30), date(1977, 1, 31), date(2026, 11, 25), date(2026, 11, 25)]
FULL = [
    {"name": f"A {kind}.", "expect": kind, "date": day}
    for kind, day in zip(inventory.KINDS, DAYS, strict=True)
]


def test_twin_a_rule_in_order_has_no_fault() -> None:
    assert inventory.rule_faults(GOOD) == []
    assert inventory.words_faults(replace(GOOD, words=Text(WORDS))) == []
    assert inventory.case_faults(GOOD, {"cases": FULL}) == []


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"id": "my-rule"}, "takes its id from its citation"),
        ({"citation": "33 CFR 183.558"}, "its id says section 183.999"),
        ({"regime": "boats"}, "regime"),
        ({"force": "nobody"}, "force"),
        ({"evidence": "M"}, "evidence"),
        ({"title": ""}, "no title"),
        ({"in_force_from": None}, "from when"),
        ({"undated": "no day is known"}, "from when"),
    ],
)
def test_twin_a_planted_fault_is_found(change: dict[str, Any], fault: str) -> None:
    assert any(fault in found for found in inventory.rule_faults(replace(GOOD, **change)))


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("", "no words of its own"),
        ("A bead holds.", "no words of its own"),
        (
            "A fitting has a bead. What stands on its own is left out, and so is metal line.",
            "bound",
        ),
        (f"{WORDS} At least {{depth}} deep.", "no parameter of it"),
        (f"{WORDS} At least 1/2 in wide.", "beside its parameters"),
    ],
)
def test_twin_words_that_lack_something_are_found(words: str, fault: str) -> None:
    planted = replace(GOOD, words=Text(words), parameters=("33-cfr/183-530/groove_depth_min",))
    assert any(fault in found for found in inventory.words_faults(planted))


def test_twin_a_missing_case_is_found() -> None:
    assert inventory.case_faults(GOOD, None) == ["cfr-33-183-999: no table of cases"]
    measured = replace(GOOD, parameters=("33-cfr/183-530/groove_depth_min",))
    found = inventory.case_faults(measured, {"cases": FULL[2:]})
    kinds = [fault.rsplit(" ", 1)[1] for fault in found[:4]]
    assert kinds == ["pass", "fail", "at_limit", "past_limit"]
    assert [fault.partition(": ")[2] for fault in found[4:]] == [
        "no case lies before 1977-01-31",
        "no case lies on 1977-01-31, the first day of the rule",
    ]


def test_twin_a_date_without_a_case_on_each_side_is_found() -> None:
    dated = replace(GOOD, parameters=("33-cfr/175-201/built_from",))
    found = inventory.case_faults(dated, {"cases": FULL})
    assert [fault.rsplit(" ", 1)[1] for fault in found] == ["before_date", "after_date"]


TWO = ("46-cfr/25-35/installed_from", "46-cfr/25-35/no_exception_from")
COUNTS = ("33-cfr/183-564/clamp_count", "46-cfr/25-40/few_passengers")


def faults_of(parameters: tuple[str, ...], *covers: str, **never: str) -> list[str]:
    cases = [*FULL, {**FULL[-1], "name": "A case.", "covers": list(covers)}]
    table = {"cases": cases, "never": never}
    found = inventory.case_faults(replace(GOOD, parameters=parameters), table)
    return [fault.partition("covers ")[2] or fault.partition(": ")[2] for fault in found]


def test_twin_a_case_for_one_of_two_dates_does_not_do_for_the_other() -> None:
    sides = ("before_date installed_from", "after_date installed_from")
    assert faults_of(TWO, "before_date", "after_date", *sides) == [
        "before_date no_exception_from",
        "after_date no_exception_from",
    ]
    assert faults_of(TWO[:1], "before_date", "after_date") == []
    assert faults_of(TWO[:1], *sides) == []


def test_twin_a_number_that_is_counted_is_a_limit_as_well() -> None:
    assert faults_of(COUNTS[:1]) == ["at_limit", "past_limit"]
    assert faults_of(COUNTS, "at_limit clamp_count", "past_limit clamp_count") == [
        "at_limit few_passengers",
        "past_limit few_passengers",
    ]
    told = {"past_limit few_passengers": "a reason", "at_limit few_passengers": "a reason"}
    assert faults_of(COUNTS, "at_limit clamp_count", "past_limit clamp_count", **told) == []


def test_twin_a_case_for_a_parameter_of_another_rule_is_found() -> None:
    found = faults_of(COUNTS[:1], "at_limit", "past_limit", "at_limit sun_years")
    assert found == ["'at_limit sun_years' names no parameter"]


def test_there_are_cases_enough() -> None:
    assert sum(len(cases_of(name)) for name in all_tables()) >= 400


def test_twin_a_bad_parameter_is_found() -> None:
    bad = Parameter("x/y/z", "", "furlong", "", "M", ((date(2000, 1, 1), Fraction(1)),))
    planted = replace(GOOD, parameters=("x/y/z", "x/y/gone"))
    found = inventory.parameter_faults({"x/y/z": bad}, [planted])
    assert len(found) == 5


def test_an_id_is_taken_once() -> None:
    taken = all_rules()[0]
    with pytest.raises(DuplicateRuleError, match=taken.id):
        rule(id=taken.id, applies_to="segment", title="Again", regime=SUBPART_J)(check)


# Rows of the decision tables: D01-D54 which hose and label, X01-X24 connection checks.
ROWS = {f"D{number:02}" for number in range(1, 55)}
ROWS |= {f"X{number:02}" for number in range(1, 25)}


def test_every_row_of_the_decision_tables_has_a_case() -> None:
    found = {case.row for name in all_tables() for case in cases_of(name)}
    assert ROWS - found == set()
    assert found - ROWS - {""} == set()


CHANGES = (Path(base.__file__).parent / "CHANGES.md").read_text(encoding="utf-8")
SECTIONS = {name.rpartition("/")[0] for name in all_parameters()}


def test_every_rule_and_parameter_file_stands_in_the_changes() -> None:
    assert inventory.change_faults(CHANGES, RULES, SECTIONS) == []
    assert f"## {RULESET_VERSION}\n" in CHANGES


def test_twin_what_the_changes_leave_out_is_found() -> None:
    planted = CHANGES.replace("`cfr-33-183-530`", "").replace("`33-cfr/183-530`", "")
    found = inventory.change_faults(planted, RULES, SECTIONS)
    assert found == ["cfr-33-183-530", "33-cfr/183-530"]
    assert inventory.change_faults("## 9\n\n**Kind**, **Dates**, **Why**", [], []) == [
        "version 9: **Affects**"
    ]
