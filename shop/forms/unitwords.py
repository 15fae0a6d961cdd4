"""Units typed after a number: a field takes its own, and names another one that it refuses."""

from __future__ import annotations

import re
from typing import Any, Final

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

# The unit as labels print it, and how people write it; spellings, nothing is converted.
WORDS: Final[dict[str, tuple[str, ...]]] = {
    "gal": ("gal", "gallon", "gallons"),
    "L": ("l", "liter", "liters", "litre", "litres"),
    "ft": ("ft", "foot", "feet", "'"),
    "in": ("in", "inch", "inches", '"'),
    "mm": ("mm",),
    "cm": ("cm",),
    "m": ("m", "meter", "meters"),
    "s": ("s", "sec", "second", "seconds"),
    "min": ("min", "mins", "minute", "minutes"),
    "h": ("h", "hr", "hrs", "hour", "hours"),
    "psi": ("psi",),
    "kPa": ("kpa",),
    "bar": ("bar",),
    "inHg": ("inhg", "in hg", '" hg'),
    "ohm": ("ohm", "ohms", "ω"),
    "in-lb": ("in-lb", "in-lbs", "in lb", "inch-pounds"),
    "ft-lb": ("ft-lb", "ft-lbs", "ft lb", "foot-pounds"),
    "N·m": ("n·m", "nm", "n m"),
    "% LEL": ("% lel", "%lel", "lel", "%", "percent"),
    "%": ("%", "percent"),
    "°F": ("°f", "f"),
    "°C": ("°c", "c"),
    "years": ("years", "year", "yr", "yrs"),
    "degrees": ("°", "deg", "degree", "degrees"),
}
_TYPED: Final = re.compile(r"([-+−]?[0-9., /-]*[0-9.])\s*([^0-9.,/\s-].*)", re.ASCII)


def unit_of(own: str, label: str) -> str:
    """The unit a field reads: the one it is given, or the last word of its label."""
    if own in WORDS:
        return own
    last = label.rpartition(", ")[2]
    return next((u for u in WORDS if last == u or (last == label and _is(u, last))), "")


def number_of(typed: str, unit: str) -> str:
    """What was typed without its unit; another unit than the field's is refused by name."""
    match = _TYPED.fullmatch(typed)
    if match is None or not unit:
        return typed
    if _is(unit, match[2]):
        return match[1]
    other = next((name for name in WORDS if _is(name, match[2])), None)
    if other is None:
        return typed
    said: dict[str, Any] = {"typed": typed, "other": other, "unit": unit}
    words = _("“%(typed)s” is given in %(other)s; this is read in %(unit)s. Give it in %(unit)s.")
    raise ValidationError(words % said, code="unit")


def _is(unit: str, word: str) -> bool:
    said = re.sub(r"\s+", " ", word).strip()
    return said.rstrip(".").lower() in (*WORDS[unit], unit.lower())
