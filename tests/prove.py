"""The proofs of trust alone, on both databases, and their figures as a table.

`python -m tests.prove` is what `make prove-trust` calls. A proof beside which no planted fault was
found says nothing, one that tried nothing or is silent even less: each ends it with 1, and so does
a proof that counted a fault.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Any

from tests import run
from tests.shop.trust import report

Row = dict[str, Any]

PLAIN = ("id", "db", "seconds", "twin", "seed", "run", "half", "test", "failed", "asked", "done")
TWIN_MISSING = "twin missing"


def main(arguments: Sequence[str] = ()) -> int:
    code = run.main("trust", arguments)
    return max(code, shown(report.rows(run.name())))


def shown(rows: Sequence[Row]) -> int:
    """Print the table and what is wrong with it; 1 when something is."""
    wrong = faults(rows)
    print("\n".join([*table(rows), *wrong]))
    return int(bool(wrong))


def proofs(rows: Sequence[Row]) -> list[Row]:
    return [row for row in rows if "planted" not in row and "owed" not in row]


def planted_for(proof: Row, rows: Sequence[Row]) -> list[Row]:
    """The planted faults of a proof, in its half of the run or where no database is needed."""
    planted = [row for row in rows if "planted" in row and row["id"] == proof["id"]]
    return [row for row in planted if row["half"] == proof["half"] or row["db"] == "none"]


def twin_of(proof: Row, rows: Sequence[Row]) -> str:
    """What the proof planted itself, and what its twins did beside it."""
    own = [str(proof["twin"])] if proof.get("twin") else []
    others = [
        f"{row['planted']}: {'found' if row['found'] else 'NOT FOUND'}"
        for row in planted_for(proof, rows)
    ]
    return ", ".join([*own, *others]) or TWIN_MISSING


def faults(rows: Sequence[Row]) -> list[str]:
    """What is wrong: a proof that failed, counted faults, tried nothing, has no twin or is silent.

    And a twin that found nothing.
    """
    found = [] if proofs(rows) else ["no proof reported"]
    for proof in proofs(rows):
        if proof.get("failed"):
            found.append(f"failed: {proof['id']} on {proof['half']}, {proof['failed']}")
        found += [f"{said}: {proof['id']} on {proof['half']}" for said in _counted_wrong(proof)]
        if twin_of(proof, rows) == TWIN_MISSING:
            found.append(f"{TWIN_MISSING}: {proof['id']} on {proof['half']}, {proof['test']}")
    found += [
        f"not found: {row['id']} on {row['half']}, {row['planted']}"
        for row in rows
        if "planted" in row and not row["found"]
    ]
    said = {(row["half"], row["test"]) for row in rows}
    for owed in (row for row in rows if "owed" in row):
        silent = [test for test in owed["owed"] if (owed["half"], test) not in said]
        found += [f"missing: {test} on {owed['half']}" for test in silent]
    return found


def _counted_wrong(proof: Row) -> list[str]:
    """What its own counts say. `faults` by kind are those put in the way of it on purpose."""
    faults = proof.get("faults", 0)
    said = [f"{faults} faults counted"] if isinstance(faults, int) and faults > 0 else []
    return [*said, *(["nothing tried"] if proof.get("n", 1) == 0 else [])]


def table(rows: Sequence[Row]) -> list[str]:
    """One line a proof: what was counted, on which database, which planted faults were found."""
    lines = [f"{'proof':<34} {'database':<11} {'s':>7}  counted; planted faults"]
    for proof in proofs(rows):
        counted = ", ".join(f"{name} {proof[name]}" for name in sorted(proof) if name not in PLAIN)
        head = f"{proof['id']:<34} {proof.get('db', ''):<11} {proof.get('seconds', 0):>7}"
        said = [counted, *_less(proof), f"twin {twin_of(proof, rows)}"]
        if proof.get("failed"):
            said.insert(0, f"FAILED {proof['failed']}")
        lines.append(f"{head}  {'; '.join(said)}")
    return lines


def _less(proof: Row) -> list[str]:
    """An ordinary run that tries less often than is asked says so."""
    if "asked" not in proof:
        return []
    said = f"{proof['done']} of {proof['asked']} asked"
    return [said if proof["done"] >= proof["asked"] else f"{said}, the rest in the bench"]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
