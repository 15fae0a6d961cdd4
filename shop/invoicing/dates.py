"""Days on the calendar: a term is counted in days or months, never in hours."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta

MONTHS_A_YEAR = 12


def due_on(day: date, days: int) -> date:
    """The day on which a bill of `day` is due; 0 days is on receipt.

    Examples
    --------
    >>> due_on(date(2026, 3, 1), 14)
    datetime.date(2026, 3, 15)
    """
    return day + timedelta(days=days)


def months_after(day: date, months: int) -> date:
    """The same day of a later month, or that month's last day.

    Examples
    --------
    >>> months_after(date(2026, 9, 18), 12), months_after(date(2026, 8, 31), 6)
    (datetime.date(2027, 9, 18), datetime.date(2027, 2, 28))
    """
    years, month = divmod(day.month - 1 + months, MONTHS_A_YEAR)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
