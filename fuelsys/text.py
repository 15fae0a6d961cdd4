"""Sentences that people read, kept apart from their language.

The core speaks English; the web pages and papers translate the `msgid` and then
set the figures. A sentence is written with named places in braces:

>>> str(Text("{segment} holds {volume}.", {"segment": "S3", "volume": Figure(13.316, "floz")}))
'S3 holds 13.316 fl oz.'
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from fuelsys.units import from_base, label, plain

MEASURED_DIGITS = 6  # a measured figure is shown as it was taken
COMPUTED_DIGITS = 3  # a computed one claims no more than the method can


NO_PARAMS: Mapping[str, object] = {}  # of all sentences that name nothing; nobody writes to it


# Thousands of both stand in one evaluation: they set their fields at once, which takes half as
# long as a frozen dataclass's own way.
@dataclass(frozen=True, init=False)
class Figure:
    """A number with its unit; a computed figure slopes on screen and paper."""

    value: float | Fraction | Decimal | str
    unit: str = ""
    computed: bool = False

    def __init__(
        self, value: float | Fraction | Decimal | str, unit: str = "", computed: bool = False
    ) -> None:
        held = self.__dict__
        held["value"], held["unit"], held["computed"] = value, unit, computed

    def number(self) -> str:
        """The number alone, as it is printed."""
        if isinstance(self.value, str):
            return self.value
        return plain(self.value, COMPUTED_DIGITS if self.computed else MEASURED_DIGITS)

    def __str__(self) -> str:
        unit = label(self.unit)
        if unit == "%" or not unit:
            return self.number() + unit
        return f"{self.number()} {unit}"


@dataclass(frozen=True, init=False)
class Text:
    """A sentence to translate: `msgid` in English, and what stands at its named places."""

    msgid: str
    params: Mapping[str, object] = field(default_factory=dict)

    def __init__(self, msgid: str, params: Mapping[str, object] | None = None) -> None:
        held = self.__dict__
        held["msgid"], held["params"] = msgid, NO_PARAMS if params is None else params

    def render(self, translate: Callable[[str], str]) -> str:
        """The sentence in the language `translate` gives, sentences within it too."""
        return translate(self.msgid).format_map(
            {
                name: value.render(translate) if isinstance(value, Text) else str(value)
                for name, value in self.params.items()
            }
        )

    def __str__(self) -> str:
        return self.render(_english)


def figure_in(value: float | Fraction, unit: str, *, computed: bool = False) -> Figure:
    """A value in its base unit as a figure in another.

    >>> str(figure_in(Fraction("0.0381"), "in"))
    '1.5 in'
    """
    if type(value) is Fraction:
        return _figure_of(value.numerator, value.denominator, unit, computed)
    return Figure(from_base(value, unit), unit, computed)


# A boat repeats few bores and limits. By its two whole numbers: a Fraction's own hash is slow.
@lru_cache(maxsize=4096)
def _figure_of(top: int, under: int, unit: str, computed: bool) -> Figure:
    return Figure(from_base(Fraction(top, under), unit), unit, computed)


def _english(msgid: str) -> str:
    return msgid
