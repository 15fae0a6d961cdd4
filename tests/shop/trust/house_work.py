"""Work of that yard in every state: fresh, open, worked on, waiting, done, called back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from shop.models import Completion, Device, Product, WorkOrder
from shop.selectors.work_page import work_page
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.events import desk_event, events_receive
from shop.work.safe import READS_LEL, STEPS
from tests import factories as make
from tests.shop.billing import make_billable
from tests.shop.trust.housing import House, order_of


def make_work(house: House) -> None:
    fresh, open_, worked = (order_of(house, f"{name} Boat") for name in ("Fresh", "Open", "Worked"))
    product = house.yard.products.get(sku="H-TEST")
    lot = house.yard.lots.create(product=product, code="LOT-1")
    reel = lot.reels.create(yard=house.yard, ident="RL-1", received_on=make.DAY, received_in=600)
    for order in (open_, worked):
        _safe(house, order)
    _event(house, worked, "fuel", moved_gal="4", kept_gal="3", wasted_gal="1")
    _event(house, worked, "tick", "S1", reel="RL-1", cut_in="101")
    _event(house, worked, "defer", "S2", text="Test.")
    finished = order_of(house, "Finished Boat")
    _finish(house, finished)
    billed = make_billable(house.people["lead"])
    done = billed.work_orders.get()
    completion = Completion.objects.create(
        yard=house.yard, work_order=done, installed=done.proposed,
        document=make.make_document(house.people["lead"], billed.hull, number="R-1", job=billed),
        signed_by=house.people["lead"], signed_at=make.NOON, completed_on=make.DAY,
        next_inspection_on=make.DAY, warranty_until=make.DAY,
    )  # fmt: skip
    test = work_page(open_, at=timezone.now()).tests[0].asked.key
    house.things |= {"open": open_, "lot": lot, "reel": reel, "finished": finished}
    house.args |= {
        "fresh": [fresh.pk],
        "open": [open_.pk],
        "worked": [worked.pk],
        "finished": [finished.pk],
        "job": [open_.job_id],
        "segment": [open_.pk, "S1"],
        "fitted": [worked.pk, "S1"],
        "deferred": [worked.pk, "S2"],
        "test": [open_.pk, test],
        "completion": [completion.pk],
        "billable": [billed.pk],
    }
    _changes(house, drawn_on=worked, offered_on=open_)
    _held(house, worked)


def _held(house: House, order: WorkOrder) -> None:
    """A tick that a tablet sent, with a reel of another hose: it waits for the lead."""
    other = house.yard.lots.create(product=Product.objects.get(sku="H-NEW"), code="LOT-9")
    other.reels.create(yard=house.yard, ident="RL-8", received_on=make.DAY, received_in=600)
    tablet = Device.objects.create(yard=house.yard, name="Tablet 1")
    sent = {
        "id": "ab" * 16, "seq": 1, "work_order": order.pk, "kind": "tick", "segment": "S1",
        "author": house.people["technician"].pk, "claimed_at": timezone.now().isoformat(),
        "payload": {"reel": "RL-8", "cut_in": "101"}, "text": "",
    }  # fmt: skip
    result = events_receive(
        device=tablet, uploader=house.people["technician"], batch=[sent], now=timezone.now()
    )[0]
    assert result.result == "quarantined", result
    house.things["held"] = f"{tablet.pk}:{sent['id']}"


def _changes(house: House, *, drawn_on: WorkOrder, offered_on: WorkOrder) -> None:
    lead = house.people["lead"]
    added = Added("Found.", work=[AddedWork("Work", Decimal("1.37"))])
    drawn = changeorder_start(member=lead, work_order=drawn_on, added=added)
    offered = changeorder_start(member=lead, work_order=offered_on, added=added)
    hour_ago = timezone.now() - timedelta(hours=1)
    changeorder_offer(member=lead, change_order=offered, at=hour_ago)
    offered.refresh_from_db()
    house.things["offered"] = offered
    house.args |= {"change_draft": [drawn.pk], "change_offered": [offered.pk]}


def _event(
    house: House, order: WorkOrder, kind: str, segment: str = "", text: str = "", **payload: Any
) -> None:
    desk_event(
        member=house.people["lead"], work_order=order, kind=kind, segment=segment, payload=payload,
        text=text, now=timezone.now(),
    )  # fmt: skip


def _safe(house: House, order: WorkOrder) -> None:
    for step in STEPS:
        _event(house, order, "step", step=step.key, **_reading(step.key))


def _reading(step: str) -> Mapping[str, str]:
    return {"lel_pct": "0"} if step in READS_LEL else {}


def _finish(house: House, order: WorkOrder) -> None:
    """Done as far as a signature needs it: put off or waived is said with a reason."""
    _safe(house, order)
    _event(house, order, "fuel", moved_gal="4", kept_gal="3", wasted_gal="1")
    for part in work_page(order, at=timezone.now()).segments:
        _event(house, order, "defer", part.ident, text="Test.")
    for trial in work_page(order, at=timezone.now()).tests:
        _event(house, order, "waive", test=trial.asked.key, text="Test.")


def make_lots(house: House) -> None:
    lot = house.things["lot"]
    called = house.yard.lots.create(product=lot.product, code="LOT-2")
    recall = called.recalls.create(
        yard=house.yard, reason="Test.", opened_by=house.people["lead"], opened_at=make.NOON
    )
    notice = recall.notices.create(hull=house.small.hull, segments=["S1"])
    quiet = house.yard.lots.create(product=lot.product, code="LOT-3").recalls.create(
        yard=house.yard, reason="Test.", opened_by=house.people["lead"], opened_at=make.NOON
    )
    house.args |= {"quiet_recall": [quiet.pk]}
    house.args |= {"lot": [lot.pk], "recall": [recall.pk], "notice": [notice.pk]}
