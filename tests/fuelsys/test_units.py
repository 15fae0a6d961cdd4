"""Conversions against published figures, never against the table itself."""

from __future__ import annotations

import doctest
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys import units
from fuelsys.units import (
    BASE_SUFFIX,
    UNITS,
    fraction_text,
    from_base,
    plain,
    significant,
    to_base,
    units_of,
)

# NIST SP 811 (2008), appendix B.8, to the digits printed there.
PUBLISHED = [
    ("in", 1, 0.0254),
    ("ft", 1, 0.3048),
    ("mm", 1, 0.001),
    ("m", 1, 1),
    ("gal", 1, 3.785412e-3),
    ("l", 1, 1e-3),
    ("ml", 1, 1e-6),
    ("floz", 1, 2.957353e-5),
    ("ft3", 1, 2.831685e-2),
    ("m3", 1, 1),
    ("psi", 1, 6.894757e3),
    ("kpa", 1, 1000),
    ("inhg", 1, 3.38639e3),
    ("f", 212, 100),
    ("f", 32, 0),
    ("f", -40, -40),
    ("c", 20, 20),
    ("hp", 1, 7.456999e2),
    ("kw", 1, 1000),
    ("gph", 1, 1.051503e-6),
    ("gpm", 1, 6.309020e-5),
    ("lph", 3600, 1e-3),
    ("lpm", 60, 1e-3),
    ("cfm", 1, 4.719474e-4),
    ("in2", 1, 6.4516e-4),
    ("ft2", 1, 9.290304e-2),
    ("cm2", 1, 1e-4),
    ("m2", 1, 1),
    ("s", 1, 1),
    ("min", 1, 60),
    ("pct", 10, 10),
    ("g_day", 1, 1),
    ("ohm", 1, 1),
]

numbers = st.fractions(min_value=-(10**9), max_value=10**9, max_denominator=10**6)


@pytest.mark.parametrize(("suffix", "value", "base"), PUBLISHED)
def test_a_unit_converts_as_published(suffix: str, value: int, base: float) -> None:
    assert float(to_base(value, suffix)) == pytest.approx(base, rel=5e-7)


def test_every_unit_is_held_against_a_published_figure() -> None:
    assert {suffix for suffix, _, _ in PUBLISHED} == set(UNITS)


def test_every_kind_has_a_base_and_units() -> None:
    assert {unit.kind for unit in UNITS.values()} == set(BASE_SUFFIX)
    assert [unit.suffix for unit in units_of("flow")] == ["gph", "gpm", "lph", "lpm", "cfm"]


@given(numbers, st.sampled_from(sorted(UNITS)))
def test_there_and_back_is_exact(value: Fraction, suffix: str) -> None:
    assert from_base(to_base(value, suffix), suffix) == value


def test_the_same_length_in_two_units_is_one_number() -> None:
    assert to_base(Fraction(3, 2), "in") == to_base(Decimal("38.1"), "mm") == to_base(38.1, "mm")


def test_the_limit_of_five_fluid_ounces_is_exact() -> None:
    # US fluid ounce: 29.5735295625 mL, exact by definition of the gallon (231 in3) / 128.
    assert to_base(5, "floz") == Fraction("147.8676478125") / 1_000_000
    assert to_base(128, "floz") == to_base(1, "gal") == 231 * to_base(1, "in") ** 3


def test_an_unknown_unit_is_an_error() -> None:
    with pytest.raises(KeyError):
        to_base(1, "furlong")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("NaN"), Decimal("-inf")])
def test_a_number_that_is_not_finite_is_refused(value: float | Decimal) -> None:
    for act in (units.exact, significant, plain):
        with pytest.raises(ValueError, match="not a finite number"):
            act(value)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3/8", Fraction(3, 8)),
        ("1-1/2", Fraction(3, 2)),
        ("1 1/2", Fraction(3, 2)),
        (" 5/16 ", Fraction(5, 16)),
        ("-1 1/2", Fraction(-3, 2)),
        ("12/4", Fraction(3)),
        ("3/0", None),
        ("1.5", None),
        ("15", None),
        ("1/2/3", None),
        ("1--1/2", None),
        ("½", None),
        ("٣/٨", None),
        ("", None),
        ("9" * 5000 + "/2", None),
    ],
)
def test_text_fractions(text: str, number: Fraction | None) -> None:
    assert fraction_text(text) == number


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (Fraction(1, 3), 0.333333),
        (147.8676478125, 147.868),
        (1234567.0, 1234570),
        (5.0, 5),
        (-0.0, 0),
        (0.00001234565, 0.0000123456),  # the double lies just below the half
        (Decimal("2.5"), 2.5),
    ],
)
def test_six_significant_digits(value: float | Decimal | Fraction, shown: float) -> None:
    rounded = significant(value)
    assert rounded == shown
    assert isinstance(rounded, int) == (float(rounded).is_integer())


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e15, max_value=1e15))
def test_six_digits_agree_with_the_formatting_of_the_standard_library(value: float) -> None:
    assert float(significant(value)) == float(f"{value:.6g}")


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(8411.2, 3, "8410"), (0, 6, "0"), (1e-9, 3, "0.000000001"), (Fraction(2, 3), 3, "0.667")],
)
def test_a_number_as_people_write_it(value: float, digits: int, text: str) -> None:
    assert plain(value, digits) == text


def test_the_examples_of_the_docstrings_hold() -> None:
    assert doctest.testmod(units).failed == 0
