"""Shapes and keys that several tables of the document have in common."""

from __future__ import annotations

from typing import Final

from fuelsys.document.shapes import (
    NOT_BELOW_ZERO,
    Choice,
    Day,
    Flag,
    Name,
    NumberOr,
    Quantity,
    Words,
    Year,
)
from fuelsys.document.table import Key, ListOf, Reference, key
from fuelsys.units import UNITS

FLAG, WORDS, DAY, YEAR = Flag(), Words(), Day(), Year()
ANY_NUMBER = Quantity(within=NOT_BELOW_ZERO)
GROUND = NumberOr(Quantity(UNITS["ohm"], NOT_BELOW_ZERO), "open")
FUEL_KIND = Choice(("gasoline", "diesel"))
COMPARTMENT_KEY = key("compartment", Reference("the id of a compartment", to="compartments"))
TANK_KEY = key("tank", Reference("the id of a tank", to="tanks"))
ID = key("id", Name(), required=True)

CONDITIONS: Final = ("good", "watch", "replace_soon", "replace_now", "do_not_run", "not_seen")
OBSERVATIONS: Final = (
    "hardened",
    "crazed",
    "cracked",
    "swollen",
    "delaminated",
    "collapsed",
    "kinked",
    "chafed",
    "weeping",
    "permeating",
    "chalked",
    "band_cut",
    "burned",
)


def flags(*names: str) -> tuple[tuple[Key, ...], ...]:
    return tuple(key(name, FLAG) for name in names)


GRADE = (
    key("condition", Choice(CONDITIONS)),
    key("observations", ListOf(Choice(OBSERVATIONS))),
)
