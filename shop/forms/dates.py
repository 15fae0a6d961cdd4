"""Dates of lesser precision, as they stand on builders' plates: 2008, March 2008, 2008-03-14."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from shop.digits import whole_number
from shop.forms.base import EARLY, FIRST_YEAR, YearField

MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_YEAR: Final = r"([0-9]{4})"
_READINGS: Final = (
    (re.compile(_YEAR), "y"),
    (re.compile(rf"{_YEAR}[-/.]([0-9]{{1,2}})"), "ym"),
    (re.compile(rf"{_YEAR}[-/.]([0-9]{{1,2}})[-/.]([0-9]{{1,2}})"), "ymd"),
    (re.compile(rf"([0-9]{{1,2}})/{_YEAR}"), "my"),
    (re.compile(rf"([0-9]{{1,2}})/([0-9]{{1,2}})/{_YEAR}"), "mdy"),
    (re.compile(rf"([a-z]+)\.? {_YEAR}"), "my"),
    (re.compile(rf"([a-z]+)\.? ([0-9]{{1,2}}),? {_YEAR}"), "mdy"),
)


class PartialDateField(forms.CharField):
    """A year, a month or a day; cleaned to the document's YYYY, YYYY-MM or YYYY-MM-DD."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.update({"class": "w8", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        typed = super().clean(value).strip()
        return read_partial_date(typed) if typed else None


def read_partial_date(typed: str) -> str:
    """The date as a document writes it.

    >>> read_partial_date("March 2008"), read_partial_date("3/14/2008"), read_partial_date("2008")
    ('2008-03', '2008-03-14', '2008')
    """
    plain = re.sub(r"\s+", " ", typed).lower()
    for pattern, order in _READINGS:
        if match := pattern.fullmatch(plain):
            parts = dict(zip(order, match.groups(), strict=True))
            if int(parts["y"]) < FIRST_YEAR:
                raise ValidationError(EARLY, params={"value": typed})
            if text := _written(parts):
                return text
    raise ValidationError(
        _("“%(typed)s” is not a date. Write 2008, March 2008 or 3/14/2008."),
        params={"typed": typed},
    )


def out_of_time(form: forms.Form, today: date | None) -> Iterator[tuple[str, str]]:
    """Years and days of a form that are still to come, each with what is said of it.

    A model year may be the next one: it begins before its calendar year does.
    """
    if today is None:
        return
    for name, field in form.fields.items():
        if not isinstance(field, YearField | PartialDateField):
            continue
        value = form.cleaned_data.get(name)
        latest = today.year + 1 if name.endswith("model_year") else today.year
        if value is not None and _is_after(str(value), latest, today):
            words = _("“%(value)s” is still to come. Today is %(today)s. Look at it again.")
            yield name, words % {"value": value, "today": today.isoformat()}


def _is_after(written: str, latest: int, today: date) -> bool:
    """Whether the earliest day that is meant lies after today."""
    parts = [int(part) for part in written.split("-")]
    if parts[0] != today.year:
        return parts[0] > latest
    return tuple(parts[1:]) > (today.month, today.day)[: len(parts) - 1]


def _written(parts: dict[str, str]) -> str | None:
    if "m" not in parts:
        return parts["y"]
    month = _month(parts["m"])
    try:
        day = date(int(parts["y"]), month, int(parts.get("d", "1")))
    except ValueError:
        return None
    return day.isoformat() if "d" in parts else f"{day:%Y-%m}"


def _month(word: str) -> int:
    number = whole_number(word)
    if number is not None:
        return number
    named = [place for place, name in enumerate(MONTHS, 1) if name.startswith(word)]
    return named[0] if len(named) == 1 and len(word) >= 3 else 0
