"""Whole numbers in what a browser sends by itself: the place of a row, a count, the id of a row.

`str.isdigit` is true of "²", which `int` does not read, and `int` refuses more than 4300 digits:
https://docs.python.org/3/library/stdtypes.html#str.isdigit and #int-max-str-digits there.
"""

from __future__ import annotations

MOST_DIGITS = 6
DIGITS_OF_A_KEY = 18  # as many as a 64-bit key holds, whatever they are


def whole_number(word: str, most: int = MOST_DIGITS) -> int | None:
    """The number that so many plain digits at most stand for; None for anything else.

    >>> whole_number("12"), whole_number("²"), whole_number("٣"), whole_number("9" * 7)
    (12, None, None, None)
    """
    plain = word.isascii() and word.isdecimal() and len(word) <= most
    return int(word) if plain else None
