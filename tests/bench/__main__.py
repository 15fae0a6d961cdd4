"""Ratios that should stay small, into reports/bench.json. Absolute times are the machine's.

`python -m tests.bench` is what `make bench` calls; `python -m tests.bench computation` takes one
part alone. Every figure is one time divided by another that was taken in the same run on the same
machine, or by a time it may take; the limits are generous, and crossing one fails.

With `--proofs` the proofs follow, with the counts that no ordinary run has time for: hours.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from tests import prove
from tests.bench import computation, service, suction
from tests.bench.ratio import Ratio
from tests.shop.trust import counts

REPORT = Path(__file__).resolve().parents[2] / "reports" / "bench.json"
PARTS: dict[str, Callable[[], list[Ratio]]] = {
    "computation": computation.ratios,
    "suction": suction.ratios,
    "service": service.ratios,
}
PROOFS = "--proofs"
MOST_SECONDS = 7_200  # for one proof


def main(arguments: list[str]) -> int:
    names = [name for name in arguments if name != PROOFS]
    unknown = [name for name in names if name not in PARTS]
    if unknown:
        print(
            f"Unknown: {', '.join(unknown)}. Parts are {', '.join(PARTS)}, and {PROOFS}.",
            file=sys.stderr,
        )
        return 2
    code = measure(names)
    return max(code, long_proofs()) if PROOFS in arguments else code


def long_proofs() -> int:
    """All proofs of trust on both databases, as often as the bench tries."""
    os.environ[counts.VARIABLE] = counts.LONG
    return prove.main(["--timeout", str(MOST_SECONDS)])


def measure(names: list[str]) -> int:
    ratios = [ratio for name in names or PARTS for ratio in PARTS[name]()]
    REPORT.parent.mkdir(exist_ok=True)
    rows = [{**asdict(one), "ratio": round(one.ratio, 3)} for one in ratios]
    REPORT.write_text(json.dumps(rows, indent=2) + "\n")
    for one in ratios:
        word = "MISSED" if one.ratio > one.most else "MET"
        print(f"{one.ratio:6.3f} (at most {one.most:.3g})  {word:6}  {one.what} / {one.over}")
        if one.note:
            print(f"        {one.note}")
    return int(any(one.ratio > one.most for one in ratios))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
