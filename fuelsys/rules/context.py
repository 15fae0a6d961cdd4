"""What a check may look at: the graph, the date, its own parameters, the discharge results."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from fuelsys.document.model import Document
from fuelsys.graph import Graph
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.result import Discharge
from fuelsys.rules.own_numbers import LESS
from fuelsys.rules.parameters import ParameterNotInForceError, parameter
from fuelsys.text import Figure
from fuelsys.units import to_base

if TYPE_CHECKING:
    from fuelsys.rules.base import Rule


@dataclass(frozen=True, slots=True)
class VentReading:
    """Pressure in a tank while it is filled, as computed, against what its label allows."""

    outcome: str
    measured: Figure | None
    limit: Figure | None
    missing: tuple[str, ...] = ()


def _no_vents() -> Mapping[str, VentReading]:
    return {}


@dataclass(slots=True)
class DischargeResults:
    """The severed-hose and vent results of one evaluation, each computed once."""

    graph: Graph
    curves: bool = False
    known: dict[str, Discharge | None] = field(default_factory=dict)
    vents: Callable[[], Mapping[str, VentReading]] = _no_vents

    def of(self, segment_id: str) -> Discharge | None:
        if segment_id not in self.known:
            self.known[segment_id] = discharge(self.graph, segment_id, curves=self.curves)
        return self.known[segment_id]

    def vent(self, tank_id: str) -> VentReading | None:
        """The pressure reading of a tank; None where nobody computes it."""
        return self.graph.once("vent readings", self.vents).get(tank_id)


@dataclass(frozen=True, slots=True)
class Context:
    """The world as one rule sees it on one day."""

    graph: Graph
    on: date
    discharges: DischargeResults
    rule: Rule | None = None
    as_practice: bool = False  # 33 CFR 183 read as practice on a boat it does not bind

    @property
    def document(self) -> Document:
        return self.graph.document

    def _declared(self, key: str) -> Fraction | date:
        held = _held(self.rule.parameters if self.rule else (), key, self.on)
        if held is None:
            owner = self.rule.id if self.rule else "no rule"
            raise KeyError(f"{owner} does not declare a parameter {key!r}.")
        return held

    def own(self, key: str) -> Fraction | None:
        """The shop's own number in place of the declared parameter that ends in `key`.

        It asks more than the rule did when it was set; where the rule asks more since, that holds.
        """
        rule, numbers = self.rule, self.document.numbers
        if not numbers or rule is None or rule.own_number != key or rule.id not in numbers:
            return None
        return _tighter(rule.parameters, key, numbers[rule.id], rule.tighter, self.on)

    def value(self, key: str) -> Fraction:
        """The number of the declared parameter that ends in `key`, or the shop's own, in base
        units.
        """
        own = self.own(key)
        if own is not None:
            return own
        held = self._declared(key)
        if not isinstance(held, Fraction):
            raise TypeError(f"Parameter {key!r} is a date; use `day`.")
        return held

    def day(self, key: str) -> date:
        """The calendar day of the declared parameter that ends in `key`."""
        held = self._declared(key)
        if not isinstance(held, date):
            raise TypeError(f"Parameter {key!r} is a number; use `value`.")
        return held

    def discharge(self, segment_id: str) -> Discharge | None:
        return self.discharges.of(segment_id)


@lru_cache(maxsize=256)
def _tighter(
    declared: tuple[str, ...], key: str, number: Fraction, tighter: str, on: date
) -> Fraction:
    """What asks more on a day, in base units: the shop's own number or the rule's."""
    held = next(parameter(name) for name in declared if name.endswith("/" + key))
    own = number if held.unit == "count" else to_base(number, held.unit)
    try:
        asked = held.on(on)
    except ParameterNotInForceError:
        return own
    if not isinstance(asked, Fraction):
        raise TypeError(f"Parameter {key!r} is no number.")
    return min(own, asked) if tighter == LESS else max(own, asked)


@lru_cache(maxsize=4096)
def _held(declared: tuple[str, ...], key: str, on: date) -> Fraction | date | None:
    """What the declared parameter that ends in `key` holds on a day; None where none does."""
    name = next((name for name in declared if name.rsplit("/", 1)[1] == key), None)
    return None if name is None else parameter(name).on(on)


def segment_path(segment_id: str, *keys: str) -> str:
    """The document path of a segment's fact, e.g. segments[S3].hose.marking."""
    return ".".join((f"segments[{segment_id}]", *keys))


def end_path(segment_id: str, side: str, *keys: str) -> str:
    """The path of an end's fact, e.g. segments[S3].from_end.shape."""
    return segment_path(segment_id, f"{side}_end", *keys)


def clamp_path(segment_id: str, side: str, index: int, *keys: str) -> str:
    """The path of a clamp's fact, e.g. segments[S3].to_end.clamps[0].seat."""
    return end_path(segment_id, side, f"clamps[{index}]", *keys)


def component_path(component_id: str, *keys: str) -> str:
    return ".".join((f"components[{component_id}]", *keys))


def tank_path(tank_id: str, *keys: str) -> str:
    return ".".join((f"tanks[{tank_id}]", *keys))


def engine_path(engine_id: str, *keys: str) -> str:
    return ".".join((f"engines[{engine_id}]", *keys))


def compartment_path(compartment_id: str, *keys: str) -> str:
    return ".".join((f"compartments[{compartment_id}]", *keys))
