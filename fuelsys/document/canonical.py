"""The canonical input: the document as read, nulls dropped, units as given.

Serialised by RFC 8785 (JSON Canonicalization Scheme), so that the same facts
have the same SHA-256 however a file spaces or orders them.
"""

from __future__ import annotations

import hashlib
import json
import re
from decimal import Decimal
from fractions import Fraction
from typing import Final

import rfc8785

Plain = dict[str, "Plain"] | list["Plain"] | str | int | float | bool | None


_AS_THEY_ARE: Final = frozenset({str, bool, int})


def without_nulls(value: object) -> Plain:
    """The value in plain JSON types, keys that hold null left out.

    A whole number becomes an int and any other the nearest double, which is the
    number RFC 8785 writes.
    """
    if value is None or isinstance(value, (str, bool)):
        return value
    if isinstance(value, dict):
        return {
            key: held if type(held) in _AS_THEY_ARE else without_nulls(held)
            for key, held in value.items()
            if held is not None
        }
    if isinstance(value, (list, tuple)):
        return [without_nulls(held) for held in value]
    if isinstance(value, (int, float, Decimal, Fraction)):
        whole = int(value)
        return whole if whole == value else float(value)
    raise TypeError(f"{type(value).__name__} is no JSON type; give an object, list, text or number")


def canonical_bytes(plain: Plain) -> bytes:
    """The RFC 8785 form of plain JSON types, in UTF-8.

    Raises rfc8785.CanonicalizationError for what the RFC cannot write.
    """
    text = _quick(plain)
    return rfc8785.dumps(plain) if text is None else text.encode()


def sha256_of(plain: Plain) -> str:
    """The SHA-256 of the canonical form, in hexadecimal."""
    return hashlib.sha256(canonical_bytes(plain)).hexdigest()


# Where Python's own encoder may differ from RFC 8785: an exponent, a whole number
# beyond the exact ones, a float without fraction. A text that looks so costs time only.
_UNLIKE: Final = tuple(re.compile(sign) for sign in (r"e[-+]", r"[0-9]{16}", r"\.0(?![0-9])"))


def _quick(plain: Plain) -> str | None:
    """The same form from the standard encoder, ten times faster; None where it may differ."""
    try:
        text = _ENCODER.encode(plain)
    except ValueError:  # a number that is not finite: rfc8785 has the better message
        return None
    if not text.isascii() or any(sign.search(text) for sign in _UNLIKE):
        return None
    return text


_ENCODER: Final = json.JSONEncoder(
    ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
)
