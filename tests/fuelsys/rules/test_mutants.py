"""The mutants that `make mutate` judges: what is left out is only what does not run."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fuelsys.rules.tables import Case, _case
from tests.mutation.equivalents import Equivalent, listed, stale
from tests.mutation.judge import BY_CASE, BY_IMPORT, BY_TEST, BY_TIME, SURVIVED, Outcome
from tests.mutation.kept import Kept, Marks
from tests.mutation.mutants import Mutant, mutants_of
from tests.mutation.preload import _imports, dependents
from tests.mutation.report import Judged, said, text

ROOT = Path(__file__).resolve().parents[3]

CODE = """
from dataclasses import dataclass

@dataclass(frozen=True, slots=True)
class Part:
    name: str | None = None

if TYPE_CHECKING:
    from b import B

def least(a: int | None, b: int) -> bool:
    if a is None:
        return False
    return a >= b and b > 3

def steel(word: str) -> bool:
    return word == "steel"

def diesel(word: str) -> bool:
    return word == DIESEL
"""


def test_a_limit_is_mutated_on_both_sides_and_guards_are_not() -> None:
    found = {(m.operator.partition("/")[2], m.line) for m in mutants_of("m", CODE)}
    assert ("ReplaceComparisonOperator_GtE_Gt", 14) in found
    assert ("ReplaceComparisonOperator_GtE_LtE", 14) in found
    assert ("ReplaceComparisonOperator_Is_IsNot", 12) in found
    assert ("ReplaceAndWithOr", 14) in found
    assert ("ReplaceFalseWithTrue", 13) in found
    assert ("NumberReplacer", 14) in found
    assert ("RemoveDecorator", 4) in found
    assert not any(line in (6, 8, 11) for _, line in found)
    assert not any(name == "ReplaceTrueWithFalse" for name, _ in found)


def test_words_are_told_apart_and_not_ordered() -> None:
    found = [(m.operator.partition("/")[2], m.line) for m in mutants_of("m", CODE) if m.line > 15]
    assert found == [("ReplaceComparisonOperator_Eq_NotEq", line) for line in (17, 20)]


def test_every_mutant_is_another_module() -> None:
    codes = [m.code for m in mutants_of("m", CODE)]
    assert CODE not in codes


DECLARED = """
@rule(id="r", title="Gap " + "of a hose", words=Text("At most {gap}" + " in."), gate=False)
def gap(part: Part, *, limit: int = 3) -> bool:
    return part.gap <= limit
"""


def test_words_that_people_read_are_left_out_and_the_rest_of_a_declaration_is_not() -> None:
    found = {m.operator.partition("/")[2] for m in mutants_of("m", DECLARED)}
    assert {"ReplaceFalseWithTrue", "RemoveDecorator", "NumberReplacer"} <= found
    assert not any(name.startswith("ReplaceBinaryOperator") for name in found)


# Judged in a process of its own, for here the rules stand already: what is planted, and how found.
JUDGED = """
from pathlib import Path
from tests.mutation import judge as judging
from tests.mutation.judge import judge
from tests.mutation.prepared import prepared

judging.LONGEST_S = 20
cases = prepared(["cfr-33-177-07-c"])
code = Path("fuelsys/rules/unsafe.py").read_text()
unread = code + "def _planted(count: int) -> bool:\\n    return count > 4\\n"
wrong = code.replace("failed(", "passed(")
assert wrong != code
for changed in (code, unread, wrong, "raise ValueError"):
    print(judge("fuelsys.rules.unsafe", changed, cases, tests=()).how)
tests = ["tests/fuelsys/rules/test_policy.py"]
print(judge("fuelsys.rules.unsafe", code, [], tests).how)
found = judge("fuelsys.rules.engine", ENGINE.replace('"off"', '"on"'), [], tests)
assert found.what.startswith(tests[0] + "::test_"), found
print(found.how)
print(judge("fuelsys.rules.unsafe", wrong, cases, (), found).how)
judging.LONGEST_S = 1
print(judge("fuelsys.rules.unsafe", code + "while True:\\n    pass\\n", cases).how)
"""


def test_a_planted_survivor_survives_and_a_planted_fault_is_found() -> None:
    engine = (ROOT / "fuelsys/rules/engine.py").read_text(encoding="utf-8")
    run = subprocess.run(
        [sys.executable, "-c", f"ENGINE = {engine!r}\n{JUDGED}"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    expected = [SURVIVED, SURVIVED, BY_CASE, BY_IMPORT, SURVIVED, BY_TEST, BY_CASE, BY_TIME]
    assert run.stdout.split() == expected


ONE = Mutant("fuelsys.rules.tanks", "core/NumberReplacer", 0, 7, "", "return n > 3", "return n > 4")
ENTRY = Equivalent("tanks", ONE.was, ONE.now, "No number lies between.")


def judged(outcome: str, entry: Equivalent | None = None) -> Judged:
    made = Judged()
    made.add(replace(ONE, occurrence=1), BY_CASE, None)
    made.add(ONE, outcome, entry)
    return made


def test_a_survivor_stands_in_the_report_with_its_line() -> None:
    told = text(["head"], {"tanks": judged(SURVIVED)}, "planted here")
    assert "found: 1 of 2 (50.0 %): 1 by a case, 0 by another test" in told
    assert "reported by this run: planted here" in told
    assert "  tanks, line 7, NumberReplacer: return n > 3 -> return n > 4\n" in told


def test_an_equivalent_mutant_is_counted_apart_and_never_as_found() -> None:
    told = text(["head"], {"tanks": judged(SURVIVED, ENTRY)}, "")
    assert "found: 1 of 1 (100.0 %)" in told
    assert "equivalent: 1; found of all 2: 50.0 %" in told
    assert "    No number lies between.\n" in told


def test_a_list_of_equivalents_that_is_wrong_is_a_fault() -> None:
    found = judged(BY_CASE, ENTRY)
    assert found.outcomes[BY_CASE] == 2
    assert found.faults == [f"{said(ONE)}: listed as equivalent, yet found"]
    assert stale([ENTRY], ["tanks"], {ENTRY}) == stale([ENTRY], ["fill"], set()) == []
    assert len(stale([ENTRY], ["tanks"], set())) == 1


def test_every_equivalent_of_the_list_is_one_line_of_its_module_and_says_why() -> None:
    for entry in listed():
        lines = (ROOT / f"fuelsys/rules/{entry.module}.py").read_text(encoding="utf-8").splitlines()
        assert [line.strip() for line in lines].count(entry.was) == 1, entry
        assert entry.why.endswith("."), entry


def case(date: str = "2026-11-25") -> Case:
    raw = {"name": "Sheet steel.", "date": date, "expect": "fail"}
    return _case("tanks", {"base": "bare", "subject": "T1"}, raw)


BY = Outcome(BY_CASE, case().label)


def test_a_run_goes_on_where_it_was_broken_off(tmp_path: Path) -> None:
    path, marks = tmp_path / "kept.jsonl", Marks([case()])
    Kept(path, marks).put(ONE, BY)
    with path.open("a", encoding="utf-8") as file:
        file.write('["one", "fuelsys.rules.tanks core/Num')  # broken off while it wrote
    again = Kept(path, marks)
    assert again.get(ONE) == again.hint(ONE) == BY
    assert again.get(replace(ONE, now="return n > 2")) is None
    assert again.get(replace(ONE, occurrence=1)) is None


def test_what_a_case_found_is_judged_again_where_the_case_has_changed(tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    Kept(path, Marks([case()])).put(ONE, BY)
    for cases in ([case("2026-11-24")], []):
        changed = Kept(path, Marks(cases))
        assert changed.get(ONE) is None
        assert changed.hint(ONE) == BY


@pytest.mark.parametrize(
    ("changed", "stands"),
    [
        ("fuelsys/rules/tanks.py", []),
        ("fuelsys/rules/parameters/a.yaml", []),
        ("tests/fuelsys/rules/bases/bare.yaml", []),
        (
            "fuelsys/rules/cases/tanks.yaml",
            [BY_CASE, BY_TEST, BY_IMPORT],
        ),  # its own case is as it was
        ("tests/fuelsys/test_evaluation.py", [BY_CASE, BY_IMPORT]),
        ("fuelsys/rules/CHANGES.md", [BY_CASE, BY_TEST, BY_IMPORT, SURVIVED]),
    ],
)
def test_a_change_of_a_file_makes_void_what_it_may_touch(
    changed: str, stands: list[str], tmp_path: Path
) -> None:
    file = tmp_path / changed
    file.parent.mkdir(parents=True)
    file.write_text("1")
    first = Marks([case()], tmp_path)
    file.write_text("2")
    then = Marks([case()], tmp_path)
    inventory = Outcome(BY_TEST, "tests/fuelsys/rules/test_inventory.py::test_x")
    assert (first.of(inventory) == then.of(inventory)) is (SURVIVED in stands)
    outcomes = [BY, Outcome(BY_TEST, "t"), Outcome(BY_IMPORT), Outcome(SURVIVED)]
    assert [made.how for made in outcomes if first.of(made) == then.of(made)] == stands


def test_what_rests_on_the_mutated_module_is_left_to_the_child() -> None:
    imports = {"a": frozenset({"b"}), "b": frozenset({"c"}), "c": frozenset(), "d": frozenset("e")}
    assert dependents("c", {name: frozenset(used) for name, used in imports.items()}) == set("abc")
    assert dependents("fuelsys.rules.base", _imports()) >= {
        "fuelsys.rules.engine",
        "fuelsys.rules.tanks",
        "fuelsys.evaluation",
        "fuelsys.evaluation.judge",
    }
    leaf = dependents("fuelsys.rules.unsafe", _imports())
    assert leaf == {"fuelsys.rules.unsafe"}
