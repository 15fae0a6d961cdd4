"""Judges one mutant in a forked child: the case tables first, then the other tests of the rules."""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import os
import signal
import sys
from collections.abc import Sequence
from types import ModuleType
from typing import Any, NamedTuple

from tests.mutation.asked import OPTIONS, TESTS
from tests.mutation.prepared import Prepared

SURVIVED, BY_CASE, BY_TEST, BY_IMPORT, BY_TIME = "survived", "case", "test", "import", "time"
LONGEST_S = 60  # of processor time; the whole takes ten


class Outcome(NamedTuple):
    """How a mutant is found, if it is, and by which case or test."""

    how: str
    what: str = ""


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the mutant's code for its module."""

    def __init__(self, module: str, code: str) -> None:
        self.module, self.code = module, code

    def find_spec(self, name: str, path: Any, target: Any = None) -> Any:
        if name != self.module:
            return None
        origin = name.replace(".", "/") + ".py"
        spec = importlib.machinery.ModuleSpec(name, self, origin=origin)
        spec.has_location = True
        return spec

    def exec_module(self, module: ModuleType) -> None:
        origin = self.module.replace(".", "/") + ".py"
        exec(compile(self.code, origin, "exec"), module.__dict__)


def judge(
    module: str,
    code: str,
    cases: Sequence[Prepared],
    tests: Sequence[str] = TESTS,
    before: Outcome | None = None,
) -> Outcome:
    """How the mutant is found; what found it the time before is asked first."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        said = _child(module, code, cases, tests, before)
        os.write(writing, "\n".join(said).encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as pipe:
        told = pipe.read()
    _, status = os.waitpid(pid, 0)
    if os.waitstatus_to_exitcode(status) == -signal.SIGPROF:
        return Outcome(BY_TIME)
    return Outcome(*told.split("\n")) if told else Outcome(BY_IMPORT)  # it died at once


def _child(
    module: str,
    code: str,
    cases: Sequence[Prepared],
    tests: Sequence[str],
    before: Outcome | None,
) -> Outcome:
    # A mutant that runs for ever is found. A clock on the wall would also find a busy machine.
    signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    sys.meta_path.insert(0, _Mutated(module, code))
    try:
        from fuelsys.rules.engine import all_rules

        all_rules()
    except BaseException:
        return Outcome(BY_IMPORT)
    from tests.mutation.answers import first_wrong

    if before and before.how == BY_TEST and (failed := _first_failure([before.what])):
        return Outcome(BY_TEST, failed)
    first = [one for one in cases if before and one.case.label == before.what]
    if (wrong := first_wrong([*first, *cases])) is not None:
        return Outcome(BY_CASE, wrong.case.label)
    if tests and (failed := _first_failure(tests)):
        return Outcome(BY_TEST, failed)
    return Outcome(SURVIVED)


def _first_failure(tests: Sequence[str]) -> str:
    """The first test that fails; nothing where all pass."""
    import pytest

    seen = _Failures()
    try:
        ended = pytest.main([*OPTIONS, *tests], plugins=[seen])
    except BaseException as error:
        return type(error).__name__
    if ended in (pytest.ExitCode.NO_TESTS_COLLECTED, pytest.ExitCode.USAGE_ERROR):
        return ""  # a test that is no longer there
    return "" if ended == 0 else seen.first


class _Failures:
    """Keeps the first test, or file of tests, that failed."""

    first = "pytest"

    def pytest_runtest_logreport(self, report: Any) -> None:
        self._see(report)

    def pytest_collectreport(self, report: Any) -> None:
        self._see(report)

    def _see(self, report: Any) -> None:
        if report.failed and self.first == "pytest":
            self.first = report.nodeid
