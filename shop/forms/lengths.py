"""Lengths as people write them: 7' 6", 90 in, 3/8, 2.3 m. Nothing is guessed.

What can be read in two ways is asked about; what was read is said back beside the field.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from django.utils.translation import gettext as _

from fuelsys.units import from_base, to_base
from shop.inches import decimal_text, ends, feet_text, fraction_text, inch_text, is_rule_fraction

METRIC: Final = {
    "mm": "mm",
    "millimeters": "mm",
    "cm": "cm",
    "centimeters": "cm",
    "m": "m",
    "meters": "m",
}
# Marks that stand for feet, inches and minus on screens, tablets and keyboards.
SAME_AS: Final = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "–": "-", "\u00a0": " "}
)
ONE_CHARACTER: Final = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}

_FRACTION: Final = r"\d+/\d+"
_NUMBER: Final = rf"(?:\d+[ -]{_FRACTION}|{_FRACTION}|\d+\.\d+|\.\d+|\d+)"
_FOOT_UNIT: Final = r"(?:'|ft\.?|feet|foot)"
_INCH_UNIT: Final = r"(?:\"|''|inches|inch|in\.?)"
_METRIC_UNIT: Final = r"(?:mm|cm|millimeters|centimeters|meters|m)"

FEET_AND_INCHES: Final = re.compile(
    rf"({_NUMBER}) ?{_FOOT_UNIT} ?-? ?({_NUMBER}) ?(?:{_INCH_UNIT})?", re.ASCII
)
FEET_ALONE: Final = re.compile(rf"({_NUMBER}) ?{_FOOT_UNIT}", re.ASCII)
INCHES_ALONE: Final = re.compile(rf"({_NUMBER}) ?(?:{_INCH_UNIT})?", re.ASCII)
METRIC_ALONE: Final = re.compile(rf"({_NUMBER}) ?({_METRIC_UNIT})", re.ASCII)
TWO_NUMBERS: Final = re.compile(r"(\d+)[ -](\d+)", re.ASCII)


class LengthError(ValueError):
    """A length that cannot be read; the message says what to write instead."""


class AmbiguousLengthError(LengthError):
    """A length that reads in two ways; `readings` are the two, ready to be typed."""

    def __init__(self, message: str, readings: tuple[str, str]) -> None:
        super().__init__(message)
        self.readings = readings


@dataclass(frozen=True)
class Length:
    """A length with the unit its writer used; feet and inches are kept in inches."""

    value: Fraction
    unit: str  # "in", "mm" or "m", as a key of the fuel-system document ends

    @property
    def inches(self) -> Fraction:
        return from_base(to_base(self.value, self.unit), "in")

    def fact(self) -> int | float | str:
        """The value as a document holds it: a number, or a text fraction that stays exact."""
        if self.value.denominator == 1:
            return int(self.value)
        if is_rule_fraction(self.value) or not ends(self.value):
            return fraction_text(self.value)
        return float(self.value)

    def echo(self) -> str:
        """What was read, said back: 7' 6", 90 in."""
        inches = inch_text(self.inches)
        if self.unit != "in":
            return f"{decimal_text(self.value)} {self.unit}, {inches} in"
        if abs(self.inches) < 12:
            return f"{inches} in"
        return f"{feet_text(self.inches)}, {inches} in"


def parse_length(text: str, *, signed: bool = False) -> Length:
    """Read a length; a number without a unit is inches, as the trade measures.

    Raises
    ------
    AmbiguousLengthError
        Two whole numbers side by side: "7 6" is 76 in or 7 ft 6 in.
    LengthError
        Anything else that is not a length; the message says how to write it.

    Examples
    --------
    >>> parse_length("7' 6").echo()
    '7\\' 6", 90 in'
    >>> parse_length("1-1/2").echo()
    '1-1/2 in'
    >>> parse_length("2.3 m").echo()
    '2.3 m, 90.55 in'
    """
    typed = text.strip()
    plain = _plain(typed)
    negative = plain.startswith("-")
    if negative and not signed:
        raise LengthError(_('"%(typed)s" is below zero. A length is not.') % {"typed": typed})
    length = _read(plain.lstrip("+-").strip(), typed)
    return Length(-length.value, length.unit) if negative else length


def _plain(text: str) -> str:
    for mark, words in ONE_CHARACTER.items():
        text = text.replace(mark, f" {words}")
    text = re.sub(r"\s+", " ", text.translate(SAME_AS)).strip().lower()
    text = re.sub(r" ?/ ?", "/", text)
    return re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", text)


def _read(plain: str, typed: str) -> Length:
    if not plain:
        raise LengthError(_("No length is written. Write it as 64, 7' 6\" or 2.3 m."))
    if two := TWO_NUMBERS.fullmatch(plain):
        raise _ask(two[1], two[2], typed)
    if both := FEET_AND_INCHES.fullmatch(plain):
        return Length(_feet_and_inches(both[1], both[2], typed), "in")
    if feet := FEET_ALONE.fullmatch(plain):
        return Length(_number(feet[1], typed) * 12, "in")
    if inches := INCHES_ALONE.fullmatch(plain):
        return Length(_number(inches[1], typed), "in")
    if metric := METRIC_ALONE.fullmatch(plain):
        return _metric(_number(metric[1], typed), METRIC[metric[2]])
    raise LengthError(
        _('"%(typed)s" is not a length. Write it as 64, 7\' 6", 3/8 or 2.3 m.') % {"typed": typed}
    )


def _ask(first: str, second: str, typed: str) -> AmbiguousLengthError:
    readings = (f"{first}{second} in", f"{first} ft {second} in")
    message = _('"%(typed)s" could be %(one)s or %(other)s. Which?') % {
        "typed": typed,
        "one": readings[0],
        "other": readings[1],
    }
    return AmbiguousLengthError(message, readings)


def _feet_and_inches(feet_typed: str, inches_typed: str, typed: str) -> Fraction:
    feet, inches = _number(feet_typed, typed), _number(inches_typed, typed)
    if feet.denominator != 1 or inches >= 12:
        raise LengthError(
            _(
                '"%(typed)s" does not add up: whole feet, then fewer than 12 inches. '
                "Or write inches alone."
            )
            % {"typed": typed}
        )
    return feet * 12 + inches


def _metric(value: Fraction, unit: str) -> Length:
    return Length(value * 10, "mm") if unit == "cm" else Length(value, unit)


def _number(text: str, typed: str) -> Fraction:
    total = Fraction(0)
    for part in re.split(r"[ -]", text):
        try:
            total += Fraction(part)
        except ZeroDivisionError:
            raise LengthError(
                _('"%(typed)s" divides by zero. Write it as 64, 7\' 6" or 3/8.') % {"typed": typed}
            ) from None
    return total
