"""Which coil or remnant each piece of open work is cut from, and what is bought for it.

Pieces are whole: fuel hose is not spliced (common practice, no source). What is on the shelf
costs nothing more; what is bought costs as little as possible.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fuelsys.cutting import ByLength, Coil, HosePlan, Need, Offer, Piece, Remnant, Source, cut_plan
from shop.models import Job, Product, Reel, Yard
from shop.selectors.lots import left_in
from shop.selectors.shortage import Wanted, pieces_wanted

SIXTEENTHS = 16
FOOT = 12 * SIXTEENTHS
# The longest of the usual coils of 25, 50 and 100 ft (common practice, no source): a piece beyond
# it is not cut from one by the foot and needs a longer coil on the price list.
BY_FOOT_UP_TO_FT = 100
QUICK_SECONDS = 1.0
WHOLE_SECONDS = 5.0


@dataclass(frozen=True)
class CutSource:
    """A reel on the shelf or a length to buy, with the pieces cut from it in order."""

    reel: Reel | None
    is_coil: bool
    length_in: Decimal
    pieces: tuple[Wanted, ...]
    left_in: Decimal
    cost: Decimal

    @property
    def feet(self) -> Decimal:
        return self.length_in / 12


@dataclass(frozen=True)
class HoseCuts:
    """The cut list of one hose."""

    product: Product
    sources: tuple[CutSource, ...]
    lacking: tuple[Wanted, ...]
    cost: Decimal
    gap: Decimal
    is_proven: bool

    @property
    def bought(self) -> tuple[CutSource, ...]:
        return tuple(source for source in self.sources if source.reel is None)


@dataclass(frozen=True)
class CutList:
    """All hoses that open work needs."""

    hoses: tuple[HoseCuts, ...]

    @property
    def pieces(self) -> int:
        cut = sum(len(source.pieces) for hose in self.hoses for source in hose.sources)
        return cut + sum(len(hose.lacking) for hose in self.hoses)

    @property
    def cost(self) -> Decimal:
        return sum((hose.cost for hose in self.hoses), Decimal(0))

    @property
    def gap(self) -> Decimal:
        return sum((hose.gap for hose in self.hoses), Decimal(0))

    @property
    def is_proven(self) -> bool:
        return all(hose.is_proven for hose in self.hoses)

    @property
    def any_bought(self) -> bool:
        return any(hose.bought for hose in self.hoses)


def cut_list(yard: Yard, *, seconds: float, job: Job | None = None) -> CutList:
    """The plan for one job, or for all open jobs together, found within so many seconds."""
    wanted = [piece for piece in pieces_wanted(yard) if job is None or piece.job_pk == job.pk]
    by_sku: dict[str, list[Wanted]] = {}
    for piece in wanted:
        by_sku.setdefault(piece.product.sku, []).append(piece)
    rows = Reel.objects.filter(
        yard=yard, lot__product__sku__in=by_sku, quarantined_at__isnull=True
    ).select_related("lot__product")
    reels = {reel.ident: reel for reel in rows}
    left = left_in(reels.values())
    needs = [
        _need(pieces, (r for r in reels.values() if r.lot.product.sku == sku), left)
        for sku, pieces in sorted(by_sku.items())
    ]
    plan = cut_plan(needs, seconds=seconds, clock=time.monotonic)
    pieces = {piece.key: piece for piece in wanted}
    return CutList(tuple(_hose(each, pieces, reels) for each in plan.hoses))


def offers_of(product: Product) -> tuple[Offer, ...]:
    """How a hose is bought: by the foot at its cost, and the coils on the price list."""
    offers: list[Offer] = []
    if product.unit == "ft" and product.cost > 0:
        offers.append(ByLength("foot", FOOT, product.cost, BY_FOOT_UP_TO_FT * FOOT))
    for coil in product.facts.get("coils") or ():
        feet = int(coil["ft"])
        offers.append(Coil(f"{feet} ft", feet * FOOT, Decimal(coil["cost"])))
    return tuple(offers)


def _need(pieces: list[Wanted], reels: Iterable[Reel], left: Mapping[int, Decimal]) -> Need:
    product = pieces[0].product
    return Need(
        hose=product.sku,
        pieces=tuple(Piece(piece.key, _up(piece.length_in)) for piece in pieces),
        remnants=tuple(
            Remnant(reel.ident, _down(left[reel.pk]), reel.lot.code)
            for reel in reels
            if left[reel.pk] > 0
        ),
        offers=offers_of(product),
    )


def _hose(plan: HosePlan, pieces: Mapping[str, Wanted], reels: Mapping[str, Reel]) -> HoseCuts:
    product = next(p.product for p in pieces.values() if p.product.sku == plan.hose)
    return HoseCuts(
        product=product,
        sources=tuple(_source(each, pieces, reels) for each in plan.sources),
        lacking=tuple(pieces[key] for key in plan.lacking),
        cost=plan.cost,
        gap=plan.gap,
        is_proven=plan.proven,
    )


def _source(source: Source, pieces: Mapping[str, Wanted], reels: Mapping[str, Reel]) -> CutSource:
    return CutSource(
        reel=reels[source.name] if source.kind == "remnant" else None,
        is_coil=source.kind == "coil",
        length_in=Decimal(source.length) / SIXTEENTHS,
        pieces=tuple(pieces[cut.piece] for cut in source.cuts),
        left_in=Decimal(source.left) / SIXTEENTHS,
        cost=source.price,
    )


def _up(length_in: Decimal) -> int:
    """Sixteenths of an inch; a piece is never cut short."""
    return math.ceil(Fraction(length_in) * SIXTEENTHS)


def _down(length_in: Decimal) -> int:
    return math.floor(Fraction(length_in) * SIXTEENTHS)
