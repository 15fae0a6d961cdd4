"""What pricing takes in and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

NEW = "new"  # the condition of a part that needs no word of its own


class PriceError(ValueError):
    """Something the price list or the rate card does not hold; the message says what."""


class LineKind(StrEnum):
    LABOR = "labor"
    PART = "part"
    SUPPLIES = "supplies"
    FEE = "fee"


@dataclass(frozen=True, slots=True)
class Priced:
    """One entry of the price list, as far as a price needs it."""

    sku: str
    description: str
    unit: str
    price: Decimal
    condition: str = NEW


@dataclass(frozen=True, slots=True)
class Rates:
    """The shop's rate card on one day."""

    labor_rate: Decimal
    access_hours: Mapping[str, Decimal]
    op_hours: Mapping[str, Decimal]
    op_text: Mapping[str, str]
    supplies_share: Decimal
    supplies_floor: Decimal
    supplies_cap: Decimal
    waste_flat: Decimal
    waste_per_gal: Decimal
    deposit_share: Decimal
    deposit_step: Decimal
    hose_add_in: Decimal
    hose_step_ft: Decimal
    fill_extra_hours: Decimal
    fill_extra_from_bore_in: Decimal = Decimal("1.5")


@dataclass(frozen=True, slots=True)
class Tax:
    """One tax profile on one day; `method` is "document" (once) or "line" (summed)."""

    rate: Decimal
    taxable_kinds: frozenset[LineKind]
    method: str = "document"


@dataclass(frozen=True, slots=True)
class SegmentWork:
    """One segment to be renewed: the hose or assembly, its clamps, its clips, its access."""

    ident: str
    label: str  # "fill", "vent", "feed", "generator feed", "pump to rail"
    access: str
    length_in: Decimal
    part: Priced  # sold by the foot (a hose) or each (an assembly)
    clamp: Priced | None = None
    clamps: int = 0
    clip: Priced | None = None
    clips: int = 0
    is_fill: bool = False
    bore_in: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Extra:
    """A part beside the segments: a valve, a filter element, a bulb."""

    part: Priced
    quantity: Decimal = Decimal(1)
    note: str = ""


@dataclass(frozen=True, slots=True)
class OptionWork:
    """All the work of one option of a quote."""

    segments: tuple[SegmentWork, ...]
    extras: tuple[Extra, ...] = ()
    tag: Priced | None = None
    fuel_moved_gal: Decimal = Decimal(0)
    fuel_wasted_gal: Decimal = Decimal(0)
    tank_systems: int = 0
    engines_run: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a quote; `group` is a segment id or one of the named groups."""

    number: int
    kind: LineKind
    ref: str
    description: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal
    is_taxable: bool
    group: str
    condition: str = NEW


@dataclass(frozen=True, slots=True)
class Totals:
    hours: Decimal
    labor: Decimal
    parts: Decimal
    supplies: Decimal
    fees: Decimal
    net: Decimal
    taxable: Decimal
    tax: Decimal
    total: Decimal = Decimal(0)
    deposit: Decimal = Decimal(0)
