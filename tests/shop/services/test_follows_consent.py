"""The work follows what was authorized: ticks, work order, record and bill, whatever else changes.

The proposal is changed here below the rules that refuse it, as a hand in the database would.
"""

from __future__ import annotations

import json

import pytest

from shop.models import Document, SystemState, WorkOrder
from shop.selectors.authorized import authorized_source, planned_work
from shop.selectors.items import planned_items
from shop.selectors.systems import system_document
from shop.selectors.trial_work import consented_later
from shop.selectors.trials import asked_tests
from shop.selectors.work_page import work_page
from shop.selectors.workorder_snapshot import workorder_snapshot
from shop.services.changeorders import Added, changeorder_offer, changeorder_start
from shop.services.completions import completion_sign
from shop.services.events import QUARANTINED, STORED
from shop.work.waiving import Consented
from tests.shop.finishing import finish, make_safe
from tests.shop.owning import Small, authorized
from tests.shop.quoting import ISSUED
from tests.shop.services.test_changeorders import answer
from tests.shop.working import NOW, REELS, Yard, make_reel

pytestmark = pytest.mark.django_db


def other_hose(state: SystemState, ident: str) -> None:
    """Plan grey B1-15 hose, a wider clamp and a longer run behind everybody's back."""
    row = state.segments.get(ident=ident)
    row.product_sku, row.clamp_sku = "H-B1-038", "C-SB-XL"
    row.facts["hose"] |= {"class": "B1"}
    row.facts["length_in"] = 500
    row.save()


def test_work_order_and_ticks_ask_for_the_hose_that_was_authorized(yard: Yard) -> None:
    order = yard.work_order
    before = workorder_snapshot(work_page(order, at=NOW), printed_by=yard.tech, at=NOW)
    source, tests = authorized_source(order), asked_tests(order, {"S3"}, on=ISSUED.date())
    other_hose(order.proposed, "S3")
    planned = planned_work(order)["S3"]
    assert planned.product is not None
    assert planned.clamp is not None
    assert (planned.product.sku, planned.clamp.sku) == ("H-A1-038", "C-SB-M")
    page = work_page(order, at=NOW)
    assert workorder_snapshot(page, printed_by=yard.tech, at=NOW) == before
    assert (authorized_source(order), asked_tests(order, {"S3"}, on=ISSUED.date())) == (
        source,
        tests,
    )
    assert system_document(order.proposed) != source


def test_a_piece_of_another_type_does_not_count(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(REELS, "RL-B", ("H-B1-038", "LOT-B", "USCG TYPE B1-15 2026 SAE J1527", 600))
    make_reel(yard.shop.writer, "RL-B")
    make_safe(yard)
    other_hose(yard.work_order.proposed, "S3")
    other, right = yard.send(yard.tick("S3", "RL-B", "65"), yard.tick("S3", "RL-3", "65"))
    assert (other.result, right.result) == (QUARANTINED, STORED)
    assert "not what S3 is to be" in other.reason


def test_the_signed_record_says_what_was_authorized(yard: Yard) -> None:
    finish(yard)
    other_hose(yard.work_order.proposed, "S3")
    record = completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW
    )
    row = record.installed.segments.get(ident="S3")
    assert (row.product_sku, row.clamp_sku) == ("H-A1-038", "C-SB-M")
    assert (row.facts["hose"]["class"], row.facts["length_in"]) == ("A1", 64)
    done = json.loads(record.document.snapshot)["done"]
    assert next(part for part in done if part["ident"] == "S3")["class"] == "type A1-15"


def test_a_hose_of_a_change_order_is_the_one_that_it_offered(small: Small) -> None:
    order = authorized(small)
    add_s2(small, order)
    row = order.proposed.segments.get(ident="S2")
    row.product_sku, row.facts["length_in"] = "F-TEST", 500
    row.save()
    planned = planned_work(order)["S2"]
    assert planned.product is not None
    assert planned.product.sku == "H-TEST"
    lengths = {s["id"]: s["length_in"] for s in authorized_source(order)["segments"]}
    assert lengths == {"S1": 96.5, "S2": 20}


def test_a_hose_of_a_change_order_is_authorized_from_its_consent_on(small: Small) -> None:
    order = authorized(small)
    consent = add_s2(small, order).consents.get()
    before_any_event = Consented(consent.at, last_receipt=0)
    assert consented_later(order, planned_items(order)) == {"S2": before_any_event}


def add_s2(small: Small, order: WorkOrder) -> Document:
    added = Added("S2 is worn as well.", segments=["S2"])
    change = changeorder_start(member=small.writer, work_order=order, added=added)
    document = changeorder_offer(member=small.writer, change_order=change)
    answer(small, document)
    return document
