"""R11: the yard's day and year at every quarter of an hour around changes of clock and year.

The oracle knows six zones by their rules alone, without a zone database:
- New York, St John's: summer time from the second Sunday of March to the first of November,
  at 2:00 local (15 U.S.C. 260a; Newfoundland follows it, its own offset is 3 h 30 min).
- London: last Sundays of March and October at 1:00 UTC (Summer Time Order 2002).
- Sydney: from the first Sunday of October to the first of April, at 2:00 standard time
  (Standard Time Act 1987 of New South Wales).
- Auckland: from the last Sunday of September to the first of April, at 2:00 standard time
  (New Zealand Daylight Time Order 2007).
- Honolulu: UTC less ten hours, no summer time (Uniform Time Act, exempt).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop.invoicing import due_on, months_after
from shop.numbering import local_day, number_text, period_of
from tests.shop.trust.report import measured

pytestmark = pytest.mark.trust

QUARTER = timedelta(minutes=15)
SUNDAY = 6


@dataclass(frozen=True)
class Zone:
    name: str
    standard: timedelta  # from UTC
    begins: Callable[[int], datetime] | None = None  # of summer time, in UTC
    ends: Callable[[int], datetime] | None = None

    def is_summer(self, at: datetime) -> bool:
        if self.begins is None or self.ends is None:
            return False
        begins, ends = self.begins(at.year), self.ends(at.year)
        return begins <= at < ends if begins < ends else not ends <= at < begins

    def day(self, at: datetime) -> date:
        shift = self.standard + (timedelta(hours=1) if self.is_summer(at) else timedelta())
        return (at.replace(tzinfo=None) + shift).date()

    def day_without_summer(self, at: datetime) -> date:
        return (at.replace(tzinfo=None) + self.standard).date()


def sunday(year: int, month: int, number: int) -> datetime:
    """The first, second or last (-1) Sunday of a month, at midnight."""
    if number < 0:
        last = datetime(year, month, 30 if month in (4, 6, 9, 11) else 31)
        return last - timedelta(days=(last.weekday() - SUNDAY) % 7)
    first = datetime(year, month, 1)
    return first + timedelta(days=(SUNDAY - first.weekday()) % 7 + 7 * (number - 1))


def at(standard_h: float, month: int, number: int, clock_h: float) -> Callable[[int], datetime]:
    """A change on a Sunday at `clock_h` of a clock that is `standard_h` from UTC, in UTC."""
    return lambda year: (
        sunday(year, month, number) + timedelta(hours=clock_h - standard_h)
    ).replace(tzinfo=UTC)


ZONES = (
    Zone("America/New_York", timedelta(hours=-5), at(-5, 3, 2, 2), at(-4, 11, 1, 2)),
    Zone("America/St_Johns", timedelta(hours=-3.5), at(-3.5, 3, 2, 2), at(-2.5, 11, 1, 2)),
    Zone("Europe/London", timedelta(), at(0, 3, -1, 1), at(0, 10, -1, 1)),
    Zone("Australia/Sydney", timedelta(hours=10), at(10, 10, 1, 2), at(10, 4, 1, 2)),
    Zone("Pacific/Auckland", timedelta(hours=12), at(12, 9, -1, 2), at(12, 4, 1, 2)),
    Zone("Pacific/Honolulu", timedelta(hours=-10)),
)

ZONE_BY_NAME = {zone.name: zone for zone in ZONES}


def instants() -> Iterator[tuple[Zone, datetime]]:
    """Two days around each change of clock of 2026, and two around the end of the year."""
    for zone in ZONES:
        middles = [datetime(2026, 12, 31, 12, tzinfo=UTC)]
        middles += [change(2026) for change in (zone.begins, zone.ends) if change is not None]
        for middle in middles:
            start = middle.replace(hour=0, minute=0) - timedelta(days=1)
            yield from ((zone, start + QUARTER * step) for step in range(4 * 24 * 3))


def series_of(day: date) -> tuple[str, str]:
    return number_text("invoice", period_of("invoice", day), 1), period_of("quote", day)


def series_by_hand(day: date) -> tuple[str, str]:
    year = day.year % 100
    return f"I-{year:02d}-0001", f"{year:02d}{day.month:02d}"


def wrong(day_of: Callable[[datetime, str], date]) -> tuple[int, int]:
    """How many instants were tried, and at how many the day or the series was wrong."""
    tried = faults = 0
    for zone, instant in instants():
        tried += 1
        expected, found = zone.day(instant), day_of(instant, zone.name)
        faults += (found, *series_of(found)) != (expected, *series_by_hand(expected))
    return tried, faults


def days_late(day: date, days: int) -> date:
    """The calendar day that many days on, counted on the calendar's own pages."""
    return date.fromordinal(day.toordinal() + days)


def month_page(day: date, months: int) -> date:
    """The same day of a later month, found by turning pages one at a time."""
    year, month = day.year, day.month
    for _ in range(months):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    for number in (day.day, 30, 29, 28):
        try:
            return date(year, month, min(number, day.day))
        except ValueError:
            continue
    raise AssertionError(f"{year}-{month} has no 28th")


def test_no_day_and_no_series_is_wrong() -> None:
    with measured("R11") as counted:
        tried, faults = wrong(local_day)
        assert tried >= 4_000
        assert faults == 0
        terms = 0
        for zone, instant in instants():
            day = zone.day(instant)
            for days, months in ((0, 0), (14, 1), (30, 6), (90, 12), (365, 24)):
                assert due_on(day, days) == days_late(day, days)
                assert months_after(day, months) == month_page(day, months)
                terms += 2
        planted: tuple[Callable[[datetime, str], date], ...] = (
            lambda instant, zone: instant.date(),  # UTC's day
            lambda instant, zone: local_day(instant, "America/New_York"),  # the server's day
            lambda instant, zone: ZONE_BY_NAME[zone].day_without_summer(instant),
        )
        found = sum(1 for day_of in planted if wrong(day_of)[1])
        assert found == len(planted)
        counted.update(n=tried, terms=terms, faults=0, zones=len(ZONES), twin=f"{found}/3")


def test_the_example_that_is_always_named() -> None:
    """2026-01-01T03:30Z is still 2025 in New York."""
    instant = datetime(2026, 1, 1, 3, 30, tzinfo=UTC)
    assert local_day(instant, "America/New_York") == ZONES[0].day(instant) == date(2025, 12, 31)


def test_twin_a_term_counted_in_hours_is_found() -> None:
    """Fourteen times 24 hours from 23:30 before the clocks go forward end on the next day."""
    evening = datetime(2026, 3, 1, 23, 30, tzinfo=ZoneInfo("America/New_York"))
    later = (evening.astimezone(UTC) + timedelta(hours=24 * 14)).astimezone(evening.tzinfo)
    assert later.date() == date(2026, 3, 16)
    assert due_on(evening.date(), 14) == date(2026, 3, 15)
