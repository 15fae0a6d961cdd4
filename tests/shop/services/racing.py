"""Threads that meet in the database, each on a connection of its own."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from typing import TypeVar

from django.db import connection

# Below the time-out of a whole test, so that a race that never ends names itself.
PATIENCE_SECONDS = 120.0

ResultT = TypeVar("ResultT")


class Stuck(AssertionError):
    """Threads of a test that did not come back."""


def race(acts: Sequence[Callable[[], ResultT]]) -> list[ResultT | Exception]:
    """Run every act at once; what each returned or raised, in their order."""
    results: dict[int, ResultT | Exception] = {}

    def run(place: int) -> None:
        try:
            results[place] = acts[place]()
        except Exception as error:  # the test asserts on what was raised
            results[place] = error
        finally:
            connection.close()

    # Daemons: a thread that is stuck in the database cannot keep the whole run from ending.
    threads = [
        threading.Thread(target=run, args=[place], daemon=True) for place in range(len(acts))
    ]
    for thread in threads:
        thread.start()
    joined(threads)
    return [results[place] for place in range(len(acts))]


def joined(threads: Sequence[threading.Thread], patience: float = PATIENCE_SECONDS) -> None:
    """Wait for all of them, and fail by name when some do not end."""
    deadline = time.monotonic() + patience
    for thread in threads:
        thread.join(max(0.0, deadline - time.monotonic()))
    stuck = [thread.name for thread in threads if thread.is_alive()]
    if stuck:
        raise Stuck(f"{len(stuck)} of {len(threads)} threads still run after {patience:.0f} s.")
