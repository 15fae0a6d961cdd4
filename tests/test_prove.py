"""The table of the proofs: silent proofs, failed ones, and those without a planted fault."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests import prove
from tests.shop.trust import expected, report

PROOF = {"id": "R99", "db": "sqlite", "half": "sqlite", "test": "a.py::test_proof", "n": 5}
TWIN = {"id": "R99", "planted": "a fault", "found": True, "db": "sqlite", "half": "sqlite"}
NAMES = ("test_proof[a b]", "test_twin", "test_other")
OWED = {"id": "owed", "half": "sqlite", "db": "sqlite", "owed": ["a.py::test_proof"]}


def rows(*more: dict[str, Any]) -> list[dict[str, Any]]:
    return [{**row, "test": row.get("test", "a.py::test_twin")} for row in more]


def test_a_proof_beside_its_twin_is_in_order() -> None:
    said = rows(PROOF, TWIN, OWED)
    assert prove.faults(said) == []
    [_head, line] = prove.table(said)
    assert line.endswith("n 5; twin a fault: found")
    assert prove.shown(said) == 0


def test_a_twin_without_a_database_stands_for_both_halves() -> None:
    other = {**PROOF, "half": "postgresql", "db": "postgresql"}
    assert prove.faults(rows(other, {**TWIN, "db": "none"})) == []
    assert prove.faults(rows(other, TWIN)) == [
        "twin missing: R99 on postgresql, a.py::test_proof",
    ]


def test_a_proof_without_a_twin_is_told() -> None:
    said = rows(PROOF)
    assert prove.faults(said) == ["twin missing: R99 on sqlite, a.py::test_proof"]
    assert prove.table(said)[1].endswith("twin missing")
    assert prove.shown(said) == 1


def test_a_twin_that_found_nothing_is_told() -> None:
    said = rows(PROOF, {**TWIN, "found": False})
    assert prove.faults(said) == ["not found: R99 on sqlite, a fault"]
    assert "a fault: NOT FOUND" in prove.table(said)[1]


def test_a_proof_that_failed_is_told() -> None:
    said = rows({**PROOF, "failed": "AssertionError"}, TWIN)
    assert prove.faults(said) == ["failed: R99 on sqlite, AssertionError"]
    assert "FAILED AssertionError" in prove.table(said)[1]


@pytest.mark.parametrize(
    ("counts", "told"),
    [
        ({"faults": 3}, ["3 faults counted: R99 on sqlite"]),
        ({"n": 0}, ["nothing tried: R99 on sqlite"]),
        (
            {"faults": 3, "n": 0},
            ["3 faults counted: R99 on sqlite", "nothing tried: R99 on sqlite"],
        ),
    ],
)
def test_what_a_proof_counted_is_told(counts: dict[str, int], told: list[str]) -> None:
    """Whatever its test let pass, and although its planted fault was found."""
    said = rows({**PROOF, **counts}, TWIN)
    assert prove.faults(said) == told
    assert prove.shown(said) == 1


def test_faults_that_a_proof_met_on_purpose_are_none_of_its_own() -> None:
    met = {**PROOF, "faults": {"killed": 12, "rollback": 3}}
    bare = {name: PROOF[name] for name in PROOF if name != "n"}
    for proof in (met, bare, {**PROOF, "faults": 0}):
        assert prove.shown(rows(proof, TWIN)) == 0


def test_a_silent_proof_is_told_and_in_which_half() -> None:
    said = rows(PROOF, TWIN, {**OWED, "owed": ["a.py::test_proof", "a.py::test_silent[x y]"]})
    assert prove.faults(said) == ["missing: a.py::test_silent[x y] on sqlite"]
    said = rows(PROOF, TWIN, OWED, {**OWED, "half": "postgresql"})
    assert prove.faults(said) == ["missing: a.py::test_proof on postgresql"]


def test_an_empty_report_is_a_fault() -> None:
    assert prove.shown([]) == 1


def test_less_than_is_asked_is_said() -> None:
    less = prove.table(rows({**PROOF, "asked": 200, "done": 6}, TWIN))[1]
    assert "6 of 200 asked, the rest in the bench" in less
    whole = prove.table(rows({**PROOF, "asked": 50, "done": 50}, TWIN))[1]
    assert "50 of 50 asked;" in whole


def test_tests_that_owe_a_row_are_read_from_their_text(tmp_path: Path) -> None:
    path = tmp_path / "test_some.py"
    path.write_text(
        "def test_proof(x): _helps()\n\n"
        "def _helps():\n    with measured('R1') as said: pass\n\n"
        "@planted('R1', 'fault')\ndef test_twin(): pass\n\n"
        "def test_other(): measures()\n"
    )
    assert expected.writing(path) == {"_helps", "test_proof", "test_twin"}
    asked = [SimpleNamespace(nodeid=f"t.py::{name}", path=path) for name in NAMES]
    assert expected.owing(asked) == ["t.py::test_proof[a b]", "t.py::test_twin"]


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(report, "REPORT", tmp_path / "reports" / "reliability.jsonl")
    monkeypatch.setenv(report.RUN, "before")
    return report.REPORT


def test_a_run_begins_the_file_anew_and_reads_its_own_rows(file: Path) -> None:
    report.report({"id": "old"})
    run = report.begin()
    report.report({"id": "new"})
    with file.open("a") as other:
        other.write(json.dumps({"id": "of another run", "run": ""}) + "\n")
    assert [row["id"] for row in report.rows(run)] == ["new"]


def test_a_proof_that_fails_writes_its_row(file: Path) -> None:
    with pytest.raises(ZeroDivisionError), report.measured("R99") as counted:
        counted["n"] = 1 / 0
    with pytest.raises(AssertionError), report.planted("R99", "a fault", db="none"):
        raise AssertionError
    with report.planted("R99", "another", db="none"):
        pass
    proof, twin, other = report.rows("before")
    assert (proof["failed"], twin["found"], other["found"]) == ("ZeroDivisionError", False, True)
    assert proof["test"].endswith("test_a_proof_that_fails_writes_its_row")
