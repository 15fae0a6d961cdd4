"""What runs out in all while a small tank's surface falls: closed form, bounds, limits."""

from __future__ import annotations

from fractions import Fraction
from math import pi

import pytest

from fuelsys.document.model import Component, Document, Tank
from fuelsys.graph import build
from fuelsys.hydraulics.drain import level_after
from fuelsys.hydraulics.emptying import emptying
from tests.fuelsys.hydraulics.builders import changed, line, of, pickup, pump, run

BORE_M = 0.009525
SHORT_TUBE = 1.5**-0.5  # K 0.5 at the entrance and 1 at the exit: Q = 0.8165 A sqrt(2 g H)


def emptied(document: Document, segment_id: str = "S1") -> float | None:
    graph = build(document)
    return emptying(graph, of(document, segment_id))


def small(document: Document, area: str, **facts: object) -> Document:
    return changed(document, "T", plan_area_m2=Fraction(area), **facts)


def dip(opening: float | None = None) -> Document:
    return line([(0, 0.1), (1, -0.2), (2, 0.1)], first=pickup(opening), last=pump())


@pytest.mark.parametrize("opening", [None, 0.05, 0.1, 0.15])
@pytest.mark.parametrize("area", ["0.02", "0.1"])
def test_almost_without_a_hose_it_is_the_closed_form(opening: float | None, area: str) -> None:
    """sqrt(h) = sqrt(h0) - (C a/A_T) sqrt(g/2) t, from the head less the opening head.

    1 cm of level hose at 0.20 m: friction takes under 2 % of the flow; all of it drains, 0.7 mL.
    """
    document = line([(0, -0.2), (0.01, -0.2)], first=pickup(opening), last=pump())
    head = 0.2 - (opening or 0.0)
    left = level_after(
        150.0,
        head,
        plan_area_m2=float(area),
        opening_area_m2=pi / 4 * BORE_M**2,
        coefficient=SHORT_TUBE,
    )
    found = emptied(small(document, area))
    assert found == pytest.approx(float(area) * (head - left), rel=0.025)


def test_far_side_and_figure_are_those_of_the_steady_total() -> None:
    """A tank as wide as a lake: the same total to four digits, what stands beyond the cut in it."""
    for opening in (None, 0.1):
        steady = of(dip(opening))
        assert steady.volume_m3 is not None
        assert steady.far_side_m3 is not None
        assert steady.far_side_m3 > 50e-6
        assert emptied(small(dip(opening), "10000")) == pytest.approx(steady.volume_m3, rel=1e-4)


@pytest.mark.parametrize("area", ["0.005", "0.02", "0.5"])
@pytest.mark.parametrize("opening", [None, 0.1])
def test_never_more_than_the_steady_total(area: str, opening: float | None) -> None:
    steady, found = of(dip(opening)).volume_m3, emptied(small(dip(opening), area))
    assert steady is not None
    assert found is not None
    assert found <= steady


def test_what_stands_in_the_hose_counts_where_it_is_more_than_flows() -> None:
    """2 cm2 of tank give 10 mL down to where the valve holds; 107 mL stand above the cut."""
    rising = line([(0, -0.1), (1, -0.2), (1.5, -0.1)], first=pickup(0.15), last=pump())
    steady = of(rising)
    assert steady.worst_cut_m == pytest.approx(1.0)
    found = emptied(small(rising, "0.0002"))
    held = of(line([(0, -0.1), (1, -0.2), (1.5, -0.1)], first=pickup(2.0), last=pump()))
    assert found is not None
    assert found > 0.0002 * 0.05
    assert found == pytest.approx(held.volume_m3)
    assert held.volume_m3 == pytest.approx(1.5 * pi / 4 * BORE_M**2, rel=1e-6)


def test_the_surface_falls_no_further_than_the_tank_s_bottom() -> None:
    steady = of(dip())
    assert steady.far_side_m3 is not None
    found = emptied(small(dip(), "0.02", bottom_m=Fraction(-1, 20)))
    assert found == pytest.approx(0.02 * 0.05 + steady.far_side_m3, rel=1e-6)


def test_no_figure_where_it_is_not_one_tank_at_open_air() -> None:
    assert emptied(dip()) is None  # no plan area
    assert emptied(small(dip(), "0.02", relief_pa=Fraction(1000))) is None
    assert emptied(small(dip(2.0), "0.02")) is None  # the valve holds
    unknown = changed(small(dip(), "0.02"), "P", anti_siphon="spring_valve")
    assert emptied(unknown) is None


def test_two_tanks_on_one_side_have_no_falling_figure() -> None:
    document = Document(
        tanks=(
            Tank("T", fuel="gasoline", surface_m=Fraction(0), plan_area_m2=Fraction(1, 50)),
            Tank("T2", fuel="gasoline", surface_m=Fraction(0), plan_area_m2=Fraction(1, 50)),
        ),
        components=(
            pickup(),
            Component("P2", "withdrawal", tank="T2", anti_siphon="none"),
            Component("TEE", "tee"),
            pump(),
        ),
        segments=(
            run("S1", ("P", "TEE"), [(0, -0.05), (1, -0.05)]),
            run("S2", ("P2", "TEE"), [(0, -0.05), (1, -0.05)]),
            run("S3", ("TEE", "ENG"), [(0, -0.05), (1, -0.2)]),
        ),
    )
    assert of(document, "S3").state == "open"
    assert emptied(document, "S3") is None
    # A cut between a tank and the tee has one on either side: both fall by 0.05 m, 1 L each.
    assert emptied(document, "S1") == pytest.approx(2e-3, rel=0.01)
