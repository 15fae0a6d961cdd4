"""The lines of one option, in the order in which the work is done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from shop.money import line_amount, supplies_amount
from shop.pricing.model import (
    NEW,
    Extra,
    Line,
    LineKind,
    OptionWork,
    Priced,
    PriceError,
    Rates,
    SegmentWork,
    Tax,
)

# The groups under which lines that belong to no segment stand on paper.
GROUP_SAFE = "safe"
GROUP_PARTS = "parts"
GROUP_TEST = "test"
GROUP_CHARGES = "charges"

INCHES_A_FOOT = Decimal(12)
PER_HOUR = "h"
CENTS = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class _Draft:
    kind: LineKind
    ref: str
    description: str
    quantity: Decimal
    unit: str
    price: Decimal
    group: str
    condition: str = NEW


def hose_charged_ft(length_in: Decimal, rates: Rates) -> Decimal:
    """Feet of hose charged: measured length plus trim, up to the next step.

    Parameters
    ----------
    length_in : Decimal
        Measured length along the hose [in].

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> card = SimpleNamespace(hose_add_in=Decimal(4), hose_step_ft=Decimal("0.5"))
    >>> hose_charged_ft(Decimal(168), card)
    Decimal('14.5')
    >>> hose_charged_ft(Decimal(8), card)
    Decimal('1.0')
    """
    feet = (length_in + rates.hose_add_in) / INCHES_A_FOOT
    steps = (feet / rates.hose_step_ft).to_integral_value(rounding=ROUND_CEILING)
    return steps * rates.hose_step_ft


def segment_hours(work: SegmentWork, rates: Rates) -> Decimal:
    """Hours to renew one segment [h]: its access class, and the addition for a wide fill hose."""
    try:
        hours = rates.access_hours[work.access]
    except KeyError:
        known = ", ".join(sorted(rates.access_hours))
        raise PriceError(
            f"{work.ident}: access class “{work.access or 'not set'}” is not on the rate card "
            f"({known}). Set it on the segment."
        ) from None
    return hours + (rates.fill_extra_hours if _is_wide_fill(work, rates) else Decimal(0))


def option_lines(work: OptionWork, rates: Rates, tax: Tax) -> tuple[Line, ...]:
    """Every line of one option, numbered, in the order of the work.

    Raises
    ------
    PriceError
        When a segment's access class or an operation is not on the rate card.
    """
    drafts = list(_work_drafts(work, rates))
    labor = sum(
        (line_amount(d.quantity, d.price) for d in drafts if d.kind is LineKind.LABOR), Decimal(0)
    )
    drafts += _charge_drafts(work, rates, labor)
    return tuple(_numbered(number, draft, tax) for number, draft in enumerate(drafts, start=1))


def _numbered(number: int, draft: _Draft, tax: Tax) -> Line:
    return Line(
        number=number,
        kind=draft.kind,
        ref=draft.ref,
        description=draft.description,
        quantity=draft.quantity,
        unit=draft.unit,
        price=draft.price,
        amount=line_amount(draft.quantity, draft.price),
        is_taxable=draft.kind in tax.taxable_kinds,
        group=draft.group,
        condition=draft.condition,
    )


def _work_drafts(work: OptionWork, rates: Rates) -> Iterator[_Draft]:
    yield _operation("LAB-SAFE", rates, GROUP_SAFE)
    if work.fuel_moved_gal > 0:
        yield _transfer(work.fuel_moved_gal, rates)
    for segment in work.segments:
        yield from _segment_drafts(segment, rates)
    for extra in work.extras:
        yield _extra(extra)
    if work.tag is not None and work.segments:
        yield _part(work.tag, Decimal(len(work.segments)), work.tag.description, GROUP_TEST)
    yield from _test_drafts(work, rates)


def _segment_drafts(work: SegmentWork, rates: Rates) -> Iterator[_Draft]:
    wide = ", fill hose" if _is_wide_fill(work, rates) else ""
    yield _labor(
        "LAB-SEG",
        f"Replace {work.ident} {work.label} ({work.access} access{wide})",
        segment_hours(work, rates),
        rates,
        work.ident,
    )
    by_foot = work.part.unit == "ft"
    quantity = hose_charged_ft(work.length_in, rates) if by_foot else Decimal(1)
    yield _part(work.part, quantity, f"{work.ident}: {work.part.description}", work.ident)
    for small, count in ((work.clamp, work.clamps), (work.clip, work.clips)):
        if small is not None and count:
            yield _part(small, Decimal(count), f"{work.ident}: {small.description}", work.ident)


def _test_drafts(work: OptionWork, rates: Rates) -> Iterator[_Draft]:
    fills = sum(1 for segment in work.segments if segment.is_fill)
    counted = (
        ("LAB-PTEST", work.tank_systems),
        ("LAB-GND", fills),
        ("LAB-RUN", work.engines_run),
    )
    for ref, count in counted:
        if count:
            yield _operation(ref, rates, GROUP_TEST, count)
    yield _operation("LAB-DOC", rates, GROUP_TEST)


def _charge_drafts(work: OptionWork, rates: Rates, labor: Decimal) -> list[_Draft]:
    share = rates.supplies_share * 100
    supplies = supplies_amount(
        labor, rates.supplies_share, floor=rates.supplies_floor, cap=rates.supplies_cap
    )
    bounds = f"{rates.supplies_floor} to {rates.supplies_cap}"
    text = f"Shop supplies, {share.normalize():f} % of labor, {bounds}"
    wasted = work.fuel_wasted_gal.normalize()
    waste = line_amount(work.fuel_wasted_gal, rates.waste_per_gal) + rates.waste_flat
    haz = (
        f"Waste fuel and old hose handling: {rates.waste_flat} + "
        f"{rates.waste_per_gal} x {wasted:f} gal unreusable"
    )
    one = Decimal(1)
    return [
        _Draft(LineKind.SUPPLIES, "FEE-SUP", text, one, "job", supplies, GROUP_CHARGES),
        _Draft(LineKind.FEE, "FEE-HAZ", haz, one, "job", waste, GROUP_CHARGES),
    ]


def _transfer(gallons: Decimal, rates: Rates) -> _Draft:
    hours = _hours("LAB-DRAIN", rates) + _hours("LAB-DRAIN-GAL", rates) * gallons
    text = f"Transfer {gallons.normalize():f} gal of fuel to bonded containers and back"
    return _labor("LAB-DRAIN", text, hours, rates, GROUP_SAFE)


def _operation(ref: str, rates: Rates, group: str, count: int | None = None) -> _Draft:
    text = rates.op_text.get(ref, ref)
    if count is not None:
        text = f"{text} x {count}"
    return _labor(ref, text, _hours(ref, rates) * (count or 1), rates, group)


def _hours(ref: str, rates: Rates) -> Decimal:
    try:
        return rates.op_hours[ref]
    except KeyError:
        raise PriceError(f"Operation {ref} has no hours on the rate card. Add it.") from None


def _labor(ref: str, text: str, hours: Decimal, rates: Rates, group: str) -> _Draft:
    # Hours are charged in hundredths (trade practice of the rate card, no source).
    hours = hours.quantize(CENTS)
    return _Draft(LineKind.LABOR, ref, text, hours, PER_HOUR, rates.labor_rate, group)


def _part(part: Priced, quantity: Decimal, text: str, group: str) -> _Draft:
    kind = LineKind.PART
    return _Draft(kind, part.sku, text, quantity, part.unit, part.price, group, part.condition)


def _extra(extra: Extra) -> _Draft:
    text = extra.part.description + (f" ({extra.note})" if extra.note else "")
    return _part(extra.part, extra.quantity, text, GROUP_PARTS)


def _is_wide_fill(work: SegmentWork, rates: Rates) -> bool:
    return (
        work.is_fill and work.bore_in is not None and work.bore_in >= rates.fill_extra_from_bore_in
    )
