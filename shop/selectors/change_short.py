"""What the shelf would lack once a change order is authorized, told before the owner is asked."""

from __future__ import annotations

from shop.models import ChangeOrder, LineKind, ProductKind
from shop.selectors.evaluations import state_read
from shop.selectors.fitted import TRIM_IN
from shop.selectors.pricing import products_by_sku
from shop.selectors.shortage import HoseStock, Wanted, pieces_wanted, stock_for
from shop.selectors.work import inches


def change_short(change: ChangeOrder) -> list[HoseStock]:
    """Each hose of which more pieces are lacking whole with the change than without it."""
    added = pieces_added(change)
    skus = {piece.product.sku for piece in added}
    if not skus:
        return []
    others = [piece for piece in pieces_wanted(change.yard) if piece.product.sku in skus]
    lacking = {hose.product.sku: len(hose.lacking) for hose in stock_for(change.yard, others)}
    with_it = stock_for(change.yard, [*others, *added])
    return [hose for hose in with_it if len(hose.lacking) > lacking.get(hose.product.sku, 0)]


def pieces_added(change: ChangeOrder) -> list[Wanted]:
    """The pieces that its hoses are cut from a reel for, as the proposal measures them now."""
    products = products_by_sku(change.yard)
    runs = {run.id: run for run in state_read(change.work_order.proposed).segments}
    job = change.job
    wanted = []
    for line in change.lines.filter(kind=LineKind.PART).exclude(group=""):
        product, run = products.get(line.ref), runs.get(line.group)
        if product is None or product.kind != ProductKind.HOSE:
            continue
        if run is None or run.length_m is None:
            continue
        key = f"{change}/{run.id}"
        length_in = inches(run.length_m) + TRIM_IN
        wanted.append(Wanted(key, job.hull, job.number, job.pk, run.id, length_in, product))
    return wanted
