"""Trim and heel: heights turned, and what must be on file."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import cos, hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document.model import Component, Document, Tank
from fuelsys.hydraulics.attitude import turned, turned_height
from tests.fuelsys.hydraulics.builders import run

angles = st.floats(-0.2, 0.2)
lengths = st.floats(-6.0, 6.0)


def boat() -> Document:
    return Document(
        tanks=(Tank("T", bottom_m=Fraction(0), surface_m=Fraction("0.4")),),
        components=(
            Component(
                "P",
                "withdrawal",
                tank="T",
                height_m=Fraction("0.5"),
                aft_m=Fraction(2),
                starboard_m=Fraction(1),
            ),
            Component("V", "vent_nipple", tank="T", aft_m=Fraction(4), starboard_m=Fraction(-1)),
            Component(
                "E",
                "fuel_pump",
                height_m=Fraction("0.3"),
                aft_m=Fraction(6),
                starboard_m=Fraction(0),
            ),
        ),
        segments=(run("S", ("P", "E"), [(0, 0.5), (2, 0.2), (4, 0.3)]),),
    )


def test_one_degree_by_hand() -> None:
    # sin 1 degree = 0.0174524: 3 m aft falls by 52.4 mm bow up; 1 m to starboard by 17.5 mm.
    one = radians(1)
    assert turned_height(0, 3, 0, trim_rad=one, heel_rad=0) == pytest.approx(-0.05236, abs=1e-5)
    assert turned_height(0, 0, 1, trim_rad=0, heel_rad=one) == pytest.approx(-0.01745, abs=1e-5)


@given(lengths, lengths, lengths, angles, angles)
def test_a_turned_point_is_that_of_the_rotation_matrices(
    up: float, aft: float, side: float, trim: float, heel: float
) -> None:
    """The second method: both rotations in full, and distances that stay as they are."""
    x, z = aft * cos(trim) + up * sin(trim), up * cos(trim) - aft * sin(trim)
    y, z = side * cos(heel) + z * sin(heel), z * cos(heel) - side * sin(heel)
    found = turned_height(up, aft, side, trim_rad=trim, heel_rad=heel)
    assert found == pytest.approx(z, abs=1e-9)
    assert hypot(x, y, found) == pytest.approx(hypot(up, aft, side), abs=1e-9)


def test_a_boat_bow_up_by_two_degrees() -> None:
    trim = radians(2)
    found = turned(boat(), trim_rad=trim, heel_rad=0.0).document
    assert found is not None
    heights = [float(z) for _, z in found.segments[0].route or ()]
    # P at 2 m, the middle of the run at 4 and E at 6 m aft.
    expected = [z * cos(trim) - x * sin(trim) for z, x in ((0.5, 2), (0.2, 4), (0.3, 6))]
    assert heights == pytest.approx(expected)
    assert [s for s, _ in found.segments[0].route or ()] == [0, 2, 4]
    assert float(found.components[0].height_m or 0) == pytest.approx(expected[0])
    # The tank turns about the middle of its fittings, 3 m aft.
    level = float(found.tanks[0].surface_m or 0)
    assert level == pytest.approx(0.4 * cos(trim) - 3 * sin(trim))
    assert found.tanks[0].top_m is None


def test_heel_lowers_starboard() -> None:
    found = turned(boat(), trim_rad=0.0, heel_rad=radians(3)).document
    assert found is not None
    heights = [float(z) for _, z in found.segments[0].route or ()]
    assert heights[0] < 0.5 - 0.05
    assert heights[-1] == pytest.approx(0.3 * cos(radians(3)))


def test_turned_there_and_back_by_small_angles() -> None:
    once = turned(boat(), trim_rad=0.0, heel_rad=0.0).document
    assert once is not None
    assert [float(z) for _, z in once.segments[0].route or ()] == [0.5, 0.2, 0.3]


def test_only_the_places_that_are_needed_are_asked() -> None:
    document = boat()
    bare = replace(
        document,
        components=tuple(
            replace(part, aft_m=None) if part.id == "E" else part for part in document.components
        ),
    )
    found = turned(bare, trim_rad=0.01, heel_rad=0.01)
    assert (found.document, found.missing) == (None, ("components[E].aft_in",))
    assert turned(bare, trim_rad=0.0, heel_rad=0.01).document is not None


def test_a_part_that_no_height_hangs_on_needs_no_place() -> None:
    document = boat()
    spare = Component("SPARE", "connector")
    with_spare = replace(document, components=(*document.components, spare))
    assert turned(with_spare, trim_rad=0.01, heel_rad=0.01).missing == ()
    high = replace(
        document, components=(*document.components, replace(spare, height_m=Fraction(1)))
    )
    assert turned(high, trim_rad=0.01, heel_rad=0.0).missing == ("components[SPARE].aft_in",)
    # A run that ends there, or a tank whose middle it marks, needs it as well.
    bare = replace(document.components[1], aft_m=None)
    fitting = replace(document, components=(document.components[0], bare, document.components[2]))
    assert turned(fitting, trim_rad=0.01, heel_rad=0.0).missing == ("components[V].aft_in",)
