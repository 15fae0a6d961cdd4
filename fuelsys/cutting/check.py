"""Refuses a need that cannot be meant, by name, value and limit."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from fuelsys.cutting.model import ByLength, Coil, Need

MOST_PIECES = 500
MOST_UNITS = 100_000  # 158 m in sixteenths, 100 m in millimeters: beyond any coil of hose
MOST_STEPS = 400
MOST_PRICE = Decimal(100_000)
MOST_DECIMALS = 4  # with these limits every sum stays within 64 bits


def check(need: Need) -> None:
    """Raise ValueError with every fault of the need in words."""
    faults = list(_faults(need))
    if faults:
        raise ValueError(f"Hose {need.hose}: " + "; ".join(faults))


def _faults(need: Need) -> Iterator[str]:
    if len(need.pieces) > MOST_PIECES:
        yield f"{len(need.pieces)} pieces are more than {MOST_PIECES}, plan them in parts"
    for name, value in (("trim", need.trim), ("kerf", need.kerf)):
        if not 0 <= value <= MOST_UNITS:
            yield f"{name} {value} lies outside 0 to {MOST_UNITS}"
    for what, items in (("piece", need.pieces), ("remnant", need.remnants)):
        seen: set[str] = set()
        for item in items:
            if item.id in seen:
                yield f"{what} {item.id} is named twice, give each an id of its own"
            seen.add(item.id)
            yield from _length(f"{what} {item.id}", item.length)
    for offer in need.offers:
        yield from _offer(offer)


def _length(what: str, length: int) -> Iterator[str]:
    if not 0 < length <= MOST_UNITS:
        yield f"{what} is {length} units long, outside 1 to {MOST_UNITS}; check the unit"


def _offer(offer: Coil | ByLength) -> Iterator[str]:
    longest = offer.length if isinstance(offer, Coil) else offer.longest
    yield from _length(f"offer {offer.name}", longest)
    if not offer.price.is_finite() or not 0 <= offer.price <= MOST_PRICE:
        yield f"offer {offer.name} has the price {offer.price}, outside 0 to {MOST_PRICE}"
    elif offer.price != round(offer.price, MOST_DECIMALS):
        yield f"offer {offer.name} has a price finer than {MOST_DECIMALS} decimals, {offer.price}"
    if isinstance(offer, ByLength):
        if offer.step <= 0:
            yield f"offer {offer.name} is sold in steps of {offer.step}, give one above 0"
        elif offer.longest // offer.step > MOST_STEPS:
            yield f"offer {offer.name} has more than {MOST_STEPS} lengths, give a longer step"
