"""Reading a hull identification number. It helps the writer and never blocks a job.

The United States form has no check digit: form and plausibility can be tested, nothing
more, and `HinReading` claims nothing more.

Source: 33 CFR 181.23, 181.25 and 181.29 for the current form. The two older forms and the
country prefix are common practice without a published section; the months before the model
year in the older model-year form are derived from its August start.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from fuelsys.text import Text

CURRENT = "current"
MODEL_YEAR = "model_year"
STRAIGHT_YEAR = "straight_year"

FORM_OK = "form_ok"
WARN = "warn"
INVALID = "invalid"
INCOMPLETE = "incomplete"

_LENGTH = 12
_MONTH_LETTERS = "ABCDEFGHIJKL"
_SERIAL = re.compile(r"[A-HJ-NPR-Z0-9]{5}")  # 33 CFR 181.25: no I, O or Q in the serial number
_DIGITS = re.compile(r"[0-9]+")
SEPARATORS = re.compile(r"[\s\-‐‑–—]")
LOOK_ALIKES = {"O": "0", "Q": "0", "I": "1"}
LOOK_ALIKE = str.maketrans(LOOK_ALIKES)
# The forms before 1 August 1984 began with the boats of November 1972.
_OLD_FORM_YEARS = range(1972, 1985)


@dataclass(frozen=True, slots=True)
class Correction:
    """A likelier reading, to be offered, never applied unasked."""

    hin: str
    why: Text


@dataclass(frozen=True, slots=True)
class HinReading:
    as_read: str
    hin: str  # upper case, without separators and prefix
    prefix: str = ""
    verdict: str = INVALID
    form: str = ""
    maker: str = ""
    serial: str = ""
    year: int | None = None  # of certification or manufacture
    month: int | None = None
    model_year: int | None = None
    notes: tuple[Text, ...] = ()
    corrections: tuple[Correction, ...] = ()


@dataclass(frozen=True, slots=True)
class _Dates:
    form: str
    year: int
    month: int
    model_year: int | None = None
    notes: tuple[Text, ...] = ()


def hin_read(as_read: str, *, on: date) -> HinReading:
    """Decode a hull identification number as far as it goes.

    Parameters
    ----------
    as_read : str
        What was read off the boat.
    on : date
        The day of reading; a date of manufacture after it is doubted.

    Examples
    --------
    >>> reading = hin_read("QZX04217D819", on=date(2026, 9, 1))
    >>> reading.verdict, reading.year, reading.month, reading.model_year
    ('form_ok', 2018, 4, 2019)
    """
    reading = _decode(as_read, on)
    found = tuple(_corrections(reading, on))
    return replace(reading, corrections=found)


def _decode(as_read: str, on: date) -> HinReading:
    hin, prefix = _normalize(as_read)
    bare = HinReading(as_read=as_read, hin=hin, prefix=prefix)
    if len(hin) != _LENGTH:
        verdict = INCOMPLETE if len(hin) < _LENGTH else INVALID
        return replace(bare, verdict=verdict, notes=(_length_note(hin),))
    bare = replace(bare, maker=hin[:3], serial=hin[3:8])
    dates = _dates(hin[8:])
    if isinstance(dates, Text):
        return replace(bare, notes=(dates, *_letter_notes(hin)))
    notes = (*_letter_notes(hin), *dates.notes, *_future_notes(dates, on))
    return replace(
        bare,
        verdict=WARN if notes else FORM_OK,
        form=dates.form,
        year=dates.year,
        month=dates.month,
        model_year=dates.model_year,
        notes=notes,
    )


def hin_plain(as_read: str) -> str:
    """A number in upper case without the separators in which it was written.

    Examples
    --------
    >>> hin_plain("bzq-27044 C808")
    'BZQ27044C808'
    """
    return SEPARATORS.sub("", as_read).upper()


def hin_folded(as_read: str) -> str:
    """A number with the letters taken for the digits that they are read as, to be looked up.

    The serial number holds no I, O or Q (33 CFR 181.25); the maker's code and the month may, so
    that a folded number finds and never replaces the one on file.

    Examples
    --------
    >>> hin_folded("bzq-27O44 C8O8") == hin_folded("BZQ27044C808")
    True
    """
    return hin_plain(as_read).translate(LOOK_ALIKE)


def _normalize(as_read: str) -> tuple[str, str]:
    text = hin_plain(as_read)
    if len(text) == _LENGTH + 2 and text[:2].isalpha():
        return text[2:], text[:2]
    return text, ""


def _length_note(hin: str) -> Text:
    count = len(hin)
    if count == 0:
        return Text("No number yet. A hull identification number has 12 characters.")
    if count == _LENGTH - 1:
        return Text("11 characters of 12: look again for the last one, it wears first.")
    if count == 17:
        return Text("17 characters: this is usually the number of the trailer.")
    return Text(
        "{count} characters: not a standard number, which has 12. It is kept as read.",
        {"count": count},
    )


def _dates(tail: str) -> _Dates | Text:
    """Positions 9 to 12, in one of three forms."""
    if tail[0] == "M" and _DIGITS.fullmatch(tail[1:3]) and tail[3] in _MONTH_LETTERS:
        return _model_year_form(int(tail[1:3]), _MONTH_LETTERS.index(tail[3]))
    if _DIGITS.fullmatch(tail):
        return _straight_year_form(int(tail[:2]), int(tail[2:]))
    if tail[0] in _MONTH_LETTERS and _DIGITS.fullmatch(tail[1:]):
        return _current_form(_MONTH_LETTERS.index(tail[0]) + 1, int(tail[1]), int(tail[2:]))
    return Text("Positions 9 to 12, “{tail}”, have none of the known forms.", {"tail": tail})


def _model_year_form(yy: int, letter: int) -> _Dates:
    """A is August: A to E lie in the year before the model year, F to L in the year itself."""
    model_year = 1900 + yy
    year, month = (model_year - 1, letter + 8) if letter < 5 else (model_year, letter - 4)
    return _Dates(MODEL_YEAR, year, month, model_year, _old_form_notes(year))


def _straight_year_form(month: int, yy: int) -> _Dates | Text:
    if not 1 <= month <= 12:
        return Text("Positions 9 and 10 read month {month}.", {"month": f"{month:02d}"})
    return _Dates(STRAIGHT_YEAR, 1900 + yy, month, None, _old_form_notes(1900 + yy))


def _current_form(month: int, digit: int, yy: int) -> _Dates:
    """The year is the one ending in the digit nearest to the model year and not after it."""
    model_year = 1900 + yy if yy >= 84 else 2000 + yy
    gap = (model_year - digit) % 10
    notes = (
        (
            Text(
                "Year {year} and model year {model_year} lie apart: check position 10.",
                {"year": model_year - gap, "model_year": model_year},
            ),
        )
        if gap >= 2
        else ()
    )
    return _Dates(CURRENT, model_year - gap, month, model_year, notes)


def _old_form_notes(year: int) -> tuple[Text, ...]:
    if year in _OLD_FORM_YEARS:
        return ()
    return (Text("This form was used from 1972 to 1984, and it reads {year}.", {"year": year}),)


def _letter_notes(hin: str) -> tuple[Text, ...]:
    notes = []
    if not hin[:3].isalpha() or not hin[:3].isascii():
        notes.append(Text("The maker's code “{code}” is not three letters.", {"code": hin[:3]}))
    if not _SERIAL.fullmatch(hin[3:8]):
        notes.append(
            Text("The serial number “{serial}” holds I, O, Q or a sign.", {"serial": hin[3:8]})
        )
    return tuple(notes)


def _future_notes(dates: _Dates, on: date) -> tuple[Text, ...]:
    if (dates.year, dates.month) <= (on.year, on.month):
        return ()
    return (
        Text(
            "{year}-{month} lies ahead: check position 10.",
            {"year": dates.year, "month": f"{dates.month:02d}"},
        ),
    )


def _corrections(reading: HinReading, on: date) -> Iterator[Correction]:
    """Readings with letters and digits exchanged that decode without a doubt."""
    hin = reading.hin
    if len(hin) != _LENGTH or reading.verdict == FORM_OK:
        return
    serial = hin[3:8].translate(LOOK_ALIKE)
    digits = hin[9:].translate(LOOK_ALIKE)
    month = "I" if hin[8] == "1" else hin[8]
    letters_fixed = hin[:3] + serial + hin[8] + digits
    candidates = {
        letters_fixed: Text("0 for the letter O and 1 for the letter I, where digits stand."),
        hin[:8] + month + hin[9:]: Text("I, September, for the digit 1 in position 9."),
        hin[:3] + serial + month + digits: Text("Letters and digits that look alike exchanged."),
    }
    for candidate, why in candidates.items():
        if candidate != hin and _decode(candidate, on).verdict == FORM_OK:
            yield Correction(reading.prefix + candidate, why)
            return
