"""One time over another, taken in the same run on the same machine."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Ratio:
    """`seconds` over `reference_seconds`, and the most that this may be."""

    what: str
    over: str
    seconds: float
    reference_seconds: float
    most: float
    note: str = ""

    @property
    def ratio(self) -> float:
        return self.seconds / self.reference_seconds


def held(seconds: float, limit_seconds: float) -> str:
    """A time in words, and whether it keeps to its limit."""
    word = "held" if seconds <= limit_seconds else "MISSED"
    return f"{seconds * 1e3:.1f} ms of {limit_seconds * 1e3:g} ms: {word}"


def seconds_of(action: Callable[[], object]) -> float:
    started = time.perf_counter()
    action()
    return time.perf_counter() - started


def cpu_seconds_of(action: Callable[[], object]) -> float:
    """What the work takes of the processor, whoever else wants the machine."""
    started = time.process_time()
    action()
    return time.process_time() - started


def median_seconds(action: Callable[[], object], times: int) -> float:
    return statistics.median(seconds_of(action) for _ in range(times))


def alternating_medians(
    actions: Sequence[Callable[[], object]],
    times: int,
    clock: Callable[[Callable[[], object]], float] = seconds_of,
) -> list[float]:
    """The median of each, taken in turns: a busy spell of the machine then falls on all."""
    return [statistics.median(one) for one in _alternating(actions, times, clock)]


def alternating_least(actions: Sequence[Callable[[], object]], times: int) -> list[float]:
    """The least of each, taken in turns: for microseconds, which a lost time slice outlasts."""
    return [min(one) for one in _alternating(actions, times, seconds_of)]


def _alternating(
    actions: Sequence[Callable[[], object]],
    times: int,
    clock: Callable[[Callable[[], object]], float],
) -> list[list[float]]:
    taken: list[list[float]] = [[] for _ in actions]
    for _ in range(times):
        for one, action in zip(taken, actions, strict=True):
            one.append(clock(action))
    return taken
