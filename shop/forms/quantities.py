"""Form fields for measured facts: the unit may be typed, and is kept as it was typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from fuelsys import units
from shop.forms.lengths import Length, LengthError, parse_length

# How people write the units of a document's keys, beside the printed labels themselves.
SPELLINGS: Final[dict[str, tuple[str, ...]]] = {
    "hp": ("hp", "horsepower", "bhp"),
    "kw": ("kw", "kilowatts"),
    "gal": ("gal", "gallons", "gallon"),
    "l": ("l", "liters", "liter"),
    "gph": ("gal/h", "gph", "gal/hr"),
    "lph": ("l/h", "lph"),
    "gpm": ("gal/min", "gpm"),
    "inhg": ("inhg", "in hg", '" hg'),
    "kpa": ("kpa",),
    "psi": ("psi",),
    "pct": ("%", "percent", "pct"),
    "f": ("°f", "f"),
    "c": ("°c", "c"),
}
_VALUE: Final = re.compile(r"(-?(?:\d+[ -])?\d+/\d+|-?\d*\.?\d+)\s*(.*)", re.DOTALL | re.ASCII)


@dataclass(frozen=True)
class Quantity:
    """A number and the unit it was given in."""

    value: int | float | str  # a fraction stays text, as in a document
    unit: str

    def text(self) -> str:
        return f"{number_text(self.value)} {units.label(self.unit)}"


class QuantityField(forms.CharField):
    """A measured fact such as "225 hp" or "168 kW"; without a unit the first one is meant."""

    def __init__(self, *, accepts: Iterable[str], width: str = "w8", **kwargs: Any) -> None:
        self.accepts = tuple(accepts)
        super().__init__(max_length=40, **kwargs)
        self.unit = units.label(self.accepts[0])
        self.widget.attrs.update({"class": width, "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        typed: str = super().clean(value)
        return self._read(typed.strip()) if typed.strip() else None

    def _read(self, typed: str) -> Quantity:
        number = typed.replace("½", " 1/2").replace("−", "-")
        number = re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", number).strip()
        match = _VALUE.fullmatch(number)
        suffix = self._suffix(match[2]) if match else None
        if match is None or suffix is None:
            raise ValidationError(
                _(
                    '"%(typed)s" is not read here. A number without a unit is in %(unit)s. '
                    "Units: %(units)s."
                )
                % {"typed": typed, "unit": self.unit, "units": self._unit_words()}
            )
        return Quantity(self._number(match[1], typed), suffix)

    def _number(self, text: str, typed: str) -> int | float | str:
        if "/" in text:
            if units.fraction_text(text) is None:
                raise ValidationError(_('"%(typed)s" divides by zero.') % {"typed": typed})
            return text.replace(" ", "-")
        if Fraction(text) < 0:
            raise ValidationError(
                _('"%(typed)s" is below zero. %(label)s is not.')
                % {"typed": typed, "label": self.label}
            )
        return int(text) if text.isdigit() else float(text)

    def _suffix(self, words: str) -> str | None:
        said = re.sub(r"\s+", " ", words).strip().rstrip(".").lower()
        if not said:
            return self.accepts[0]
        for suffix in self.accepts:
            if said in (*SPELLINGS.get(suffix, ()), suffix, units.label(suffix).lower()):
                return suffix
        return None

    def _unit_words(self) -> str:
        return ", ".join(units.label(suffix) for suffix in self.accepts)


class LengthField(forms.CharField):
    """A length or, when signed, a height, typed as people write it."""

    def __init__(self, *, signed: bool = False, width: str = "w8", **kwargs: Any) -> None:
        self.signed = signed
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.update({"class": width, "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        typed: str = super().clean(value)
        if not typed.strip():
            return None
        try:
            return parse_length(typed, signed=self.signed)
        except LengthError as problem:
            readings = getattr(problem, "readings", ())
            raise ValidationError(
                "%(problem)s", "length", {"problem": str(problem), "readings": readings}
            ) from problem


def number_text(value: int | float | str) -> str:
    """A number of a document as its own field reads it: without an exponent, however small."""
    return format(Decimal(repr(value)), "f") if isinstance(value, float) else str(value)


def length_fact_text(facts: dict[str, Any], stem: str) -> str:
    """A stored length as it stands in its field: inches alone, every other unit named."""
    for suffix in ("in", "ft", "mm", "m"):
        value = facts.get(f"{stem}_{suffix}")
        if value is not None:
            return number_text(value) if suffix == "in" else f"{number_text(value)} {suffix}"
    return ""


def quantity_fact_text(facts: dict[str, Any], stem: str, accepts: Iterable[str]) -> str:
    """A stored quantity as it stands in its field; the unit is written when it is not the first."""
    for position, suffix in enumerate(accepts):
        value = facts.get(f"{stem}_{suffix}")
        if value is not None:
            typed = number_text(value)
            return typed if position == 0 else f"{typed} {units.label(suffix)}"
    return ""


def length_of(value: Length | None) -> tuple[str, int | float | str] | None:
    """The document's unit suffix and value of a length."""
    return (value.unit, value.fact()) if value else None
