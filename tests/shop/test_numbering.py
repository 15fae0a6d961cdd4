"""Forms of document numbers as the demo prints them, and the day they belong to."""

from __future__ import annotations

import doctest
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop import numbering


# Numbers of the demo scenario.
@pytest.mark.parametrize(
    ("kind", "day", "count", "text"),
    [
        ("quote", date(2026, 9, 11), 14, "Q-2609-014"),
        ("job", date(2026, 10, 7), 3, "J-2610-003"),
        ("invoice", date(2026, 9, 18), 117, "I-26-0117"),
        ("credit_note", date(2026, 9, 24), 12, "C-26-0012"),
        ("quote", date(2026, 9, 11), 1000, "Q-2609-1000"),
    ],
)
def test_number_of_a_day(kind: str, day: date, count: int, text: str) -> None:
    period = numbering.period_of(kind, day)
    assert numbering.number_text(kind, period, count) == text
    assert numbering.number_read(text) == (kind, period, count)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Q-26-014",
        "Q-2613-014",
        "Q-2600-001",
        "I-2609-0117",
        "I-26-117",
        "I-26-00117",
        "X-26-0001",
        "I-26-0000",
        "i-26-0117",
        "I-26-0117 ",
        "I-26-٠١١٧",
    ],
)
def test_reads_no_other_form(text: str) -> None:
    with pytest.raises(ValueError, match="no document number"):
        numbering.number_read(text)


def test_numbers_start_at_one() -> None:
    with pytest.raises(ValueError, match="start at 1"):
        numbering.number_text("invoice", "26", 0)


def test_an_unknown_series_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="“receipt”"):
        numbering.period_of("receipt", date(2026, 1, 1))


def test_the_evening_of_new_year_in_new_york_is_the_old_year() -> None:
    instant = datetime(2026, 1, 1, 3, 30, tzinfo=UTC)
    day = numbering.local_day(instant, "America/New_York")
    assert day == date(2025, 12, 31)
    assert numbering.period_of("invoice", day) == "25"


def test_a_time_without_a_zone_has_no_day() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        numbering.local_day(datetime(2026, 1, 1), "America/New_York")


# Offsets from UTC in hours. United States: 15 U.S.C. 260a and 261, clocks change on the second
# Sunday of March and the first of November. London and Sydney: their published clock changes.
ZONES = {
    "America/New_York": [
        (date(2026, 1, 1), -5),
        (date(2026, 3, 8), -5),
        (date(2026, 3, 9), -4),
        (date(2026, 11, 2), -5),
    ],
    "America/Los_Angeles": [
        (date(2026, 1, 1), -8),
        (date(2026, 3, 9), -7),
        (date(2026, 11, 2), -8),
    ],
    "America/Anchorage": [(date(2026, 1, 1), -9), (date(2026, 7, 1), -8)],
    "Pacific/Honolulu": [(date(2026, 1, 1), -10), (date(2026, 7, 1), -10)],
    "Europe/London": [(date(2026, 1, 1), 0), (date(2026, 3, 30), 1), (date(2026, 10, 26), 0)],
    "Australia/Sydney": [(date(2026, 1, 1), 11), (date(2026, 7, 1), 10)],
}


@pytest.mark.parametrize("zone", ZONES)
def test_the_day_changes_at_local_midnight(zone: str) -> None:
    """A quarter of an hour before midnight is the day before; midnight is the day."""
    for day, offset in ZONES[zone]:
        midnight = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(hours=offset)
        before = midnight - timedelta(minutes=15)
        assert numbering.local_day(midnight, zone) == day
        assert numbering.local_day(before, zone) == day - timedelta(days=1)
        assert numbering.local_day(midnight.astimezone(ZoneInfo("Asia/Tokyo")), zone) == day


def test_the_examples_of_the_module_hold() -> None:
    result = doctest.testmod(numbering)
    assert result.attempted >= 4
    assert result.failed == 0
