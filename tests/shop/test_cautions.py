"""Each caution stands where it must, and none speaks of a fuel that is not aboard."""

from __future__ import annotations

import pytest

from shop.cautions import CAUTIONS, cautions_for

OF_GASOLINE, OF_DIESEL = {1, 3}, {15}


def numbers(paper: str, *fuels: str) -> set[int]:
    return {caution.number for caution in cautions_for(paper, fuels)}


@pytest.mark.parametrize("paper", "QHTC")
def test_a_boat_of_one_fuel_reads_nothing_of_the_other(paper: str) -> None:
    every = {caution.number for caution in CAUTIONS if paper in caution.on}
    assert numbers(paper, "gasoline") == every - OF_DIESEL
    assert numbers(paper, "diesel") == every - OF_GASOLINE


@pytest.mark.parametrize("fuels", [(), ("gasoline", "diesel"), ("diesel", "other")])
def test_nothing_is_left_out_where_both_are_aboard_or_nobody_knows(fuels: tuple[str, ...]) -> None:
    assert numbers("Q", *fuels) == {caution.number for caution in CAUTIONS if "Q" in caution.on}


def words(paper: str) -> str:
    return " ".join(str(caution.text) for caution in cautions_for(paper, ["gasoline"]))


def test_a_change_order_has_each_caution_of_a_quote() -> None:
    assert numbers("H", "gasoline") == numbers("Q", "gasoline")


@pytest.mark.parametrize(
    ("paper", "named"), [("Q", "This quote "), ("H", "This change order "), ("C", "This record ")]
)
def test_each_paper_is_called_what_it_is(paper: str, named: str) -> None:
    said = words(paper)
    assert [
        name for name in ("This quote ", "This change order ", "This record ") if name in said
    ] == [named]
    assert ("were not repaired" in said) == (paper == "C")  # an offer comes before the work


@pytest.mark.parametrize("paper", "QHC")
def test_no_paper_calls_itself_a_certificate(paper: str) -> None:
    assert "not a certificate that the boat meets any law or standard" in words(paper)
