"""The ledger of cuts follows the ticks that count: one piece for each, however often it came."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.models import Cut, Member, Reel, WorkOrder
from shop.selectors.folding import bare_events
from shop.selectors.lots import reel_left_in
from shop.services.eventread import EventIn
from shop.services.locks import reel_lock
from shop.services.lots import cut_put_back, cut_take
from shop.work.fold import fold

Piece = tuple[str, Decimal]  # reel, inches

MOVES_PIECES = frozenset({"tick", "untick", "decide"})


def pieces_settle(*, member: Member, work_order: WorkOrder, cause: EventIn, at: datetime) -> None:
    """Take the pieces that ticks name and put back those of ticks that no longer count.

    Two ticks that name one piece of one reel for one segment are one piece.
    """
    if cause.kind not in MOVES_PIECES:
        return
    folded = fold(bare_events(work_order, kinds=MOVES_PIECES))
    idents = [cause.segment] if cause.segment else list(folded.segments)
    for ident in idents:
        wanted = {
            (str(tick.payload["reel"]), Decimal(tick.payload["cut_in"]))
            for tick in folded.segment(ident).ticks
            if "reel" in tick.payload
        }
        _settle(member, work_order, ident, wanted, at)


def pieces_out(work_order: WorkOrder, ident: str | None = None) -> list[Cut]:
    """Pieces cut for a work order that were not put back."""
    rows = Cut.objects.filter(work_order=work_order, puts_back__isnull=True, put_back_by=None)
    if ident is not None:
        rows = rows.filter(segment_ident=ident)
    return list(rows.select_related("reel").order_by("pk"))


def reel_left_for(reel: Reel, work_order: WorkOrder, ident: str, length_in: Decimal) -> Decimal:
    """What a reel has for a piece; the same piece named before for this segment is still there."""
    reel = reel_lock(reel)
    left = reel_left_in(reel)
    same = [
        c
        for c in pieces_out(work_order, ident)
        if c.reel_id == reel.pk and c.length_in == length_in
    ]
    return left + length_in if same else left


def _settle(
    member: Member, work_order: WorkOrder, ident: str, wanted: set[Piece], at: datetime
) -> None:
    out: dict[Piece, Cut] = {}
    for cut in pieces_out(work_order, ident):
        out[cut.reel.ident, cut.length_in] = cut
    for piece, cut in out.items():
        if piece not in wanted:
            cut_put_back(member=member, cut=cut, at=at)
    for reel_ident, length_in in sorted(wanted - set(out)):
        reel = Reel.objects.filter(yard=work_order.yard_id, ident=reel_ident).first()
        if reel is None:
            raise Refused(_("There is no reel %(reel)s.") % {"reel": reel_ident})
        cut_take(
            member=member,
            reel=reel,
            work_order=work_order,
            segment_ident=ident,
            length_in=length_in,
            at=at,
        )
