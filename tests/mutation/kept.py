"""What was judged so far, a line each, so that a run that was broken off goes on from there.

What found a mutant finds it again as long as it and all it reads are the same. So each line has a
mark, a hash of these: the code and the boats; with them the case that found it, or the tests where
one of them did, or every test and case where nothing found it. A line whose mark no longer fits
only says what to ask first.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from tests.fuelsys.rules.tables import Case
from tests.mutation.judge import BY_CASE, BY_IMPORT, BY_TEST, BY_TIME, Outcome
from tests.mutation.mutants import Mutant

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("catalogue", "document", "evaluation", "graph", "hydraulics", "rules")
CODE = (
    *("fuelsys/*.py", *(f"fuelsys/{name}/**/*" for name in PACKAGES)),
    *("tests/mutation/judge.py", "tests/mutation/answers.py", "tests/mutation/preload.py"),
    *("tests/fuelsys/rules/tables.py", "tests/fuelsys/rules/test_cases.py"),
    "tests/fuelsys/rules/bases/*.yaml",
)
CASES, TESTS = "fuelsys/rules/cases/*.yaml", "tests/fuelsys/**/*"
ASKED = "tests/mutation/asked.py"
READS_CASES = "test_inventory"  # of the tests that are asked, this alone
# None of them judges: the words on what changed, what was compiled, the test of all this.
NOT_READ = (".md", ".pyc", "test_mutants.py")


def _hash(*texts: str) -> str:
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()[:24]


def _files(root: Path, patterns: Iterable[str], without: str = "") -> str:
    """A hash of the files of some patterns, their names and what they hold."""
    left_out = set(root.glob(without)) if without else set()
    paths = {path for pattern in patterns for path in root.glob(pattern)} - left_out
    kept = sorted(p for p in paths if p.is_file() and not p.name.endswith(NOT_READ))
    held = (hashlib.sha256(path.read_bytes()).hexdigest() for path in kept)
    return _hash(*(str(path.relative_to(root)) for path in kept), *held)


class Marks:
    """The mark that a line of today bears, by how its mutant was found."""

    def __init__(self, cases: Iterable[Case], root: Path = ROOT) -> None:
        self.code = _files(root, CODE, without=CASES)
        self.tests = _files(root, (TESTS, ASKED))
        self.all = _files(root, (TESTS, ASKED, CASES))
        self.cases = {case.label: _hash(repr(case)) for case in cases}

    def of(self, outcome: Outcome) -> str:
        if outcome.how == BY_CASE:
            return _hash(self.code, self.cases.get(outcome.what, ""))
        if outcome.how in (BY_IMPORT, BY_TIME):
            return self.code
        apart = outcome.how == BY_TEST and READS_CASES not in outcome.what
        return _hash(self.code, self.tests if apart else self.all)


class Kept:
    """Outcomes by mutant in a file of lines."""

    def __init__(self, path: Path, marks: Marks) -> None:
        self.path, self.marks = path, marks
        self.before: dict[str, Outcome] = {}
        self.now: dict[tuple[int, str], Outcome] = {}
        path.parent.mkdir(exist_ok=True)
        path.touch()
        whole = self.read()  # and what was broken off goes
        path.write_text("".join(f"{line}\n" for line in whole), encoding="utf-8")

    def read(self) -> list[str]:
        """Take in every whole line of the file."""
        lines = self.path.read_text(encoding="utf-8").splitlines()
        whole = [line for line in lines if line.endswith("]")]
        for mark, number, alike, how, what in map(json.loads, whole):
            outcome = Outcome(how, what)
            self.before[alike] = outcome
            if mark == self.marks.of(outcome):
                self.now[number, alike] = outcome
        return whole

    def get(self, mutant: Mutant) -> Outcome | None:
        """What was judged of the same mutant by the same files."""
        return self.now.get((mutant.occurrence, _alike(mutant)))

    def hint(self, mutant: Mutant) -> Outcome | None:
        """What found it the last time, by whatever files."""
        return self.before.get(_alike(mutant))

    def put(self, mutant: Mutant, outcome: Outcome) -> None:
        alike = _alike(mutant)
        self.now[mutant.occurrence, alike] = outcome
        line = [self.marks.of(outcome), mutant.occurrence, alike, *outcome]
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(line) + "\n")


def _alike(mutant: Mutant) -> str:
    """What stays of a mutant when lines move."""
    return f"{mutant.module} {mutant.operator} {mutant.was} -> {mutant.now}"
