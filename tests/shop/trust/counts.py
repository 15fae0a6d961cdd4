"""How often a proof tries: as often as there is time for in every run, or as the bench does."""

from __future__ import annotations

import os

BENCH = os.environ.get("PROOF_COUNTS") == "bench"


def count(usual: int, bench: int) -> int:
    return bench if BENCH else usual
