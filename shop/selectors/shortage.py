"""Which open segments the shelf can give whole pieces for, and which it cannot."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fuelsys.cutting import HosePlan, Need, Piece, Remnant, cut_plan
from shop.models import Hull, Product, Reel, WorkOrder, WorkOrderStatus, Yard
from shop.selectors.authorized import authorized_read, planned_work
from shop.selectors.fitted import fitted_segments
from shop.selectors.folding import work_folded
from shop.selectors.lots import left_in
from shop.work.model import FITTED

SIXTEENTHS = 16


@dataclass(frozen=True)
class Wanted:
    """One piece that an open job still needs."""

    key: str
    hull: Hull
    job: str
    job_pk: int
    segment: str
    length_in: Decimal
    product: Product


@dataclass(frozen=True)
class FromReel:
    reel: str
    pieces: tuple[Wanted, ...]
    left_in: Decimal


@dataclass(frozen=True)
class HoseStock:
    """One hose: what can be cut whole from which reel, and what is lacking whole."""

    product: Product
    reels: tuple[FromReel, ...]
    lacking: tuple[Wanted, ...]

    @property
    def lacking_in(self) -> Decimal:
        return sum((piece.length_in for piece in self.lacking), Decimal(0))


def pieces_wanted(yard: Yard) -> list[Wanted]:
    """Every piece that open work orders still need: measured, with trim, not fitted, not put off.

    A segment put off needs its piece again when it is taken up.
    """
    orders = WorkOrder.objects.filter(yard=yard, status=WorkOrderStatus.OPEN)
    rows = orders.select_related("job__hull__customer", "proposed__hull__yard", "option", "yard")
    return [piece for order in rows.order_by("pk") for piece in _wanted(order)]


def _wanted(work_order: WorkOrder) -> list[Wanted]:
    plan, folded = planned_work(work_order), work_folded(work_order)
    document = authorized_read(work_order)
    job = work_order.job
    return [
        Wanted(
            f"{work_order.pk}/{part.ident}",
            job.hull,
            job.number,
            job.pk,
            part.ident,
            part.suggested_in,
            part.planned.product,
        )
        for part in fitted_segments(work_order, plan, document, folded)
        if part.work.state != FITTED and not part.work.deferrals
        if part.planned.from_reel and part.planned.product and part.suggested_in is not None
    ]


def hose_stock(yard: Yard) -> list[HoseStock]:
    """What the shelf gives to open jobs, hose by hose. Pieces are whole: nothing is spliced."""
    return stock_for(yard, pieces_wanted(yard))


def stock_for(yard: Yard, wanted: Sequence[Wanted]) -> list[HoseStock]:
    """What the shelf gives to some pieces, hose by hose."""
    by_sku: dict[str, list[Wanted]] = {}
    for piece in wanted:
        by_sku.setdefault(piece.product.sku, []).append(piece)
    if not by_sku:
        return []
    reels = Reel.objects.filter(
        yard=yard, lot__product__sku__in=by_sku, quarantined_at__isnull=True
    )
    held = list(reels.select_related("lot__product"))
    left = left_in(held)
    needs = [_need(sku, pieces, held, left) for sku, pieces in sorted(by_sku.items())]
    plan = cut_plan(needs, clock=time.monotonic)
    pieces = {piece.key: piece for piece in wanted}
    return [_stock(hose, pieces) for hose in plan.hoses]


def _need(sku: str, pieces: list[Wanted], reels: list[Reel], left: dict[int, Decimal]) -> Need:
    return Need(
        hose=sku,
        pieces=tuple(Piece(piece.key, _up(piece.length_in)) for piece in pieces),
        remnants=tuple(
            Remnant(reel.ident, _down(left[reel.pk]), reel.lot.code)
            for reel in reels
            if reel.lot.product.sku == sku and left[reel.pk] > 0
        ),
    )


def _stock(plan: HosePlan, pieces: dict[str, Wanted]) -> HoseStock:
    used = tuple(
        FromReel(
            source.name,
            tuple(pieces[cut.piece] for cut in source.cuts),
            Decimal(source.left) / SIXTEENTHS,
        )
        for source in plan.sources
    )
    lacking = tuple(pieces[key] for key in plan.lacking)
    product = next(p.product for p in pieces.values() if p.product.sku == plan.hose)
    return HoseStock(product, used, lacking)


def _up(length_in: Decimal) -> int:
    """Sixteenths of an inch; a piece is never cut short."""
    return math.ceil(Fraction(length_in) * SIXTEENTHS)


def _down(length_in: Decimal) -> int:
    return math.floor(Fraction(length_in) * SIXTEENTHS)
