"""Parts and work beside the segments: what nobody ticked is not printed, billed or installed."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest

from shop.documents.completion import render_html
from shop.exceptions import Refused
from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Completion,
    Consent,
    Decision,
    Document,
    Means,
    Product,
    Quote,
    QuoteStatus,
)
from shop.selectors.billable import job_billable
from shop.selectors.folding import work_folded
from shop.selectors.installed import installed_document
from shop.selectors.items import ItemWork, planned_items
from shop.services.changeorders import (
    Added,
    AddedPart,
    AddedWork,
    changeorder_offer,
    changeorder_start,
)
from shop.services.completions import completion_sign
from shop.services.consents import Evidence, consent_record
from shop.services.invoices import invoice_issue
from shop.work.model import SegmentWork
from tests.shop.billing import consent_to
from tests.shop.finishing import drain, finish, fit_all, make_safe, record, run_tests
from tests.shop.working import NOW, Yard

FITTING = "Fit anti-siphon valve"


def add_valve(yard: Yard, at: datetime = NOW) -> ChangeOrder:
    """A valve and the hours to fit it, offered and consented to by phone."""
    writer = yard.shop.writer
    authorize(yard)
    valve = Product.objects.get(yard=yard.work_order.yard, sku="F-ASV-038")
    added = Added(
        "The main pick-up's valve sticks.",
        parts=[AddedPart(valve, Decimal(1))],
        work=[AddedWork(FITTING, Decimal("0.40"))],
    )
    change = changeorder_start(member=writer, work_order=yard.work_order, added=added)
    paper = changeorder_offer(member=writer, change_order=change, at=NOW)
    agree(yard, paper, at)
    change.refresh_from_db()
    assert change.status == ChangeStatus.CONSENTED
    return change


def authorize(yard: Yard) -> None:
    """The owner's consent to option B, on which the work order stands."""
    quote, option = yard.quote, yard.work_order.option
    assert option is not None
    document, job = quote.documents.get(kind="quote"), yard.work_order.job
    consent_to(yard.shop.writer, job, document, quote=quote, option=option, new_total=option.total)
    Quote.objects.filter(pk=quote.pk).update(status=QuoteStatus.ACCEPTED)


def agree(yard: Yard, paper: Document, at: datetime = NOW) -> Consent:
    evidence = Evidence(
        Means.PHONE, "An owner", at, taken_by=yard.shop.writer, number_called="+1 555 0100"
    )
    return consent_record(
        document=paper, shown_sha256=paper.snapshot_sha256, decision=Decision.AUTHORIZED,
        evidence=evidence,
    )  # fmt: skip


def sign(yard: Yard) -> Completion:
    return completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW
    )


def said(completion: Completion) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(completion.document.snapshot)
    return loaded


def test_parts_of_the_quote_are_ticked_like_a_segment(yard: Yard) -> None:
    items = planned_items(yard.work_order)
    assert {ident: (item.ref, item.place) for ident, item in items.items()} == {
        "Q.1": ("F-ASV-031", "T1-G"),
        "Q.2": ("F-ELEM-10", ""),
    }
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    run_tests(yard)
    key = record(yard, "note", "Q.2", text="Old element full of water.")
    assert key
    completion = sign(yard)
    rows = {row["ident"]: row for row in said(completion)["items"]}
    assert rows["Q.1"]["place"] == "T1-G"
    assert rows["Q.2"]["by"] == ["Dov Hallstrom"]
    assert "Old element full of water." in render_html(completion.document)
    valve = completion.installed.components.get(ident="T1-G")
    assert (valve.product_sku, valve.facts["anti_siphon"]) == ("F-ASV-031", "spring_valve")


def test_a_change_order_after_the_last_test_keeps_the_record_open(yard: Yard) -> None:
    finish(yard)
    add_valve(yard)
    with pytest.raises(Refused) as refusal:
        sign(yard)
    for words in ("CO-1.1, 1 × Anti-siphon valve", f"CO-1.2, {FITTING}"):
        assert words in str(refusal.value)


def test_what_was_ticked_is_printed_installed_and_billed(yard: Yard) -> None:
    finish(yard)
    add_valve(yard)
    with pytest.raises(Refused, match="at which pick-up"):
        record(yard, "tick", "CO-1.1")
    with pytest.raises(Refused, match="no pick-up"):
        record(yard, "tick", "CO-1.1", component="FILL")
    with pytest.raises(Refused, match="not cut from a reel"):
        record(yard, "tick", "CO-1.1", reel="RL-3", cut_in="4", component="T1-P")
    record(yard, "tick", "CO-1.1", component="T1-P")
    record(yard, "tick", "CO-1.2")
    with pytest.raises(Refused, match="Fitted after the test; test again"):
        sign(yard)
    run_tests(yard)
    completion = sign(yard)
    paper = render_html(completion.document)
    assert "1 × Anti-siphon valve, 3/8 in barb" in paper
    assert FITTING in paper
    fitted = completion.installed.components.get(ident="T1-P")
    assert (fitted.product_sku, fitted.facts["anti_siphon"]) == ("F-ASV-038", "spring_valve")
    billed = invoice_issue(member=yard.shop.lead, job=yard.work_order.job, at=NOW)
    assert set(billed.lines.values_list("ref", flat=True)) >= {"F-ASV-038", "LAB-TM"}


def test_what_was_put_off_is_neither_printed_as_fitted_nor_billed(yard: Yard) -> None:
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    run_tests(yard)
    add_valve(yard)
    tick = record(yard, "tick", "Q.2")
    record(yard, "untick", "Q.2", names=[*_ticks(yard, "Q.2"), tick])
    for ident in ("Q.2", "CO-1.1", "CO-1.2"):
        record(yard, "defer", ident, text="The part did not come.")
    run_tests(yard)
    completion = sign(yard)
    snapshot = said(completion)
    assert [row["ident"] for row in snapshot["items"]] == ["Q.1"]
    assert [row["ident"] for row in snapshot["deferred"]] == ["Q.2", "CO-1.1", "CO-1.2"]
    assert completion.installed.components.get(ident="T1-P").product_sku == ""
    job = yard.work_order.job
    lines = {line.ref: line.number for line in _billable(yard)}
    with pytest.raises(Refused, match="put off"):
        invoice_issue(
            member=yard.shop.lead, job=job, quantities={lines["F-ASV-038"]: Decimal(1)}, at=NOW
        )
    billed = invoice_issue(member=yard.shop.lead, job=job, at=NOW)
    refs = set(billed.lines.values_list("ref", flat=True))
    assert "F-ASV-031" in refs
    assert not refs & {"F-ASV-038", "LAB-TM", "F-ELEM-10"}


def test_no_consent_comes_behind_a_signed_record(yard: Yard) -> None:
    change = add_valve(yard)
    finish(yard)
    record(yard, "tick", "CO-1.1", component="T1-P")
    record(yard, "tick", "CO-1.2")
    run_tests(yard)
    valve = AddedPart(Product.objects.get(yard=change.yard, sku="F-ASV-031"), Decimal(1))
    another = changeorder_start(
        member=yard.shop.writer, work_order=yard.work_order, added=Added("More.", parts=[valve])
    )
    paper = changeorder_offer(member=yard.shop.writer, change_order=another, at=NOW)
    sign(yard)
    with pytest.raises(Refused, match="closed"):
        agree(yard, paper)


def test_events_of_no_item_are_kept_apart(yard: Yard) -> None:
    make_safe(yard)
    answer = yard.send(yard.event("tick", "CO-9.1"))[0]
    assert (answer.result, "not authorized" in answer.reason) == ("quarantined", True)
    assert yard.send(yard.event("tick", "Q.1", component=3))[0].result == "rejected"
    assert yard.send(yard.event("tick", "Q.1", component="x" * 41))[0].result == "rejected"


@pytest.mark.parametrize("place", ["NOWHERE", "T1-F"])
def test_a_part_that_is_no_valve_goes_in_at_no_component(yard: Yard, place: str) -> None:
    """A tablet's word for it is kept apart. Taken into the record all the same, it renews none."""
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    back = record(yard, "untick", "Q.2", names=_ticks(yard, "Q.2"))
    lie = yard.event("tick", "Q.2", component=place, after=[back])
    answer = yard.send(lie)[0]
    assert answer.result == "quarantined"
    assert answer.reason == f"Q.2 goes in at no pick-up, and the tick names {place}."
    record(yard, "decide", events=[yard.key(lie)], accept=True)
    run_tests(yard)
    completion = sign(yard)
    rows = {row["ident"]: row for row in said(completion)["items"]}
    assert rows["Q.2"]["place"] == ""
    assert completion.installed.components.get(ident="T1-F").product_sku == ""


def test_a_valve_at_no_pick_up_stays_where_it_was_planned(yard: Yard) -> None:
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    back = record(yard, "untick", "Q.1", names=_ticks(yard, "Q.1"))
    lie = yard.event("tick", "Q.1", component="NOWHERE", after=[back])
    assert yard.send(lie)[0].result == "quarantined"
    record(yard, "decide", events=[yard.key(lie)], accept=True)
    run_tests(yard)
    completion = sign(yard)
    assert completion.installed.components.get(ident="T1-G").product_sku == "F-ASV-031"


def test_what_no_place_of_the_proposal_bears_is_installed_nowhere(yard: Yard) -> None:
    """The signature does not break on a part whose place the proposal does not hold."""
    finish(yard)
    items = planned_items(yard.work_order)
    astray = ItemWork(replace(items["Q.1"], place="GONE"), SegmentWork("Q.1"))
    installed = installed_document(yard.work_order, [], [], placed={"GONE": astray}, on=NOW.date())
    assert "GONE" not in {part["id"] for part in installed["components"]}


def _ticks(yard: Yard, ident: str) -> list[str]:
    return [tick.key for tick in work_folded(yard.work_order).segment(ident).ticks]


def _billable(yard: Yard) -> Any:
    return job_billable(yard.work_order.job).lines
