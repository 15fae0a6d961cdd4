"""Document numbers: their forms, and the period in which each series counts.

Quotes `Q-YYMM-nnn` and jobs `J-YYMM-nnn` count by month, invoices `I-yy-nnnn` and
credit notes `C-yy-nnnn` by year. The day is the yard's local day: an invoice issued at
2026-01-01T03:30Z in New York belongs to 2025.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True)
class Form:
    letter: str
    by_month: bool
    digits: int  # at least; a longer number is written out in full


FORMS = {
    "quote": Form("Q", by_month=True, digits=3),
    "job": Form("J", by_month=True, digits=3),
    "invoice": Form("I", by_month=False, digits=4),
    "credit_note": Form("C", by_month=False, digits=4),
}

_BY_LETTER = {form.letter: kind for kind, form in FORMS.items()}
_NUMBER = re.compile(r"([QJIC])-([0-9]{2}|[0-9]{4})-([0-9]{3,9})")


def local_day(instant: datetime, time_zone: str) -> date:
    """The day on the yard's calendar at an instant.

    Examples
    --------
    >>> from datetime import timezone
    >>> local_day(datetime(2026, 1, 1, 3, 30, tzinfo=timezone.utc), "America/New_York")
    datetime.date(2025, 12, 31)
    """
    if instant.tzinfo is None:
        raise ValueError(f"{instant.isoformat()} has no time zone; the day is not known.")
    return instant.astimezone(ZoneInfo(time_zone)).date()


def local_minute(instant: datetime, time_zone: str) -> str:
    """An instant as the yard's clock shows it, with its offset, to be stored.

    Examples
    --------
    >>> from datetime import timezone
    >>> local_minute(datetime(2026, 9, 17, 14, 42, tzinfo=timezone.utc), "America/New_York")
    '2026-09-17T10:42-04:00'
    """
    return instant.astimezone(ZoneInfo(time_zone)).isoformat(timespec="minutes")


def wall_clock(text: str) -> datetime:
    """A stored local time as the yard's clock showed it; with a zone, a page would turn it to UTC.

    Examples
    --------
    >>> wall_clock("2026-09-17T10:42-04:00")
    datetime.datetime(2026, 9, 17, 10, 42)
    """
    return datetime.fromisoformat(text).replace(tzinfo=None)


def period_of(kind: str, day: date) -> str:
    """Key of the period in which a series counts.

    Examples
    --------
    >>> period_of("quote", date(2026, 9, 11)), period_of("invoice", date(2026, 9, 18))
    ('2609', '26')
    """
    return day.strftime("%y%m" if _form(kind).by_month else "%y")


def number_text(kind: str, period: str, number: int) -> str:
    """A number as it is printed.

    Examples
    --------
    >>> number_text("quote", "2609", 14), number_text("invoice", "26", 117)
    ('Q-2609-014', 'I-26-0117')
    """
    if number < 1:
        raise ValueError(f"Number {number} of series {kind} {period}: numbers start at 1.")
    form = _form(kind)
    return f"{form.letter}-{period}-{number:0{form.digits}d}"


def number_read(text: str) -> tuple[str, str, int]:
    """Kind, period and count of a printed number.

    Raises
    ------
    ValueError
        When the text has none of the forms above.

    Examples
    --------
    >>> number_read("C-26-0012")
    ('credit_note', '26', 12)
    """
    match = _NUMBER.fullmatch(text)
    if match is not None:
        kind, period, number = _BY_LETTER[match[1]], match[2], int(match[3])
        if number >= 1 and number_text(kind, period, number) == text and _is_period(kind, period):
            return kind, period, number
    raise ValueError(f"“{text}” is no document number. Examples: Q-2609-014, I-26-0117.")


def _is_period(kind: str, period: str) -> bool:
    if not FORMS[kind].by_month:
        return len(period) == 2
    return len(period) == 4 and 1 <= int(period[2:]) <= 12


def _form(kind: str) -> Form:
    try:
        return FORMS[kind]
    except KeyError:
        known = ", ".join(FORMS)
        raise ValueError(f"There is no number series “{kind}”. There are: {known}.") from None
