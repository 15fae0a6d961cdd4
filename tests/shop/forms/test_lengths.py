"""Lengths as people write them. Expected by definition: 12 in = 1 ft, 25.4 mm = 1 in."""

from fractions import Fraction

import pytest

from shop.forms.lengths import AmbiguousLengthError, LengthError, parse_length


@pytest.mark.parametrize(
    ("typed", "inches", "echo"),
    [
        ("90 in", 90, "7' 6\", 90 in"),
        ("7' 6\"", 90, "7' 6\", 90 in"),
        ("7'6", 90, "7' 6\", 90 in"),
        ("7′ 6″", 90, "7' 6\", 90 in"),
        ("7 ft 6 in", 90, "7' 6\", 90 in"),
        ("7ft. 6in.", 90, "7' 6\", 90 in"),
        ("7'-6\"", 90, "7' 6\", 90 in"),
        ("7 feet 6 inches", 90, "7' 6\", 90 in"),
        ("64", 64, "5' 4\", 64 in"),
        ("6'", 72, "6', 72 in"),
        ("27 ft 9 in", 333, "27' 9\", 333 in"),
        ("2.5 ft", 30, "2' 6\", 30 in"),
        ("3/8", Fraction(3, 8), "3/8 in"),
        ("1-1/2", Fraction(3, 2), "1-1/2 in"),
        ("1 1/2 in", Fraction(3, 2), "1-1/2 in"),
        ("1½", Fraction(3, 2), "1-1/2 in"),
        ("⅝", Fraction(5, 8), "5/8 in"),
        ("5' 6-1/2\"", Fraction(133, 2), "5' 6-1/2\", 66-1/2 in"),
        (".5", Fraction(1, 2), "1/2 in"),
        ("0.69", Fraction(69, 100), "0.69 in"),
        ("254 mm", 10, "254 mm, 10 in"),
        ("25.4 cm", 10, "254 mm, 10 in"),
        ("2.3 m", Fraction(11500, 127), "2.3 m, 90.55 in"),
        ("1,200 mm", Fraction(6000, 127), "1200 mm, 47.24 in"),
        ("  90 IN ", 90, "7' 6\", 90 in"),
    ],
)
def test_reads_and_says_back(typed: str, inches: int | Fraction, echo: str) -> None:
    length = parse_length(typed)
    assert length.inches == inches
    assert length.echo() == echo


@pytest.mark.parametrize(
    ("typed", "one", "other"),
    [
        ("7 6", "76 in", "7 ft 6 in"),
        ("7-6", "76 in", "7 ft 6 in"),
        ("10  4", "104 in", "10 ft 4 in"),
    ],
)
def test_two_whole_numbers_are_asked_about(typed: str, one: str, other: str) -> None:
    with pytest.raises(AmbiguousLengthError) as asked:
        parse_length(typed)
    assert asked.value.readings == (one, other)
    assert f"could be {one} or {other}. Which?" in str(asked.value)
    assert [parse_length(reading).unit for reading in asked.value.readings] == ["in", "in"]


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "  ",
        "long",
        "7,5",
        "7' 6' 2",
        "3/0",
        "1 2 3",
        "5 m 3",
        "7.5' 6\"",
        "7' 12\"",
        "1e3",
        "12 yd",
    ],
)
def test_refuses_and_says_how_to_write_it(typed: str) -> None:
    with pytest.raises(LengthError, match=r"Write|write"):
        parse_length(typed)


def test_a_length_has_no_sign_but_a_height_does() -> None:
    with pytest.raises(LengthError, match="below zero"):
        parse_length("-6")
    for typed in ("-6", "−6", "–6 in", "- 6"):
        assert parse_length(typed, signed=True).inches == -6
    assert parse_length("+10", signed=True).inches == 10
    assert parse_length("-1-1/2", signed=True).echo() == "−1-1/2 in"
    assert parse_length("-1' 6\"", signed=True).echo() == "−1' 6\", −18 in"


@pytest.mark.parametrize(
    ("typed", "unit", "fact"),
    [
        ("64", "in", 64),
        ("3/8", "in", "3/8"),
        ("0.375", "in", "3/8"),
        ("0.69", "in", 0.69),
        ("1/3", "in", "1/3"),
        ("2.3 m", "m", 2.3),
        ("6.4 cm", "mm", 64),
        ("7' 6\"", "in", 90),
    ],
)
def test_the_fact_keeps_the_unit_and_loses_nothing(typed: str, unit: str, fact: object) -> None:
    length = parse_length(typed)
    assert (length.unit, length.fact()) == (unit, fact)
