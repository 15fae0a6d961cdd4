"""Short ways to say what is to be cut."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from fuelsys.cutting import Coil, HosePlan, Need, Offer, Piece, Remnant, cut_plan


def need(
    lengths: Iterable[int],
    remnants: Iterable[int] = (),
    offers: Iterable[Offer] = (),
    *,
    trim: int = 0,
    kerf: int = 0,
) -> Need:
    return Need(
        hose="hose",
        pieces=tuple(Piece(f"P{k}", length) for k, length in enumerate(lengths, 1)),
        remnants=tuple(Remnant(f"R{k}", n, f"LOT{k}") for k, n in enumerate(remnants, 1)),
        offers=tuple(offers),
        trim=trim,
        kerf=kerf,
    )


def bins(capacity: int) -> list[Offer]:
    """Stock of one length at a cost of one, so that the cost counts it."""
    return [Coil("bin", capacity, Decimal(1))]


def planned(one: Need, *, seconds: float = 5.0) -> HosePlan:
    return cut_plan([one], seconds=seconds).hoses[0]
