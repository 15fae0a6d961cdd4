"""Change orders: priced as the difference they make, offered one at a time, consented before."""

from __future__ import annotations

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from shop.exceptions import Conflict, Refused
from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Consent,
    Decision,
    Document,
    Means,
    WorkOrder,
    WorkOrderStatus,
)
from shop.selectors.authorized import planned_work
from shop.selectors.consented import job_authorized
from shop.selectors.items import item_idents
from shop.selectors.undone import job_undone
from shop.services.changeorders import (
    Added,
    AddedPart,
    AddedWork,
    changeorder_change,
    changeorder_offer,
    changeorder_start,
)
from shop.services.consents import Evidence, consent_record
from tests.shop.owning import TOTAL_A, Small, authorized


@pytest.fixture
def order(small: Small) -> WorkOrder:
    return authorized(small)


def valve(small: Small, hours: str = "0.30", reason: str = "Found while open.") -> Added:
    part = small.yard.products.get(sku="F-TEST")
    return Added(reason, [AddedPart(part, Decimal(1))], [AddedWork("Fit it", Decimal(hours))])


def paper(change: ChangeOrder) -> Document:
    assert change.document is not None
    return change.document


def start(small: Small, order: WorkOrder, added: Added | None = None) -> ChangeOrder:
    return changeorder_start(member=small.writer, work_order=order, added=added or valve(small))


def answer(small: Small, document: Document, decision: Decision = Decision.AUTHORIZED) -> Consent:
    evidence = Evidence(
        Means.PHONE, "A. Test", timezone.now(), taken_by=small.writer, number_called="+1 555 0199"
    )
    return consent_record(
        document=document,
        shown_sha256=document.snapshot_sha256,
        decision=decision,
        evidence=evidence,
    )


def test_supplies_and_tax_are_the_difference_to_the_whole(small: Small, order: WorkOrder) -> None:
    change = start(small, order)
    # 6 % of 300.00 is 18.00, of which 16.20 are charged already; tax 6.5 % of 59.50 = 3.87,
    # of which 2.16 are charged already.
    assert (change.labor, change.parts) == (Decimal("30.00"), Decimal("24.50"))
    assert (change.supplies, change.tax) == (Decimal("1.80"), Decimal("1.71"))
    assert (change.total, change.new_total) == (Decimal("58.01"), Decimal("381.37"))
    assert [line.ref for line in change.lines.all()] == ["F-TEST", "LAB-TM", "FEE-SUP"]


def test_supplies_stop_at_the_cap(small: Small, order: WorkOrder) -> None:
    change = start(small, order, valve(small, hours="100.00"))
    assert change.supplies == Decimal("43.80")  # 60.00 at most, less 16.20


def test_an_offer_is_a_paper_and_its_consent_raises_the_total(
    small: Small, order: WorkOrder
) -> None:
    change = start(small, order)
    document = changeorder_offer(member=small.writer, change_order=change)
    assert document.number == f"{small.job.number}-CO-1"
    consent = answer(small, document)
    change.refresh_from_db()
    assert change.status == ChangeStatus.CONSENTED
    assert (consent.added_parts, consent.added_labor) == (Decimal("24.50"), Decimal("30.00"))
    assert consent.new_total == Decimal("381.37")
    so_far = job_authorized(small.job)
    assert so_far is not None
    assert so_far.total == consent.new_total


def test_a_declined_change_leaves_the_total(small: Small, order: WorkOrder) -> None:
    document = changeorder_offer(member=small.writer, change_order=start(small, order))
    consent = answer(small, document, Decision.DECLINED)
    assert (consent.new_total, consent.added_parts) == (TOTAL_A, 0)
    assert ChangeOrder.objects.get().status == ChangeStatus.DECLINED


def test_a_changed_offer_ends_the_old_one(small: Small, order: WorkOrder) -> None:
    change = start(small, order)
    first = changeorder_offer(member=small.writer, change_order=change)
    changeorder_change(member=small.writer, change_order=change, added=valve(small, "0.50"))
    with pytest.raises(Conflict):
        answer(small, first)
    second = changeorder_offer(member=small.writer, change_order=change)
    assert (second.number, second.version) == (first.number, 2)
    with pytest.raises(Conflict, match="newer version"):
        answer(small, first)
    assert answer(small, second).added_labor == Decimal("50.00")


def test_one_change_waits_at_a_time(small: Small, order: WorkOrder) -> None:
    first, second = start(small, order), start(small, order)
    changeorder_offer(member=small.writer, change_order=first)
    with pytest.raises(Refused, match="CO-1 waits"):
        changeorder_offer(member=small.writer, change_order=second)


def test_a_second_change_is_priced_on_top_of_the_first(small: Small, order: WorkOrder) -> None:
    first, second = start(small, order), start(small, order)
    answer(small, changeorder_offer(member=small.writer, change_order=first))
    document = changeorder_offer(member=small.writer, change_order=second)
    consent = answer(small, document)
    # 270 + 2 x 30 labor, 17 + 2 x 24.50 parts, supplies 19.80, waste 18.00; tax 6.5 % of 85.80
    assert consent.new_total == Decimal("330.00") + 66 + Decimal("19.80") + 18 + Decimal("5.58")


def test_what_is_decided_stays(small: Small, order: WorkOrder) -> None:
    change = start(small, order)
    answer(small, changeorder_offer(member=small.writer, change_order=change))
    with pytest.raises(Refused, match="is decided"):
        changeorder_change(member=small.writer, change_order=change, added=valve(small))
    with pytest.raises(Refused, match="is decided"):
        changeorder_offer(member=small.writer, change_order=change)


def test_nothing_to_add_is_no_change_order(small: Small, order: WorkOrder) -> None:
    with pytest.raises(Refused, match="adds a hose"):
        start(small, order, Added("Nothing."))


def test_closed_work_takes_no_change(small: Small, order: WorkOrder) -> None:
    WorkOrder.objects.update(status=WorkOrderStatus.COMPLETED)
    order.refresh_from_db()
    with pytest.raises(Refused, match="Only open work"):
        start(small, order)


def test_an_answer_is_not_older_than_the_offer(small: Small, order: WorkOrder) -> None:
    document = changeorder_offer(member=small.writer, change_order=start(small, order))
    before = document.issued_at - timedelta(minutes=1)
    evidence = Evidence(Means.IN_PERSON, "A. Test", before, taken_by=small.writer)
    with pytest.raises(Refused, match="older than the paper"):
        consent_record(
            document=document,
            shown_sha256=document.snapshot_sha256,
            decision=Decision.AUTHORIZED,
            evidence=evidence,
        )


def test_a_hose_of_the_proposal_is_added_as_an_option_would_price_it(
    small: Small, order: WorkOrder
) -> None:
    change = start(small, order, Added("S2 is worn as well.", segments=["S2"]))
    # S2: 0.40 h; (20 + 4) / 12 = 2 ft at 2.00; supplies 6 % of 310.00 = 18.60, 2.40 of it new
    assert (change.labor, change.parts) == (Decimal("40.00"), Decimal("4.00"))
    assert change.supplies == Decimal("2.40")
    assert {line.group for line in change.lines.all()} == {"S2", ""}
    assert [entry.name for entry in job_undone(small.job)] == ["S2 Feed"]
    answer(small, changeorder_offer(member=small.writer, change_order=change))
    assert set(planned_work(order)) == {"S1", "S2"}
    assert job_undone(small.job) == []
    with pytest.raises(Refused, match="authorized already"):
        start(small, order, Added("Again.", segments=["S2"]))


def test_a_hose_that_is_added_has_its_tag_as_in_a_quote(small: Small, order: WorkOrder) -> None:
    small.yard.products.create(
        sku="P-TAG", kind="part", description="Segment tag", unit="ea", price="1.50"
    )
    change = start(small, order, Added("S2 is worn as well.", segments=["S2"]))
    changeorder_offer(member=small.writer, change_order=change)  # it prices its hoses anew
    tag = change.lines.get(ref="P-TAG")
    assert (tag.description, tag.quantity, tag.amount) == ("S2: Segment tag", 1, Decimal("1.50"))
    assert tag.group == "S2"
    change.refresh_from_db()
    assert change.parts == Decimal("5.50")  # 4.00 of hose as above
    answer(small, paper(change))
    product = planned_work(order)["S2"].product
    assert product is not None
    assert product.sku == "H-TEST"
    assert item_idents(order) == []  # a tag is not ticked by itself


def test_parts_beside_the_hoses_have_no_tag(small: Small, order: WorkOrder) -> None:
    small.yard.products.create(
        sku="P-TAG", kind="part", description="Segment tag", unit="ea", price="1.50"
    )
    assert not start(small, order).lines.filter(ref="P-TAG").exists()


def test_a_hose_that_nobody_proposed_is_not_added(small: Small, order: WorkOrder) -> None:
    with pytest.raises(Refused, match="S9 cannot be added"):
        start(small, order, Added("No such hose.", segments=["S9"]))


def test_an_offer_tells_the_condition_that_a_part_has_now(small: Small, order: WorkOrder) -> None:
    change = start(small, order)
    small.yard.products.filter(sku="F-TEST").update(condition="used")
    document = changeorder_offer(member=small.writer, change_order=change)
    said = json.loads(document.snapshot)
    assert said["not_new"] == ["used"]
    assert said["lines"][0]["words"] == "Test part, used"
    assert change.lines.get(ref="F-TEST").condition == "used"
    assert said["lines"][0]["price"] == "24.5"  # as written down
