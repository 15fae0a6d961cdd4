"""Reading change orders: what may still be added, and what the page of one shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shop.models import (
    ChangeLine,
    ChangeOrder,
    Consent,
    Document,
    Job,
    Product,
    RenderJob,
    SystemState,
    WorkOrder,
    Yard,
)
from shop.pricing import SegmentWork
from shop.selectors.authorized import authorized_idents
from shop.selectors.consented import Authorized, job_authorized
from shop.selectors.evaluations import state_judged, state_read
from shop.selectors.hulls import BoatBlock, hull_block
from shop.selectors.paper_parts import do_not_run_reason
from shop.selectors.pricing import products_by_sku
from shop.selectors.quote_rows import segment_title
from shop.selectors.quotes import blocking_of
from shop.selectors.work import segment_work


@dataclass(frozen=True)
class ChangePage:
    change: ChangeOrder
    block: BoatBlock
    stop: str
    lines: tuple[ChangeLine, ...]
    authorized: Authorized | None
    consents: tuple[Consent, ...]
    document: Document | None
    render: RenderJob | None
    is_sent: bool  # its paper, by mail; offering it sends nothing


def change_page(change: ChangeOrder) -> ChangePage:
    document = change.document
    return ChangePage(
        change=change,
        block=hull_block(change.job.hull),
        stop=do_not_run_reason(change.job.hull),
        lines=tuple(change.lines.all()),
        authorized=job_authorized(change.job),
        consents=tuple(change.consents.select_related("taken_by__user")),
        document=document,
        render=document.render_jobs.order_by("revision").last() if document else None,
        is_sent=document is not None and document.mails.exists(),
    )


def job_changes(job: Job) -> list[ChangeOrder]:
    return list(job.change_orders.order_by("number"))


def addable_products(yard: Yard) -> list[Product]:
    """Everything on the price list that is in use and for fuel."""
    return list(yard.products.filter(is_active=True, for_fuel=True).order_by("kind", "sku"))


def segments_to_add(order: WorkOrder) -> list[tuple[str, str]]:
    """Segments that the proposal renews and nothing authorized does, with their names."""
    taken = authorized_idents(order)
    rows = order.proposed.segments.filter(kept=False).exclude(ident__in=taken)
    return [(row.ident, segment_title(row.ident, row.service, row.name)) for row in rows]


def segments_undecided(order: WorkOrder, idents: Sequence[str], *, on: date) -> list[str]:
    """Segments with a finding against them, as planned, that no lead took on with the quote.

    An override holds for the finding as it read when the quote was issued: another hose planned
    since has findings of its own.
    """
    judged = state_judged(order.proposed, on=on)
    quote = order.option.quote if order.option else None
    keys = ("subject", "rule", "regime", "message")
    decided = set(quote.overrides.values_list(*keys)) if quote else set()
    return [
        ident
        for ident in idents
        if any(
            (ident, finding.rule, finding.regime, str(finding.message)) not in decided
            for finding in blocking_of(judged, ident)
        )
    ]


def segments_work(proposed: SystemState, idents: Sequence[str]) -> tuple[SegmentWork, ...]:
    """Segments of a proposal as priced work, in the order of the drawing."""
    document = state_read(proposed)
    products = products_by_sku(proposed.hull.yard)
    rows = {row.ident: row for row in proposed.segments.all()}
    return tuple(
        segment_work(rows[run.id], run, document, products)
        for run in document.segments
        if run.id in set(idents)
    )
