"""Whatever is joined to whatever, with facts left out: figures agree with one another."""

from __future__ import annotations

from fractions import Fraction
from math import isfinite
from random import Random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fuelsys.document.model import Component, Document, Hose, Segment, Tank
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.result import LIMIT_M3, Discharge

KINDS = (
    *("withdrawal", "fill_spud", "vent_nipple", "return_fitting", "deck_fill", "vent_fitting"),
    *("anti_siphon_valve", "shutoff_valve", "electric_stop_valve", "selector_valve"),
    *("filter", "primer_bulb", "fuel_pump", "engine_inlet", "carburetor", "tee", "connector"),
)
SERVICES = ("feed", "feed", "feed", "fill", "vent", "return", "transfer", "pump_to_carburetor")
ML = Fraction(1, 1_000_000)


def network(seed: int) -> Document:
    dice = Random(seed)

    def maybe(value: Any, share: float = 0.8) -> Any:
        return value if dice.random() < share else None

    def height() -> Fraction:
        return Fraction(dice.randint(-10, 10), 10)

    def component(k: int) -> Component:
        return Component(
            f"C{k}",
            dice.choice(KINDS),
            height_m=maybe(height()),
            tank=maybe(dice.choice(("T0", "T1"))),
            anti_siphon=maybe(dice.choice(("none", "spring_valve", "electric_stop_valve"))),
            opening_head_m=maybe(abs(height()), 0.4),
            contents_m3=maybe(dice.randint(0, 300) * ML),
            check_valve=maybe(dice.random() < 0.5),
            opens_only_with_ignition=maybe(dice.random() < 0.5),
            open_to=maybe(("S0", "S1"), 0.2),
        )

    def segment(k: int, count: int) -> Segment:
        points = [(Fraction(0), height())]
        for _ in range(dice.randint(1, 5)):
            points.append((points[-1][0] + Fraction(dice.randint(1, 20), 10), height()))
        ends = (f"C{dice.randrange(count)}", f"C{dice.randrange(count)}")
        hose = Hose(inside_diameter_m=dice.choice((9525 * ML, 38100 * ML)))
        return Segment(
            f"S{k}",
            dice.choice(SERVICES),
            *ends,
            route=maybe(tuple(points), 0.95),
            hose=maybe(hose, 0.95),
        )

    count = dice.randint(2, 8)
    return Document(
        tanks=tuple(
            Tank(f"T{k}", fuel=maybe("gasoline"), surface_m=maybe(height())) for k in range(2)
        ),
        components=tuple(component(k) for k in range(count)),
        segments=tuple(segment(k, count) for k in range(dice.randint(1, 8))),
    )


def check(found: Discharge) -> None:
    figures = (found.volume_m3, found.upper_bound_m3, found.tank_side_m3, found.far_side_m3)
    assert all(f is None or (f >= 0.0 and isfinite(f)) for f in figures)
    assert found.missing or found.verdict != "cannot_tell"
    if found.verdict == "within":
        assert found.upper_bound_m3 is not None
        assert found.upper_bound_m3 <= LIMIT_M3
    if found.volume_m3 is None:
        return
    assert (found.volume_m3 > LIMIT_M3) is (found.verdict == "over")
    if found.upper_bound_m3 is not None:
        assert found.volume_m3 <= found.upper_bound_m3 * (1 + 1e-9)
    if found.curve:
        known = ((t, f) for _, t, f in found.curve if t is not None if f is not None)
        grid = max((tank + far for tank, far in known), default=0.0)
        assert grid <= found.volume_m3 * (1 + 2e-5) + 1e-12


@settings(max_examples=150)
@given(st.integers(0, 10**9))
def test_figures_agree_with_one_another(seed: int) -> None:
    graph = build(network(seed))
    for segment in graph.document.segments:
        found = discharge(graph, segment.id, curves=True)
        assert (found is None) is (segment.service not in ("feed", "fill", "vent"))
        if found is not None:
            check(found)
