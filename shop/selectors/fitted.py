"""What was done at each authorized segment, in words and figures, for pages and papers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from fuelsys.document.model import Document
from fuelsys.document.model import Segment as Run
from shop.models import (
    Lot,
    NoticeOutcome,
    Product,
    Recall,
    RecallNotice,
    Reel,
    WorkOrder,
    WorkOrderStatus,
    Yard,
)
from shop.selectors.authorized import Planned
from shop.selectors.work import inches, segment_label
from shop.work.model import FITTED, Event, Folded, SegmentWork
from shop.workwords import state_word

# Added to the measured run so that an end can be trimmed square; the trade adds 2 to 4 in where
# a run is long (common practice, no source). It is a suggestion: each cut is typed.
TRIM_IN = Decimal(1)
TORQUE_RANGE = re.compile(r"([0-9]+(?:\.[0-9]+)?)(?:\s*[-–]\s*([0-9]+(?:\.[0-9]+)?))?")


@dataclass(frozen=True)
class Fitted:
    """One segment: what was planned, what was measured, and the piece that went in."""

    planned: Planned
    label: str
    measured_in: Decimal | None
    clamps: int
    work: SegmentWork
    reel: Reel | None
    cut_in: Decimal | None
    recall: Recall | None = None  # its lot is called back, and the piece is in

    @property
    def ident(self) -> str:
        return self.planned.ident

    @property
    def word(self) -> str:
        return state_word(self.work.state)

    @property
    def lot(self) -> Lot | None:
        return self.reel.lot if self.reel else None

    @property
    def is_short(self) -> bool:
        """Whether the piece is shorter than the run that was measured."""
        if self.cut_in is None or self.measured_in is None:
            return False
        return self.cut_in < self.measured_in

    @property
    def suggested_in(self) -> Decimal | None:
        """The measured run with its trim, as a cut is offered."""
        return None if self.measured_in is None else self.measured_in + TRIM_IN


def fitted_segments(
    work_order: WorkOrder,
    plan: Mapping[str, Planned],
    document: Document,
    folded: Folded,
) -> list[Fitted]:
    """Every authorized segment in the order of the drawing."""
    runs = {run.id: run for run in document.segments}
    reels = _reels(work_order.yard, [folded.segment(ident).tick for ident in plan])
    recalls = _recalls(work_order, reels.values())
    return [
        _fitted(planned, runs[ident], document, folded.segment(ident), reels, recalls)
        for ident, planned in plan.items()
        if ident in runs
    ]


def _fitted(
    planned: Planned,
    run: Run,
    document: Document,
    work: SegmentWork,
    reels: Mapping[str, Reel],
    recalls: Mapping[int, Recall],
) -> Fitted:
    payload = work.tick.payload if work.tick else {}
    reel = reels.get(str(payload.get("reel", "")))
    cut_in = payload.get("cut_in")
    return Fitted(
        planned=planned,
        label=segment_label(run, document),
        measured_in=None if run.length_m is None else inches(run.length_m),
        clamps=clamp_count(run),
        work=work,
        reel=reel,
        cut_in=Decimal(cut_in) if cut_in else None,
        recall=recalls.get(reel.lot_id) if reel and work.state == FITTED else None,
    )


def clamp_count(run: Run) -> int:
    """The clamps at both ends."""
    return sum(len(end.clamps or ()) for end in (run.from_end, run.to_end) if end)


def _reels(yard: Yard, ticks: list[Event | None]) -> dict[str, Reel]:
    named = {str(tick.payload["reel"]) for tick in ticks if tick and "reel" in tick.payload}
    rows = Reel.objects.filter(yard=yard, ident__in=named).select_related("lot__product")
    return {reel.ident: reel for reel in rows}


def _recalls(work_order: WorkOrder, reels: Iterable[Reel]) -> dict[int, Recall]:
    """Call-backs under way by lot. Of work that is closed: until it is settled for the boat."""
    lots = {reel.lot_id for reel in reels}
    if not lots:
        return {}
    rows = Recall.objects.filter(lot__in=lots, closed_at__isnull=True)
    rows = rows.select_related("lot__product")
    if work_order.status != WorkOrderStatus.OPEN:
        settled = RecallNotice.objects.filter(
            hull=work_order.job.hull_id, outcome__in=(NoticeOutcome.REPLACED, NoticeOutcome.GONE)
        )
        rows = rows.exclude(pk__in=settled.values("recall"))
    return {recall.lot_id: recall for recall in rows}


def hose_words(product: Product | None) -> str:
    """What the hose must read: type A1-15."""
    if product is None:
        return ""
    mark = str(product.facts.get("class") or "")
    suffix = "-15" if product.facts.get("low_permeation") else ""
    return _("type %(mark)s") % {"mark": mark + suffix} if mark else ""


def torque_range(clamp: Product | None) -> tuple[Decimal, Decimal] | None:
    """The maker's least and most in in-lb; None where it is in words, or not on file."""
    held = str(clamp.facts.get("torque_in_lb") or "") if clamp else ""
    found = TORQUE_RANGE.fullmatch(held.strip())
    return (Decimal(found[1]), Decimal(found[2] or found[1])) if found else None


def torque_words(clamp: Product | None) -> str:
    """The maker's torque of a clamp; where it is none in in-lb, the maker's own words."""
    held = str(clamp.facts.get("torque_in_lb") or "") if clamp else ""
    if not held:
        return _("torque as its maker says; not on file")
    return (
        _("%(torque)s in-lb") % {"torque": held.replace("-", "–")} if held[:1].isdigit() else held
    )
