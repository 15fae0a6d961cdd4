"""Ratios that should stay small, into reports/bench.json. Absolute times are the machine's.

`python -m tests.bench` is what `make bench` calls; `python -m tests.bench computation` takes one
part alone. Every figure is one time divided by another that was taken in the same run on the same
machine, or by a time it may take; the limits are generous, and crossing one fails.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from tests.bench import computation, service, suction
from tests.bench.ratio import Ratio

REPORT = Path(__file__).resolve().parents[2] / "reports" / "bench.json"
PARTS: dict[str, Callable[[], list[Ratio]]] = {
    "computation": computation.ratios,
    "suction": suction.ratios,
    "service": service.ratios,
}


def main(names: list[str]) -> int:
    unknown = [name for name in names if name not in PARTS]
    if unknown:
        print(f"Unknown: {', '.join(unknown)}. Parts are {', '.join(PARTS)}.", file=sys.stderr)
        return 2
    ratios = [ratio for name in names or PARTS for ratio in PARTS[name]()]
    REPORT.parent.mkdir(exist_ok=True)
    rows = [{**asdict(one), "ratio": round(one.ratio, 3)} for one in ratios]
    REPORT.write_text(json.dumps(rows, indent=2) + "\n")
    for one in ratios:
        print(f"{one.ratio:6.3f} (at most {one.most:g})  {one.what} / {one.over}")
        if one.note:
            print(f"        {one.note}")
    return int(any(one.ratio > one.most for one in ratios))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
