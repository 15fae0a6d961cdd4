"""When a plan has to be there: one moment for patterns, bounds and HiGHS alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

Clock = Callable[[], float]


def standing() -> float:
    """A clock on which nothing takes time: only HiGHS, which has its own, keeps to the end."""
    return 0.0


@dataclass(frozen=True, slots=True)
class Deadline:
    """A moment on a clock [s]. The clock is handed in, so that running out can be played."""

    at: float
    clock: Clock

    @classmethod
    def after(cls, seconds: float, clock: Clock = standing) -> Deadline:
        return cls(clock() + seconds, clock)

    @property
    def left(self) -> float:
        """Seconds to go, 0 when it has passed."""
        return max(0.0, self.at - self.clock())

    @property
    def passed(self) -> bool:
        return self.left == 0.0

    def part(self, share: float) -> Deadline:
        """The moment at which a share of what is left is spent."""
        now = self.clock()
        return Deadline(now + max(0.0, self.at - now) * share, self.clock)
