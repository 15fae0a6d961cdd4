"""How often a proof tries: as often as there is time for in every run, or as the bench does."""

from __future__ import annotations

import os

VARIABLE, LONG = "PROOF_COUNTS", "bench"
BENCH = os.environ.get(VARIABLE) == LONG


def count(usual: int, bench: int) -> int:
    return bench if BENCH else usual


def asked_and_done(asked: int, done: int) -> dict[str, int]:
    """For the row of a proof that tries less often in an ordinary run than is asked of it."""
    return {"asked": asked, "done": done}
