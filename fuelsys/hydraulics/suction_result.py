"""What the suction computation answers for one engine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

SHARES = ("lift", "pipe", "fittings", "filter", "bulb", "valve")


class BoreChoice(NamedTuple):
    """The line of an engine with all its hoses of one bore."""

    bore_m: float
    vacuum_pa: float
    contents_m3: float


@dataclass(frozen=True, slots=True)
class Suction:
    """The suction of one engine; a figure that the missing facts leave open is None.

    Pressures [Pa], a vacuum above zero. `least_pa` is what the known parts take at least.
    """

    engine: str
    inlet: str | None = None
    tank: str | None = None
    flow_m3_s: float | None = None
    maker_flow: bool = False
    vacuum_pa: float | None = None
    least_pa: float | None = None
    shares_pa: Mapping[str, float | None] | None = None
    lowest_gauge_pa: float | None = None
    lowest_at: str | None = None
    segments: tuple[str, ...] = ()
    shared_with: tuple[str, ...] = ()
    in_transition: tuple[str, ...] = ()
    uncounted: tuple[str, ...] = ()
    without_tube: str | None = None
    choices: tuple[BoreChoice, ...] = ()
    smallest_bore_m: float | None = None
    undivided: bool = False  # several inlets, of which the shares are not on file
    unsolved: bool = False
    missing: tuple[str, ...] = ()
