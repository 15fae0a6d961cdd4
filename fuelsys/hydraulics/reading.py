"""How unknown facts are read: so that each adds as little as it can, or as much.

No unknown is given a value. The computation runs twice instead, and what both runs agree
on is known. `flipped` turns single facts around, to find those that decide.
"""

from __future__ import annotations

# A volume or flow without a bound [m3]: far above any boat, finite so that sums stay numbers.
UNBOUNDED_M3 = 1e12
DOUBT_MARK = "?"  # begins the name of a doubt about the method, which no fact can settle


class Reading:
    """One reading of all unknown facts; `asked` keeps those that were met, in order."""

    def __init__(self, *, most: bool, flipped: frozenset[str] = frozenset()) -> None:
        self._most = most
        self._flipped = flipped
        self.asked: dict[str, None] = {}

    def most(self, fact: str) -> bool:
        """Whether the unknown fact at this document path is to add as much as it can."""
        self.asked[fact] = None
        return self._most != (fact in self._flipped)

    def doubt(self, name: str) -> bool:
        """As `most`, for something the method cannot be sure of whatever is surveyed."""
        return self.most(DOUBT_MARK + name)
