"""What the severed-hose computation answers for one segment."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.text import Text

# 33 CFR 183.558(b): five ounces in 2 1/2 minutes; read as US fluid ounces, the text not saying.
US_FLUID_OUNCE_M3 = 29.5735295625e-6
LIMIT_M3 = 147.8676478125e-6
TEST_TIME_S = 150.0
# From five imperial fluid ounces to five ounces by weight of light gasoline: the readings
# of "ounce" that a result in this band would decide differently.
MARGINAL_M3 = (142e-6, 189e-6)


@dataclass(frozen=True)
class Discharge:
    """Fuel out of both ends of the worst cut in 2 1/2 minutes. Volumes [m3], distances [m].

    A figure that is not known is None, in the curve too; `least_m3` and `least_curve` then still
    say what runs out at least.
    """

    segment_id: str
    volume_m3: float | None
    worst_cut_m: float | tuple[float, float] | None
    tank_side_m3: float | None
    far_side_m3: float | None
    state: str  # open held_valve held_closed pull_back trapped dry indeterminate
    upper_bound_m3: float | None
    marginal: bool
    assumptions: tuple[Text, ...]
    verdict: str  # within over review cannot_tell
    missing: tuple[str, ...]
    # Where the cut goes through, first to last place: (distance, tank side, far side).
    curve: tuple[tuple[float, float | None, float | None], ...] = ()
    trapped: tuple[tuple[float, float, float], ...] = ()  # (start, end, level) of a fill or vent
    least_m3: float | None = None
    least_curve: tuple[tuple[float, float, float], ...] = ()  # where the curve has gaps
    held_share: float | None = None  # of its opening head, where a valve holds only narrowly
