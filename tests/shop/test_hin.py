"""Reading hull numbers. The rows are of 33 CFR 181.25 and of published guides to older forms;
the makers' codes are invented."""

from __future__ import annotations

import doctest
from datetime import date

import pytest

from shop import hin
from shop.hin import hin_read

ON = date(2026, 9, 11)


@pytest.mark.parametrize(
    ("text", "form", "year", "month", "model_year", "verdict"),
    [
        ("QZX04217D819", "current", 2018, 4, 2019, "form_ok"),
        ("QZXA1B2CI016", "current", 2010, 9, 2016, "warn"),
        ("QZX12345M76A", "model_year", 1975, 8, 1976, "form_ok"),
        ("QZX12345M82H", "model_year", 1982, 3, 1982, "form_ok"),
        ("QZX123451275", "straight_year", 1975, 12, None, "form_ok"),
        ("QZX12345L495", "current", 1994, 12, 1995, "form_ok"),
        ("QZX12345C585", "current", 1985, 3, 1985, "form_ok"),
        # The demo boats.
        ("QVX23117H415", "current", 2014, 8, 2015, "form_ok"),
        ("BZQ27044C808", "current", 2008, 3, 2008, "form_ok"),
        ("PXQ34009K001", "current", 2000, 11, 2001, "form_ok"),
    ],
)
def test_decodes(
    text: str, form: str, year: int, month: int, model_year: int | None, verdict: str
) -> None:
    reading = hin_read(text, on=ON)
    assert (reading.form, reading.year, reading.month, reading.model_year) == (
        form,
        year,
        month,
        model_year,
    )
    assert reading.verdict == verdict


# The months of the older model-year form: A is August of the year before, L is July.
@pytest.mark.parametrize(
    ("letter", "year", "month"),
    [("A", 1980, 8), ("E", 1980, 12), ("F", 1981, 1), ("I", 1981, 4), ("L", 1981, 7)],
)
def test_the_model_year_begins_in_august(letter: str, year: int, month: int) -> None:
    reading = hin_read(f"QZX12345M81{letter}", on=ON)
    assert (reading.year, reading.month, reading.model_year) == (year, month, 1981)


# Position 9: A is January, L is December, and I is September (33 CFR 181.25).
@pytest.mark.parametrize(("letter", "month"), [("A", 1), ("H", 8), ("I", 9), ("L", 12)])
def test_the_month_letters_hold_an_i(letter: str, month: int) -> None:
    assert hin_read(f"QZX04217{letter}819", on=ON).month == month


@pytest.mark.parametrize(("digits", "model_year"), [("84", 1984), ("99", 1999), ("00", 2000)])
def test_the_century_turns_at_84(digits: str, model_year: int) -> None:
    digit = digits[1]
    assert hin_read(f"QZX04217A{digit}{digits}", on=ON).model_year == model_year


def test_a_gap_of_one_year_is_usual_and_of_two_is_doubted() -> None:
    assert hin_read("QZX04217D819", on=ON).notes == ()
    reading = hin_read("QZX04217D719", on=ON)
    assert reading.verdict == "warn"
    assert "check position 10" in str(reading.notes[0])


def test_a_date_ahead_is_doubted_from_the_next_month_on() -> None:
    assert hin_read("QZX04217I627", on=date(2026, 9, 30)).verdict == "form_ok"
    reading = hin_read("QZX04217I627", on=date(2026, 8, 31))
    assert reading.verdict == "warn"
    assert "2026-09 lies ahead" in str(reading.notes[0])


def test_offers_zero_for_the_letter_o() -> None:
    reading = hin_read("QZX0421OD819", on=ON)
    assert reading.verdict == "warn"
    assert [correction.hin for correction in reading.corrections] == ["QZX04210D819"]


def test_offers_the_letter_i_for_the_digit_1_in_position_9() -> None:
    reading = hin_read("QZX042171819", on=ON)
    assert reading.verdict == "invalid"
    assert [correction.hin for correction in reading.corrections] == ["QZX04217I819"]


def test_offers_one_for_the_letter_i_where_digits_stand() -> None:
    reading = hin_read("QZX0421ID8I9", on=ON)
    assert [correction.hin for correction in reading.corrections] == ["QZX04211D819"]


def test_month_13_is_refused_and_nothing_is_offered() -> None:
    reading = hin_read("QZX123451375", on=ON)
    assert reading.verdict == "invalid"
    assert str(reading.notes[0]) == "Positions 9 and 10 read month 13."
    assert reading.corrections == ()


def test_eleven_characters_ask_for_the_last() -> None:
    reading = hin_read("QZX1234D819", on=ON)
    assert reading.verdict == "incomplete"
    assert "wears first" in str(reading.notes[0])


@pytest.mark.parametrize("text", ["US-QZX04217D819", "USQZX04217D819", " us qzx-04217-d819 "])
def test_strips_separators_and_keeps_the_country_apart(text: str) -> None:
    reading = hin_read(text, on=ON)
    assert (reading.hin, reading.prefix, reading.verdict) == ("QZX04217D819", "US", "form_ok")
    assert reading.as_read == text


def test_seventeen_characters_are_a_trailer() -> None:
    assert "trailer" in str(hin_read("1ABCD23E4FG567890", on=ON).notes[0])


def test_a_digit_in_the_makers_code_is_doubted_not_refused() -> None:
    reading = hin_read("QZ104217D819", on=ON)
    assert (reading.verdict, reading.year) == ("warn", 2018)


@pytest.mark.parametrize("text", ["", "?", "É" * 12, "QZX04217Z8 19", "\u0000" * 12, "1" * 4000])
def test_never_raises_and_never_blocks(text: str) -> None:
    reading = hin_read(text, on=ON)
    assert reading.verdict != "form_ok"
    assert reading.notes


def test_the_examples_of_the_module_hold() -> None:
    result = doctest.testmod(hin)
    assert result.attempted >= 2
    assert result.failed == 0
