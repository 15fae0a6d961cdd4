"""The ledger of hose: pieces follow the ticks that count, reels hold what they must."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from shop.models import Cut, JobEvent, Reel, WorkOrder
from shop.verify.model import Fault, Look, named

Piece = tuple[str, str, Decimal]  # segment, reel, inches


def pieces_follow_ticks(look: Look) -> Iterator[Fault]:
    """Each work order has out of the reels just the pieces that its standing ticks name."""
    for work_order in WorkOrder.objects.order_by("pk"):
        look.at()
        wanted, out = pieces_ticked(work_order), pieces_out(work_order)
        for segment, reel, length in sorted((out - Counter(wanted)).elements()):
            yield Fault(named(work_order), f"{segment}: {length} in of {reel} out", "no such tick")
        for segment, reel, length in sorted((Counter(wanted) - out).elements()):
            yield Fault(named(work_order), f"{segment}: not cut", f"{length} in of {reel}")


def pieces_ticked(work_order: WorkOrder) -> set[Piece]:
    """Pieces of the ticks that no untick names; what is kept apart does not count."""
    rows = JobEvent.objects.filter(work_order=work_order, kind__in=("tick", "untick", "decide"))
    rows = rows.order_by("receipt")
    released = {
        name
        for row in rows
        if row.kind == "decide" and not row.quarantine_reason and row.payload.get("accept") is True
        for name in row.payload["events"]
    }
    counted = [row for row in rows if not row.quarantine_reason or _key(row) in released]
    gone = {(r.segment_ident, n) for r in counted if r.kind == "untick" for n in r.payload["names"]}
    return {
        (row.segment_ident, str(row.payload["reel"]), Decimal(row.payload["cut_in"]))
        for row in counted
        if row.kind == "tick"
        and "reel" in row.payload
        and (row.segment_ident, _key(row)) not in gone
    }


def _key(row: JobEvent) -> str:
    return f"{row.device_id}:{row.event_id.hex}"


def pieces_out(work_order: WorkOrder) -> Counter[Piece]:
    out: Counter[Piece] = Counter()
    for cut in Cut.objects.filter(work_order=work_order).select_related("reel"):
        out[cut.segment_ident, cut.reel.ident, abs(cut.length_in)] += 1 if cut.length_in > 0 else -1
    return +out


def reels(look: Look) -> Iterator[Fault]:
    """No reel has given more than it held, or holds more than came."""
    taken: dict[int, Decimal] = {}
    for reel_id, length in Cut.objects.values_list("reel_id", "length_in"):
        taken[reel_id] = taken.get(reel_id, Decimal(0)) + length
    for reel in Reel.objects.order_by("pk"):
        look.at()
        left = reel.received_in - taken.get(reel.pk, Decimal(0))
        if not 0 <= left <= reel.received_in:
            yield Fault(named(reel), f"{left} in left", f"0 to {reel.received_in} in")


def put_back(look: Look) -> Iterator[Fault]:
    """What was put back is the piece that was taken: its reel, job, segment and length."""
    for cut in Cut.objects.filter(puts_back__isnull=False).select_related("puts_back"):
        look.at()
        taken = cut.puts_back
        if taken is None or _piece(taken) != (*_piece(cut)[:3], -cut.length_in):
            yield Fault(named(cut), "another piece than was taken", f"cut {cut.puts_back_id}")


def _piece(cut: Cut) -> tuple[int, int, str, Decimal]:
    return (cut.reel_id, cut.work_order_id, cut.segment_ident, cut.length_in)
