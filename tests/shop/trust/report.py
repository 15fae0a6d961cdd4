"""The figures of the proofs: one JSON object a proof, appended to reports/reliability.jsonl.

Each says how often it tried, what went wrong (zero, or the test has failed), and which planted
faults the same check found.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

REPORT = Path(__file__).resolve().parents[3] / "reports" / "reliability.jsonl"


@contextmanager
def measured(proof: str, *, seed: int | None = None, db: str = "none") -> Iterator[dict[str, Any]]:
    """Time a proof and write down what it counted, once it has passed.

    The caller fills the dictionary: `n`, `faults`, `twin` and whatever else it counts.
    """
    counted: dict[str, Any] = {"id": proof, "seed": seed, "db": db}
    begun = time.monotonic()
    yield counted
    report({**counted, "seconds": round(time.monotonic() - begun, 2)})


def report(entry: dict[str, Any]) -> None:
    """Append one line; a single write to a file opened for appending, so lines never mix."""
    REPORT.parent.mkdir(exist_ok=True)
    line = json.dumps(entry, sort_keys=True) + "\n"
    descriptor = os.open(REPORT, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    try:
        os.write(descriptor, line.encode())
    finally:
        os.close(descriptor)
