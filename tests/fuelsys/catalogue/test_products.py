"""What a hose class says, and which clamps never go on fuel."""

from __future__ import annotations

from typing import Any

import pytest

from fuelsys.catalogue.clamp import WORM_DRIVE_SIZES, ClampProduct, has_screw, unfit_for_fuel
from fuelsys.catalogue.hose import HoseProduct


@pytest.mark.parametrize(
    ("mark", "fire_rated", "feed_grade"),
    [
        # 33 CFR 183.540: the letter is the fire test, the digit the permeation class.
        ("A1", True, True),
        ("A2", True, False),
        ("B1", False, True),
        ("B2", False, False),
        ("NONE", False, False),
    ],
)
def test_letter_is_fire_and_digit_is_permeation(
    mark: str, fire_rated: bool, feed_grade: bool
) -> None:
    hose = HoseProduct("H", mark, 0.0095)
    assert (hose.fire_rated, hose.feed_grade) == (fire_rated, feed_grade)


@pytest.mark.parametrize(
    ("changes", "reasons"),
    [
        ({}, ()),
        ({"kind": "ear", "screw_material": None}, ()),
        (
            {"band": "perforated", "screw_material": "plated_steel"},
            ("perforated_band", "screw_not_stainless"),
        ),
        ({"band_material": "plated_steel"}, ("band_not_stainless",)),
        ({"kind": "tie", "band_material": "plastic", "screw_material": None}, ("tie",)),
        ({"kind": "spring", "screw_material": None}, ("spring_tension",)),
        ({"kind": "constant_tension", "screw_material": None}, ("spring_tension",)),
        ({"kind": "constant_tension"}, ()),
    ],
)
def test_clamps_that_never_go_on_fuel(changes: dict[str, Any], reasons: tuple[str, ...]) -> None:
    facts = {"kind": "worm_drive", "screw_material": "stainless"} | changes
    assert unfit_for_fuel(ClampProduct("C", facts.pop("kind"), 0.009, 0.015, 0.02, **facts)) == (
        reasons
    )


@pytest.mark.parametrize(
    ("kind", "action", "expected"),
    [
        ("worm_drive", None, True),
        ("t_bolt", "screw", True),
        ("ear", "crimped", False),
        ("spring", None, False),
        ("constant_tension", "screw", True),
        ("constant_tension", "spring", False),
        ("constant_tension", None, None),
        (None, None, None),
    ],
)
def test_which_clamps_have_a_screw(
    kind: str | None, action: str | None, expected: bool | None
) -> None:
    assert has_screw(kind, action) is expected


def test_standard_sizes_rise_and_have_a_range() -> None:
    smallest = [size.minimum_mm for size in WORM_DRIVE_SIZES]
    largest = [size.maximum_mm for size in WORM_DRIVE_SIZES]
    assert smallest == sorted(smallest)
    assert largest == sorted(largest)
    assert all(size.minimum_mm < size.maximum_mm for size in WORM_DRIVE_SIZES)
