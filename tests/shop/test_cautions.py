"""Each caution stands where it must, and none speaks of a fuel that is not aboard."""

from __future__ import annotations

import pytest

from shop.cautions import CAUTIONS, cautions_for

OF_GASOLINE, OF_DIESEL = {1, 3}, {15}


def numbers(paper: str, *fuels: str) -> set[int]:
    return {caution.number for caution in cautions_for(paper, fuels)}


@pytest.mark.parametrize("paper", "QTC")
def test_a_boat_of_one_fuel_reads_nothing_of_the_other(paper: str) -> None:
    every = {caution.number for caution in CAUTIONS if paper in caution.on}
    assert numbers(paper, "gasoline") == every - OF_DIESEL
    assert numbers(paper, "diesel") == every - OF_GASOLINE


@pytest.mark.parametrize("fuels", [(), ("gasoline", "diesel"), ("diesel", "other")])
def test_nothing_is_left_out_where_both_are_aboard_or_nobody_knows(fuels: tuple[str, ...]) -> None:
    assert numbers("Q", *fuels) == {caution.number for caution in CAUTIONS if "Q" in caution.on}
