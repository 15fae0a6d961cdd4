"""R04: forms of the yard sent again have no second effect, and a key holds for one request only.

Every address of jobs, work and lots that writes, in an order in which each has its effect once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.db import connection
from django.urls import reverse

from shop.models import (
    Addendum,
    AuditEntry,
    Completion,
    Cut,
    Document,
    JobEvent,
    OutboxRow,
    Product,
    Recall,
    RecallNotice,
    Reel,
    WorkOrder,
)
from shop.selectors.folding import work_folded
from shop.services.stops import stop_lift
from tests.shop.finishing import TESTS, drain, fit_parts, make_safe, record
from tests.shop.trust.report import measured, planted
from tests.shop.views.at_work import ADDRESSES
from tests.shop.views.pages import send, signed_in
from tests.shop.working import Yard

pytestmark = pytest.mark.trust

REPLAYS = 20
COUNTED = (
    Addendum, AuditEntry, Completion, Cut, Document, JobEvent, OutboxRow, Recall, Reel,
)  # fmt: skip

Get = Callable[[Yard], list[object]]


@dataclass(frozen=True)
class Sent:
    """One form with an effect: where it goes, what it says, what must be so before it."""

    name: str
    args: Get
    form: Callable[[Yard], dict[str, Any]] = lambda yard: {}
    before: Callable[[Yard], object] = field(default=lambda yard: None)


def order(yard: Yard) -> list[object]:
    return [yard.work_order.pk]


def segment(ident: str) -> Get:
    return lambda yard: [yard.work_order.pk, ident]


def lot(yard: Yard) -> list[object]:
    return [yard.reels["RL-3"].lot_id]


def recall(yard: Yard) -> list[object]:
    return [Recall.objects.get().pk]


def notice(yard: Yard) -> list[object]:
    return [RecallNotice.objects.get().pk]


def completion(yard: Yard) -> list[object]:
    return [Completion.objects.get().pk]


def said(**fields: Any) -> Callable[[Yard], dict[str, Any]]:
    return lambda yard: fields


def reel_form(yard: Yard) -> dict[str, Any]:
    product = Product.objects.get(yard=yard.shop.lead.yard, sku="H-A1-038")
    return {
        "product": product.pk,
        "ident": "RL-9",
        "marking": "USCG TYPE A1-15 2026",
        "lot_code": "LOT-9",
        "length_ft": "50",
        "received_on": "2026-10-01",
    }


def held_tick(yard: Yard) -> dict[str, Any]:
    row = JobEvent.objects.exclude(quarantine_reason="").get()
    return {"events": f"{row.device_id}:{row.event_id.hex}", "accept": "no", "text": "Misread."}


def the_rest(yard: Yard) -> None:
    """What stands between the last of these forms and the signature.

    Work went on after the reading of the form, so it counts no more: each test is read now.
    """
    earlier = work_folded(yard.work_order).readings
    for key, reading in TESTS.items():
        replaced = [event.key for event in earlier.get(key, ())]
        record(yard, "reading", test=key, replaces=replaced, **reading)
    drain(yard)


def fitted(yard: Yard) -> None:
    for ident, reel, cut_in in (
        ("S1", "RL-1", "55"), ("S2", "RL-2", "89"), ("S3", "RL-3", "65"), ("S4", "RL-3", "31"),
        ("S6", "RL-4", "93"), ("S7", "RL-5", "17"),
    ):  # fmt: skip
        seen = list(work_folded(yard.work_order).segment(ident).seen)
        record(yard, "tick", ident, reel=reel, cut_in=cut_in, after=seen)
    record(yard, "tick", "S5")
    fit_parts(yard)
    the_rest(yard)


def unmarked(yard: Yard) -> None:
    """Second Helping is marked from her survey on; here she is not, so that the form has effect."""
    if yard.shop.hull.do_not_run.filter(lifted_at__isnull=True).exists():
        stop_lift(hull=yard.shop.hull, reason="Dry and tight.", member=yard.shop.lead)


FORMS = (
    Sent("work_smell", order, said(where="At the tank."), before=unmarked),
    Sent("work_safe", order, said(step="place")),
    Sent(
        "work_fuel",
        order,
        said(moved_gal="44", kept_gal="41", wasted_gal="3"),
        before=make_safe,
    ),
    Sent("fuel_undo", order),
    Sent("segment_start", segment("S3")),
    Sent("segment_note", segment("S3"), said(text="Tight.")),
    Sent("work_paper", order),
    Sent("segment_tick", segment("S3"), said(reel="RL-3", cut_in="65")),
    Sent("segment_untick", segment("S3")),
    Sent("segment_defer", segment("S3"), said(text="Not today.")),
    Sent("segment_resume", segment("S3")),
    Sent("work_test", lambda yard: [yard.work_order.pk, "ground:FILL"], said(ohm="0.5")),
    Sent("test_waive", lambda yard: [yard.work_order.pk, "run:G1"], said(text="No load.")),
    Sent(
        "work_decide",
        order,
        held_tick,
        before=lambda yard: yard.send(yard.tick("S3", "RL-2", "65")),
    ),
    Sent("reel_new", lambda yard: [], reel_form),
    Sent("work_complete", order, said(stop="stays"), before=fitted),
    Sent("addendum_new", completion, said(text="S3: 66 in.")),
    Sent("recall_new", lot, said(reason="Maker's letter.")),
    Sent("letter_new", notice),
    Sent("notice_edit", notice, said(outcome="replaced", note="")),
    Sent("recall_end", recall),
)


def state() -> dict[str, Any]:
    counts: dict[str, Any] = {model.__name__: model._default_manager.count() for model in COUNTED}
    counts["orders"] = sorted(WorkOrder.objects.values_list("status", flat=True))
    counts["closed"] = Recall.objects.filter(closed_at__isnull=False).count()
    return counts


def test_every_form_of_the_yard_counts_once(yard: Yard) -> None:
    client = signed_in(yard.shop.lead)
    second: Counter[str] = Counter()
    with measured("R04 yard", db=connection.vendor) as counted:
        for sent in FORMS:
            sent.before(yard)
            url, form = reverse(sent.name, args=sent.args(yard)), sent.form(yard)
            before = state()
            first = send(client, url, form, key=sent.name)
            assert first.status_code == 302, (sent.name, first.status_code)
            done = state()
            assert done != before, sent.name
            for _ in range(REPLAYS):
                again = send(client, url, form, key=sent.name)
                assert (again.status_code, again["Location"]) == (302, first["Location"])
            second[sent.name] += state() != done
            changed = send(client, url, {**form, "text": "other", "ohm": "9"}, key=sent.name)
            assert changed.status_code == 422, sent.name
            assert state() == done
        counted |= {
            "n": len(FORMS) * REPLAYS,
            "endpoints": len(FORMS),
            "second_effects": sum(second.values()),
        }
    assert not any(second.values()), second


def test_every_address_that_writes_is_replayed() -> None:
    """Cancelling ends a work order, so it is tried by itself below."""
    writing = {address.name for address in ADDRESSES if address.writes} - {"work_cancel"}
    assert {sent.name for sent in FORMS} == writing


def test_cancelling_counts_once(yard: Yard) -> None:
    client = signed_in(yard.shop.lead)
    url = reverse("work_cancel", args=order(yard))
    for _ in range(REPLAYS):
        assert send(client, url, {}, key="cancel").status_code == 302
    assert AuditEntry.objects.filter(action="workorder.cancel").count() == 1


@planted("R04 yard", "a key for each sending")
def test_without_its_key_a_form_sent_twice_counts_twice(yard: Yard) -> None:
    """The planted fault: each sending has a key of its own."""
    make_safe(yard)
    client = signed_in(yard.shop.lead)
    url = reverse("segment_note", args=[yard.work_order.pk, "S3"])
    for number in range(2):
        send(client, url, {"text": "Tight."}, key=f"key {number}")
    assert JobEvent.objects.filter(kind="note").count() == 2
