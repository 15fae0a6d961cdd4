"""The figures of the proofs: one JSON object a proof, appended to reports/reliability.jsonl.

Each says how often it tried and what went wrong. A proof that fails says so too, and a planted
fault has a row of its own, written by the test that plants it; `tests.prove` joins them by `id`.
The rows of one run carry its name, which the environment hands to both halves and all workers.
"""

from __future__ import annotations

import json
import os
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import connection

REPORT = Path(__file__).resolve().parents[3] / "reports" / "reliability.jsonl"
RUN = "PROOF_RUN"


def begin() -> str:
    """Begin the file anew for one run, and return the run's name."""
    REPORT.unlink(missing_ok=True)
    os.environ[RUN] = secrets.token_hex(4)
    return os.environ[RUN]


@contextmanager
def measured(proof: str, *, seed: int | None = None, db: str = "none") -> Iterator[dict[str, Any]]:
    """Time a proof and write down what it counted, whether it passes or fails.

    The caller fills the dictionary: `n` tries, `faults` found in them (by kind: those met on
    purpose, which are none of its own) and whatever else it counts.
    """
    counted: dict[str, Any] = {"id": proof, "seed": seed, "db": db}
    begun = time.monotonic()
    try:
        yield counted
    except BaseException as error:  # the test fails with it; the table must not be silent
        counted["failed"] = type(error).__name__
        raise
    finally:
        report({**counted, "seconds": round(time.monotonic() - begun, 2)})


@contextmanager
def planted(proof: str, fault: str, *, db: str = "") -> Iterator[dict[str, Any]]:
    """Write down whether a planted fault was found: where the body ends, it was.

    Stands around the body of the twin test, or before it as a decorator. `db` is "none" where
    the twin needs no database: it then stands for the proof on every one.
    """
    said = {"id": proof, "planted": fault, "found": False, "db": db or connection.vendor}
    try:
        yield said
        said["found"] = True
    finally:
        report(said)


def report(entry: dict[str, Any]) -> None:
    """Append one line; a single write to a file opened for appending, so lines never mix."""
    REPORT.parent.mkdir(exist_ok=True)
    said = {
        "run": os.environ.get(RUN, ""),
        "half": connection.vendor,
        "test": os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0],
    }
    line = json.dumps({**entry, **said}, sort_keys=True)
    descriptor = os.open(REPORT, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    try:
        os.write(descriptor, f"{line}\n".encode())
    finally:
        os.close(descriptor)


def rows(run: str) -> list[dict[str, Any]]:
    """What was written in one run."""
    if not REPORT.exists():
        return []
    said = [json.loads(line) for line in REPORT.read_text(encoding="utf-8").splitlines()]
    return [row for row in said if row["run"] == run]
