"""The proofs of trust alone, on both databases, and their figures as a table.

`python -m tests.prove` is what `make prove-trust` calls.
"""

from __future__ import annotations

import json
import sys
from typing import Any

from tests import run
from tests.shop.trust.report import REPORT

PLAIN = ("id", "db", "seconds", "twin", "seed")


def main() -> int:
    REPORT.unlink(missing_ok=True)
    code = run.main("trust")
    for line in table(entries()):
        print(line)
    return code


def entries() -> list[dict[str, Any]]:
    if not REPORT.exists():
        return []
    return [json.loads(line) for line in REPORT.read_text(encoding="utf-8").splitlines()]


def table(proofs: list[dict[str, Any]]) -> list[str]:
    """One line a proof: what was counted, on which database, which planted faults were found."""
    lines = [f"{'proof':<34} {'database':<11} {'s':>7}  counted; planted faults"]
    for proof in proofs:
        counted = ", ".join(f"{name} {proof[name]}" for name in sorted(proof) if name not in PLAIN)
        twin = f"; twin {proof['twin']}" if proof.get("twin") else ""
        head = f"{proof['id']:<34} {proof.get('db', ''):<11} {proof.get('seconds', 0):>7}"
        lines.append(f"{head}  {counted}{twin}")
    return lines


if __name__ == "__main__":
    sys.exit(main())
