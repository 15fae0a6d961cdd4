"""The worked trace: one hose of 4 m, every cut of its table, three readings of the valve."""

from __future__ import annotations

import pytest

from tests.fuelsys.hydraulics.builders import FLOZ, changed, curve_of, of, trace

# Worked by two programs; gasoline 0.55 mm2/s, 3/8 in, surface at 0; US fl oz in 150 s:
# (cut, tank side and engine side without a valve, holding at 0.25 m, opening at 0.10 m).
TABLE = [
    (0.0, (0, 2.972), (0, 2.972), (0, 2.972)),
    (0.5, (0, 1.767), (1.205, 1.767), (1.205, 1.767)),
    (1.5, (292.05, 3.614), (3.614, 3.614), (198.74, 3.614)),
    (2.5, (0, 1.205), (0, 1.205), (0, 1.205)),
    (3.0, (96.44, 2.409), (1.205, 2.409), (1.205, 2.409)),
    (4.0, (0, 0), (0, 0), (0, 0)),
]
VALVES = (None, 0.25, 0.10)


@pytest.mark.parametrize("column", [0, 1, 2])
@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"cut at {row[0]} m")
def test_every_cut_of_the_table(
    row: tuple[float, tuple[float, float], tuple[float, float], tuple[float, float]], column: int
) -> None:
    at, *columns = row
    tank, engine = columns[column]
    found = {d: (t, f) for d, t, f in curve_of(of(trace(VALVES[column]), curves=True))}
    assert found[at][0] / FLOZ == pytest.approx(tank, rel=0.005, abs=1e-6)
    assert found[at][1] / FLOZ == pytest.approx(engine, rel=0.005, abs=1e-6)


@pytest.mark.parametrize(
    ("opening", "ounces", "state"),
    [(None, 295.7, "open"), (0.25, 7.23, "held_valve"), (0.10, 202.4, "open")],
)
def test_the_worst_cut_is_the_low_point(opening: float | None, ounces: float, state: str) -> None:
    found = of(trace(opening))
    assert found.volume_m3 is not None
    assert found.volume_m3 / FLOZ == pytest.approx(ounces, rel=0.005)
    assert found.worst_cut_m == pytest.approx(1.5)
    assert (found.state, found.verdict) == (state, "over")


def test_a_holding_valve_does_not_by_itself_keep_a_hose_within_five_ounces() -> None:
    assert of(trace(0.25)).verdict == "over"


def test_the_valve_that_must_hold_the_whole_route_is_named() -> None:
    found = of(changed(trace(0.25), "P", opening_head_m=None))
    # Over the limit both ways: the standing fuel alone is too much.
    assert (found.verdict, found.state, found.volume_m3) == ("over", "indeterminate", None)
    assert found.missing == ("components[P].opening_head_in",)
    assert found.least_m3 is not None
    assert found.least_m3 / FLOZ == pytest.approx(7.23, rel=0.005)


def test_the_curve_shows_both_sides_of_the_jump_at_the_surface() -> None:
    """Where the hose passes the tank's surface, the standing fuel falls back or runs out."""
    crossing = 0.5 + 0.03 / 0.23
    curve = curve_of(of(trace(None), curves=True))
    before = [t for d, t, _ in curve if crossing - 1e-5 < d < crossing]
    after = [t for d, t, _ in curve if crossing < d < crossing + 1e-5]
    assert before == [0.0]
    # 0.5 m level and 0.13 m of slope stand above the cut: 71.26 mL in each meter.
    assert [t * 1e6 for t in after] == [pytest.approx(71.26 * crossing, rel=0.01)]
