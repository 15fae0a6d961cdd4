"""What keeps an event from counting: late, not authorized, not made safe, a reel without the piece.

Such an event is stored with the reason; a lead decides. What no person of this yard could have
recorded is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from fuelsys.document.model import Segment as Run
from shop.inches import decimal_text
from shop.models import Device, Member, Reel, WorkOrder, WorkOrderStatus
from shop.onelines import has_letter
from shop.permissions import is_allowed, is_of_lead_alone
from shop.selectors.authorized import Planned, authorized_read, planned_work
from shop.selectors.fitted import clamp_count, torque_range
from shop.selectors.folding import bare_events
from shop.selectors.items import Item, planned_items
from shop.selectors.work import inches
from shop.services.eventread import EventIn
from shop.services.lots import inches_text
from shop.services.pieces import reel_left_for
from shop.work.fold import fold
from shop.work.safe import steps_left

# What the table of roles asks for an event of a kind; for every other kind it is work.
WORK = "work.write"
ACT_OF_KIND = {"waive": "work.decide", "decide": "work.decide"}
# What opens, moves fuel, or is tried on what was opened: none of it before the list is complete.
NEEDS_SAFE = frozenset({"start", "tick", "fuel", "reading"})
# What changes which steps of the list count.
MOVES_STEPS = frozenset({"step", "untick", "decide"})


class NotHere(Exception):
    """The event speaks of a work order or a person that this yard does not have."""


@dataclass
class Bench:
    """What a batch is received against; work orders are locked, their plans read once."""

    device: Device
    uploader: Member
    now: datetime
    work_orders: Mapping[int, WorkOrder]
    _safe: dict[int, bool] = field(default_factory=dict)
    _plans: dict[int, dict[str, Planned]] = field(default_factory=dict)
    _authors: dict[int, Member] = field(default_factory=dict)
    _items: dict[int, dict[str, Item]] = field(default_factory=dict)
    _runs: dict[int, dict[str, Run]] = field(default_factory=dict)

    def work_order(self, event: EventIn) -> WorkOrder:
        found = self.work_orders.get(event.work_order)
        if found is None:
            raise NotHere(_("There is no such work order in this shop."))
        return found

    def author(self, event: EventIn) -> Member:
        if event.author not in self._authors:
            rows = Member.objects.filter(yard=self.device.yard_id, pk=event.author)
            found = rows.select_related("user", "yard").first()
            if found is None:
                raise NotHere(_("The author is nobody of this shop."))
            self._authors[event.author] = found
        return self._authors[event.author]

    def is_safe(self, work_order: WorkOrder) -> bool:
        """Whether every step of the make-safe list counts, by what has come so far."""
        if work_order.pk not in self._safe:
            folded = fold(bare_events(work_order, kinds=MOVES_STEPS))
            self._safe[work_order.pk] = not steps_left(folded.steps)
        return self._safe[work_order.pk]

    def stored(self, event: EventIn) -> None:
        """An event was stored: what it may have changed is read anew."""
        if event.kind in MOVES_STEPS:
            self._safe.pop(event.work_order, None)

    def plan(self, work_order: WorkOrder) -> dict[str, Planned]:
        if work_order.pk not in self._plans:
            self._plans[work_order.pk] = planned_work(work_order)
        return self._plans[work_order.pk]

    def run(self, work_order: WorkOrder, ident: str) -> Run | None:
        """One run as it was authorized: read where it is asked for, since a paper is long."""
        if work_order.pk not in self._runs:
            runs = authorized_read(work_order).segments
            self._runs[work_order.pk] = {run.id: run for run in runs}
        return self._runs[work_order.pk].get(ident)

    def items(self, work_order: WorkOrder) -> dict[str, Item]:
        if work_order.pk not in self._items:
            self._items[work_order.pk] = planned_items(work_order)
        return self._items[work_order.pk]


def held_reason(bench: Bench, event: EventIn, work_order: WorkOrder, author: Member) -> str:
    """Why an event is kept apart; blank when it counts.

    A boat is safe by the steps that have come. Steps that wait on another tablet are not known
    yet, so what was done after them waits too, for a lead to take into the record.
    """
    if work_order.status == WorkOrderStatus.COMPLETED and not _sets_aside(event):
        return _("It came after the completion record was signed.")
    if work_order.status == WorkOrderStatus.CANCELLED and not _sets_aside(event):
        return _("It came after the work order was cancelled.")
    if not author.is_active or not author.user.is_active:
        return _("%(name)s no longer works here.") % {"name": author.user.name}
    if reason := _who_reason(bench.uploader, event, author):
        return reason
    if event.kind in NEEDS_SAFE and not bench.is_safe(work_order):
        return _("The make-safe list is not complete. Nothing is opened before.")
    if event.segment and event.segment not in bench.plan(work_order):
        if item := bench.items(work_order).get(event.segment):
            return _item_reason(item, event) if event.kind == "tick" else ""
        return _("%(segment)s is not authorized on this job.") % {"segment": event.segment}
    if event.kind == "tick":
        planned = bench.plan(work_order)[event.segment]
        return (
            _tick_reason(planned, event, work_order)
            or _short_reason(bench, event, work_order)
            or _torque_reason(bench, planned, event, work_order)
        )
    return ""


def _who_reason(uploader: Member, event: EventIn, author: Member) -> str:
    """Why the people behind an event cannot make it count.

    The author is claimed, the uploader is signed in. A tablet is shared, so one technician's
    session may hand in another's work. What the lead alone may do counts from their own session
    and from no other: a claimed name would be no more than a name.
    """
    act = ACT_OF_KIND.get(event.kind, WORK)
    if not is_allowed(author.role, act):
        return _("%(name)s may not record this.") % {"name": author.user.name}
    if not is_allowed(uploader.role, WORK):
        return _("It was sent by someone who may not record work.")
    if is_of_lead_alone(act) and author.pk != uploader.pk:
        return _("Only a lead's own word counts here, and someone else sent it.")
    return ""


def _sets_aside(event: EventIn) -> bool:
    return event.kind == "decide" and event.payload.get("accept") is False


def _item_reason(item: Item, event: EventIn) -> str:
    """Why a tick of a part or of work cannot count: it names a reel, or a place for what has none.

    A valve goes in at one of the boat's pick-ups; of anything else no tick says where.
    """
    said = {"item": item.ident, "part": event.payload.get("component")}
    if "reel" in event.payload:
        return _("%(item)s is not cut from a reel.") % said
    if not item.pick_ups:
        if not said["part"]:
            return ""
        return _("%(item)s goes in at no pick-up, and the tick names %(part)s.") % said
    if said["part"] and said["part"] not in item.pick_ups:
        return _("%(part)s is no pick-up of this boat.") % said
    if not said["part"] and not item.place:
        return _("%(item)s does not say at which pick-up the valve went in.") % said
    return ""


def _short_reason(bench: Bench, event: EventIn, work_order: WorkOrder) -> str:
    """A piece shorter than the run that was measured, and no word why it reaches all the same.

    What is compared is the run, not the cut that is suggested: that one holds the trim.
    """
    if "cut_in" not in event.payload or has_letter(event.text):
        return ""
    run = bench.run(work_order, event.segment)
    if run is None or run.length_m is None:
        return ""
    run_in = inches(run.length_m)
    cut_in = Decimal(event.payload["cut_in"])
    if cut_in >= run_in:
        return ""
    said = {"segment": event.segment, "run": inches_text(run_in), "cut": inches_text(cut_in)}
    return _("%(segment)s measured %(run)s in, and %(cut)s in is shorter. Say why it fits.") % said


def _torque_reason(bench: Bench, planned: Planned, event: EventIn, work_order: WorkOrder) -> str:
    """A torque outside what the clamp's maker gives, and no word why."""
    makers = torque_range(planned.clamp)
    if "torque_in_lb" not in event.payload or makers is None:
        return ""
    used, why = Decimal(event.payload["torque_in_lb"]), event.payload.get("torque_why", "")
    if makers[0] <= used <= makers[1] or has_letter(why):
        return ""
    run = bench.run(work_order, event.segment)
    if run is None or not clamp_count(run):
        return ""
    said = {name: decimal_text(v) for name, v in zip(("least", "most"), makers, strict=True)}
    said |= {"segment": event.segment, "used": decimal_text(used)}
    return (
        _(
            "%(segment)s: %(used)s in-lb is outside the maker's %(least)s to %(most)s in-lb. "
            "Say why."
        )
        % said
    )


def _tick_reason(planned: Planned, event: EventIn, work_order: WorkOrder) -> str:
    """Why a tick cannot count: no reel, a reel of another hose, too little on it."""
    if not planned.from_reel or planned.product is None:
        return ""
    ident = event.payload.get("reel")
    if not ident:
        return _("It names no reel, and %(segment)s is cut from one.") % {"segment": event.segment}
    rows = Reel.objects.filter(yard=work_order.yard_id, ident=ident)
    reel = rows.select_related("lot__product").first()
    if reel is None:
        return _("There is no reel %(reel)s.") % {"reel": ident}
    said = {"reel": ident, "sku": reel.lot.product.sku, "segment": event.segment}
    if reel.lot.product_id != planned.product.pk:
        return _("%(reel)s holds %(sku)s, which is not what %(segment)s is to be.") % said
    if reel.quarantined_at is not None:
        return _("%(reel)s is set apart: its lot is called back.") % said
    wanted = Decimal(event.payload["cut_in"])
    left = reel_left_for(reel, work_order, event.segment, wanted)
    if wanted > left:
        said |= {"left": inches_text(left), "wanted": inches_text(wanted)}
        return _("%(reel)s holds %(left)s in, one piece of %(wanted)s in was named.") % said
    return ""
