"""What one value of the document may be: how it is read, and its JSON Schema.

A shape reads a value in JSON's types and returns the fact as the model keeps it,
or raises `Misfit` with what it expected. Shapes hold no paths; the object that
contains the value knows where it stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, Final, Protocol

from fuelsys.document.model import PartialDate
from fuelsys.units import FRACTION_PATTERN, Unit, exact, fraction_text

Schema = dict[str, Any]

# No boat holds a number outside these, and within them no computation overflows.
LARGEST: Final = Fraction(10**12)
SMALLEST: Final = Fraction(1, 10**12)
MOST_DIGITS: Final = 400
A_NUMBER: Final = 'a number, or a text fraction such as "3/8" or "1-1/2"'

_ABSOLUTE_ZERO_C: Final = Fraction("-273.15")  # SI Brochure 9, 2.3.1: T/K = t/degC + 273.15
_DATE: Final = re.compile(r"([0-9]{4})(?:-([0-9]{2})(?:-([0-9]{2}))?)?")
_YEARS: Final = range(1800, 2200)
_YEAR_PATTERN: Final = "(18|19|20|21)[0-9]{2}"


class Misfit(Exception):
    """The value is not what the key holds."""

    def __init__(self, expected: str) -> None:
        super().__init__(expected)
        self.expected = expected


class Shape(Protocol):
    """One kind of value."""

    def read(self, value: object) -> object: ...
    def schema(self) -> Schema: ...


@dataclass(frozen=True, slots=True)
class Range:
    """The values a number may take; a bound that is None is not there."""

    low: Fraction | None = None
    high: Fraction | None = None
    open_low: bool = False

    def refuse_outside(self, number: Fraction) -> None:
        if self.low is not None and (number < self.low or (self.open_low and number == self.low)):
            raise Misfit(self.words())
        if self.high is not None and number > self.high:
            raise Misfit(self.words())

    def words(self) -> str:
        if self.low is None:
            return A_NUMBER
        if self.high is not None:
            return f"a number from {self.low} to {self.high}"
        return f"a number {'above' if self.open_low else 'not below'} {float(self.low):g}"

    def schema(self) -> Schema:
        bounds: Schema = {}
        if self.low is not None:
            bounds["exclusiveMinimum" if self.open_low else "minimum"] = float(self.low)
        if self.high is not None:
            bounds["maximum"] = float(self.high)
        return bounds


ANY = Range()
ABOVE_ZERO = Range(Fraction(0), open_low=True)
NOT_BELOW_ZERO = Range(Fraction(0))
PERCENT = Range(Fraction(0), Fraction(100))


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A number in one unit, kept in the base unit of its kind."""

    unit: Unit | None = None
    within: Range = ANY

    def read(self, value: object) -> Fraction:
        if isinstance(value, Decimal):
            return _read_decimal(self, value)
        return self._in_base(_number(value))

    def _in_base(self, number: Fraction) -> Fraction:
        self.within.refuse_outside(number)
        if self.unit is None:
            return number
        base = number * self.unit.factor
        if self.unit.kind == "temperature":
            base += self.unit.offset
            if base < _ABSOLUTE_ZERO_C:
                raise Misfit("a temperature above absolute zero, -273.15 °C")
        return base

    def schema(self) -> Schema:
        # A keyword of JSON Schema binds values of its own type only: bounds numbers, pattern text.
        bounds = self.within.schema()
        return {"type": ["number", "string"], **bounds, "pattern": FRACTION_PATTERN}


@dataclass(frozen=True, slots=True)
class NumberOr:
    """A number, or one word in its place."""

    number: Quantity
    word: str

    def read(self, value: object) -> Fraction | str:
        if value == self.word:
            return self.word
        try:
            return self.number.read(value)
        except Misfit as misfit:
            raise Misfit(f'{misfit.expected}, or "{self.word}"') from None

    def schema(self) -> Schema:
        return {**self.number.schema(), "pattern": f"^{self.word}$|{FRACTION_PATTERN}"}


@dataclass(frozen=True, slots=True)
class Flag:
    """True or false."""

    def read(self, value: object) -> bool:
        if not isinstance(value, bool):
            raise Misfit("true or false")
        return value

    def schema(self) -> Schema:
        return {"type": ["boolean"]}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, value: object) -> str:
        if not isinstance(value, str) or value not in self.words:
            raise Misfit(either(self.words))
        return value

    def schema(self) -> Schema:
        return {"enum": list(self.words)}


@dataclass(frozen=True, slots=True)
class Words:
    """Free text, as printed or written."""

    def read(self, value: object) -> str:
        if not isinstance(value, str):
            raise Misfit("text")
        refuse_unstorable(value)
        return value

    def schema(self) -> Schema:
        return {"type": ["string"]}


@dataclass(frozen=True, slots=True)
class Name:
    """An id, or a reference to one."""

    what: str = "an id"

    def read(self, value: object) -> str:
        if not isinstance(value, str) or not value.strip():
            raise Misfit(f"{self.what}: text that is not empty")
        refuse_unstorable(value)
        if value == "boat":
            raise Misfit(f'{self.what} other than "boat", which names the boat itself')
        return value

    def schema(self) -> Schema:
        return {"type": ["string"], "pattern": r"\S", "not": {"const": "boat"}}


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number, zero or more."""

    def read(self, value: object) -> int:
        number = None if isinstance(value, str) else _number(value, "a whole number, 0 or more")
        if number is None or number.denominator != 1 or number < 0:
            raise Misfit("a whole number, 0 or more")
        return int(number)

    def schema(self) -> Schema:
        return {"type": ["integer"], "minimum": 0}


@dataclass(frozen=True, slots=True)
class Year:
    """A calendar year, as a number or as its four digits."""

    def read(self, value: object) -> int:
        expected = f"a year from {_YEARS[0]} to {_YEARS[-1]}"
        if isinstance(value, str):
            if not re.fullmatch(r"[0-9]{4}", value) or int(value) not in _YEARS:
                raise Misfit(expected)
            return int(value)
        number = _number(value, expected)
        if number.denominator != 1 or int(number) not in _YEARS:
            raise Misfit(expected)
        return int(number)

    def schema(self) -> Schema:
        return {
            "type": ["integer", "string"],
            "minimum": _YEARS[0],
            "maximum": _YEARS[-1],
            "pattern": f"^{_YEAR_PATTERN}$",
        }


@dataclass(frozen=True, slots=True)
class Day:
    """A date to the year, the month or the day; a bare year may be a number."""

    year: Year = field(default_factory=Year)

    def read(self, value: object) -> PartialDate:
        expected = 'a calendar date as "YYYY", "YYYY-MM" or "YYYY-MM-DD"'
        try:
            if not isinstance(value, str):
                return PartialDate(self.year.read(value))
            match = _DATE.fullmatch(value)
            if match is None or int(match[1]) not in _YEARS:
                raise Misfit(expected)
            year, month, day = (int(part or 0) for part in match.groups())
            date(year, month if match[2] else 1, day if match[3] else 1)
        except (ValueError, Misfit):
            raise Misfit(expected) from None
        return PartialDate(year, month or None, day or None)

    def schema(self) -> Schema:
        month = r"(0[1-9]|1[0-2])"
        day = r"(0[1-9]|[12][0-9]|3[01])"
        return {**self.year.schema(), "pattern": f"^{_YEAR_PATTERN}(-{month}(-{day})?)?$"}


@lru_cache(maxsize=4096)
def _read_decimal(quantity: Quantity, value: Decimal) -> Fraction:
    # A survey repeats the same few sizes, and exact arithmetic is the slow part of reading.
    return quantity._in_base(_number(value))


def either(words: tuple[str, ...]) -> str:
    """The words as a list of choices, in the document's order."""
    if len(words) == 1:
        return f'"{words[0]}"'
    return "one of " + ", ".join(words)


def refuse_unstorable(text: str) -> None:
    """Raises Misfit for text that no UTF-8 file or database can hold."""
    if "\0" in text:
        raise Misfit("text without the NUL character")
    if not text.isascii() and any("\ud800" <= character <= "\udfff" for character in text):
        raise Misfit("text of whole characters (half a surrogate pair stands alone)")


def _number(value: object, expected: str = A_NUMBER) -> Fraction:
    if isinstance(value, str):
        number = fraction_text(value)
        if number is None:
            raise Misfit(expected)
        return number
    if isinstance(value, bool) or not isinstance(value, Decimal | int | float):
        raise Misfit(expected)
    if isinstance(value, Decimal):
        _refuse_size(value)
    elif value != value or not -LARGEST <= value <= LARGEST:
        raise Misfit("a number of a size that a boat can have")
    number = exact(value)
    if number and abs(number) < SMALLEST:
        raise Misfit("a number of a size that a boat can have")
    return number


def _refuse_size(value: Decimal) -> None:
    # Before any conversion: the exact form of 1e999999 has a million digits.
    if not value.is_finite() or (value and not -13 <= value.adjusted() <= 12):
        raise Misfit("a number of a size that a boat can have")
    if len(value.as_tuple().digits) > MOST_DIGITS:
        raise Misfit(f"a number of at most {MOST_DIGITS} digits")
