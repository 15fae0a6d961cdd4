"""From a lot to segments, boats and owners; and what of it is on the shelf or only quoted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shop.csvout import NUMERIC, Column, Export
from shop.models import (
    ChangeLine,
    ChangeStatus,
    Cut,
    Hull,
    JobEvent,
    Lot,
    NoticeOutcome,
    QuoteLine,
    QuoteStatus,
    Recall,
    RecallNotice,
    Reel,
    WorkOrder,
    WorkOrderStatus,
)
from shop.numbering import local_day
from shop.selectors.folding import work_folded
from shop.selectors.lots import left_in
from shop.work.model import FITTED

# A draft has no number yet; one that was declined may still be chosen while it holds.
STANDING = (QuoteStatus.DRAFT, QuoteStatus.ISSUED, QuoteStatus.ACCEPTED, QuoteStatus.DECLINED)


@dataclass(frozen=True)
class Aboard:
    """One segment of a boat that carries a piece of the lot."""

    hull: Hull
    job: str
    segment: str
    reel: str
    length_in: Decimal
    cut_on: date


@dataclass(frozen=True)
class OnShelf:
    reel: Reel
    left_in: Decimal


@dataclass(frozen=True)
class Quoted:
    """A segment quoted with the same hose and not fitted: no lot yet, nothing to withdraw."""

    hull: Hull
    quote: str
    segment: str
    status: str


def lot_aboard(lot: Lot) -> list[Aboard]:
    """Pieces of the lot that are in boats: cut, not put back, and not replaced since."""
    rows = Cut.objects.filter(reel__lot=lot, puts_back__isnull=True, put_back_by=None)
    rows = rows.select_related("reel", "work_order__job__hull__customer", "yard")
    found = {
        (cut.work_order.job.hull_id, cut.segment_ident): cut
        for cut in rows.order_by("at", "pk")
        if not _replaced(cut)
    }
    return [_aboard(cut) for cut in found.values()]


def _replaced(cut: Cut) -> bool:
    """Whether a later job fitted this segment anew from another lot."""
    later = Cut.objects.filter(
        work_order__job__hull=cut.work_order.job.hull_id,
        segment_ident=cut.segment_ident,
        pk__gt=cut.pk,
        puts_back__isnull=True,
        put_back_by=None,
    )
    return later.exclude(work_order=cut.work_order).exclude(reel__lot=cut.reel.lot_id).exists()


def _aboard(cut: Cut) -> Aboard:
    return Aboard(
        hull=cut.work_order.job.hull,
        job=cut.work_order.job.number,
        segment=cut.segment_ident,
        reel=cut.reel.ident,
        length_in=cut.length_in,
        cut_on=local_day(cut.at, cut.yard.time_zone),
    )


def not_aboard(recall: Recall) -> dict[int, tuple[str, ...]]:
    """By boat, segments that its notice names and that carry the lot no more, by the records.

    One on which a lead has not decided is not among them: perhaps it carries the lot again.
    """
    now = {hull.pk: set(segments) for hull, segments in by_hull(lot_aboard(recall.lot))}
    for row in lot_waiting(recall.lot):
        now.setdefault(row.work_order.job.hull_id, set()).add(row.segment_ident)
    told = ((each.hull_id, each.segments) for each in recall.notices.all())
    return {
        hull: gone
        for hull, segments in told
        if (gone := tuple(ident for ident in segments if ident not in now.get(hull, ())))
    }


def hull_called_back(hull: Hull) -> list[RecallNotice]:
    """Call-backs under way that name this boat and are not settled for her."""
    rows = hull.recall_notices.filter(recall__closed_at__isnull=True)
    rows = rows.exclude(outcome__in=[NoticeOutcome.REPLACED, NoticeOutcome.GONE])
    return list(rows.select_related("recall__lot__product"))


def lot_on_shelf(lot: Lot) -> list[OnShelf]:
    """The reels of the lot with what is left on each."""
    reels = list(lot.reels.order_by("ident"))
    left = left_in(reels)
    return [OnShelf(reel, left[reel.pk]) for reel in reels]


def lot_waiting(lot: Lot) -> list[JobEvent]:
    """Ticks kept apart that name a reel of the lot: perhaps aboard, a lead has not decided."""
    reels = set(lot.reels.values_list("ident", flat=True))
    rows = JobEvent.objects.filter(yard=lot.yard_id, kind="tick").exclude(quarantine_reason="")
    waiting = [row for row in rows.select_related("work_order__job__hull") if _names(row, reels)]
    open_keys = {
        event.key
        for order in {row.work_order_id: row.work_order for row in waiting}.values()
        for event in work_folded(order).held
    }
    return [row for row in waiting if f"{row.device_id}:{row.event_id.hex}" in open_keys]


def _names(row: JobEvent, reels: set[str]) -> bool:
    return row.payload.get("reel") in reels


def lot_quoted(lot: Lot) -> list[Quoted]:
    """Segments quoted with the lot's hose, by a quote or a change order that stands, not fitted."""
    lines = QuoteLine.objects.filter(
        ref=lot.product.sku,
        option__quote__yard=lot.yard_id,
        option__quote__status__in=STANDING,
    ).select_related("option__quote__hull__customer")
    found: dict[tuple[int, str], Quoted] = {}
    for line in lines.order_by("option__quote__number", "no"):
        quote = line.option.quote
        if quote.status == QuoteStatus.ACCEPTED and not _to_be_fitted(line):
            continue
        status = str(quote.get_status_display())
        quoted = Quoted(quote.hull, quote.number, line.group, status)
        found.setdefault((quote.pk, line.group), quoted)
    return [*found.values(), *_added(lot)]


def _added(lot: Lot) -> Iterator[Quoted]:
    """Segments that a change order plans with the hose, drafted, offered or consented to."""
    lines = ChangeLine.objects.filter(ref=lot.product.sku, change_order__yard=lot.yard_id).exclude(
        group=""
    )
    lines = lines.exclude(change_order__status=ChangeStatus.DECLINED)
    rows = lines.select_related("change_order__job__hull__customer", "change_order__work_order")
    for line in rows.order_by("change_order", "no"):
        change = line.change_order
        if _is_unfitted(change.work_order, line.group):
            name = f"{change.job.number} {change}"
            yield Quoted(change.job.hull, name, line.group, str(change.get_status_display()))


def _to_be_fitted(line: QuoteLine) -> bool:
    """Whether a line of an accepted quote was authorized and not fitted, or put off."""
    orders = WorkOrder.objects.filter(option=line.option_id)
    return any(_is_unfitted(order, line.group) for order in orders)


def _is_unfitted(order: WorkOrder, ident: str) -> bool:
    if order.status == WorkOrderStatus.CANCELLED:
        return False
    return work_folded(order).segment(ident).state != FITTED


def by_hull(aboard: list[Aboard]) -> Iterator[tuple[Hull, list[str]]]:
    """Boats with their segments, in the order of the cuts, each once however many were cut."""
    groups: dict[int, tuple[Hull, list[str]]] = {}
    for piece in aboard:
        segments = groups.setdefault(piece.hull.pk, (piece.hull, []))[1]
        if piece.segment not in segments:
            segments.append(piece.segment)
    yield from groups.values()


RECALL_EXPORT = Export(
    "recall",
    (
        Column("Lot"),
        Column("Boat"),
        Column("HIN"),
        Column("Segment"),
        Column("Job"),
        Column("Reel"),
        Column("Cut in", NUMERIC),
        Column("Fitted"),
        Column("Owner"),
        Column("Email"),
        Column("Phone"),
        Column("Outcome"),
    ),
)


def recall_rows(recall: Recall) -> Iterator[tuple[object, ...]]:
    """One row a piece, with the boat's owner of today and what came of it."""
    outcomes = {
        notice.hull_id: str(notice.get_outcome_display()) for notice in recall.notices.all()
    }
    for piece in lot_aboard(recall.lot):
        hull, owner = piece.hull, piece.hull.customer
        yield (
            recall.lot.code,
            hull.name,
            hull.hin,
            piece.segment,
            piece.job,
            piece.reel,
            piece.length_in,
            piece.cut_on,
            owner.name,
            owner.email,
            owner.phone,
            outcomes.get(hull.pk, ""),
        )
