"""A computed figure with what it rests on: the shape that the figures share."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import NamedTuple

from fuelsys.text import Figure, Text, figure_in

NO_INPUTS: Mapping[str, Figure] = MappingProxyType({})


class Computed(NamedTuple):
    """A figure, or why there is none: `missing` names the facts to survey.

    `limit` and `outcome` stand where the figure is held against one; `sizes` names what goes
    with it; `details` are further figures it is made of, and `choices` rows of them to pick from.
    """

    value: Fraction | float | None
    unit: str
    method: Text
    source: str
    inputs: Mapping[str, Figure] = NO_INPUTS
    assumptions: tuple[Text, ...] = ()
    missing: tuple[str, ...] = ()
    limit: Figure | None = None
    outcome: str | None = None
    sizes: tuple[str, ...] | None = None
    details: Mapping[str, Figure | None] | None = None
    choices: tuple[Mapping[str, Figure | None], ...] | None = None


ByEnd = Mapping[str, Mapping[str, Computed]]  # by segment, then "from" and "to"


def in_unit(value: Fraction | float, unit: str, *, computed: bool = False) -> Figure:
    """A value in its base unit as a figure in another."""
    return figure_in(value, unit, computed=computed)
