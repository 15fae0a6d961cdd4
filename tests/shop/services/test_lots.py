"""Reels received, cut whole, called back."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from shop.exceptions import Refused
from shop.models import (
    ChangeOrder,
    Cut,
    NoticeOutcome,
    Product,
    Quote,
    QuoteStatus,
    Reel,
    WorkOrder,
)
from shop.selectors.lots import reel_left_in, reels_for
from shop.selectors.recalled import (
    by_hull,
    lot_aboard,
    lot_on_shelf,
    lot_quoted,
    lot_waiting,
    not_aboard,
)
from shop.selectors.shortage import hose_stock, pieces_wanted
from shop.services.lots import cut_put_back, cut_take, reel_receive
from shop.services.recalls import letter_issue, notice_set, recall_close, recall_open
from tests.shop.finishing import make_safe, record
from tests.shop.working import NOW, Yard

A1 = "USCG TYPE A1-15 2026 SAE J1527"


def receive(yard: Yard, **changed: object) -> Reel:
    fields = {
        "product": Product.objects.get(yard=yard.shop.lead.yard, sku="H-A1-038"),
        "ident": "RL-9",
        "lot_code": "LOT-9",
        "marking": A1,
        "length_in": Decimal(600),
        "received_on": date(2026, 10, 1),
    }
    return reel_receive(member=yard.shop.writer, **{**fields, **changed})  # type: ignore[arg-type]


def take(yard: Yard, reel: str, length_in: str, segment: str = "S3") -> Cut:
    return cut_take(
        member=yard.tech,
        reel=yard.reels[reel],
        work_order=yard.work_order,
        segment_ident=segment,
        length_in=Decimal(length_in),
    )


def test_the_year_is_read_off_the_hose(yard: Yard) -> None:
    assert receive(yard).lot.marked_year == 2026


@pytest.mark.parametrize(
    ("marking", "word"),
    [("USCG TYPE B1-15 2026", "type B1"), ("SAE J30R7", "no USCG type"), ("", "no USCG type")],
)
def test_a_hose_of_another_class_is_refused(yard: Yard, marking: str, word: str) -> None:
    with pytest.raises(Refused, match=word):
        receive(yard, marking=marking)


def test_a_lot_has_one_year(yard: Yard) -> None:
    receive(yard)
    with pytest.raises(Refused, match="2026"):
        receive(yard, ident="RL-10", marking=A1.replace("2026", "2025"))


def test_a_reel_is_on_file_once(yard: Yard) -> None:
    receive(yard)
    with pytest.raises(ValidationError):
        receive(yard)


def test_a_clamp_comes_on_no_reel(yard: Yard) -> None:
    clamp = Product.objects.get(yard=yard.shop.lead.yard, sku="C-SB-M")
    with pytest.raises(Refused, match="no hose"):
        receive(yard, product=clamp)


def test_a_piece_is_whole_or_refused(yard: Yard) -> None:
    take(yard, "RL-1", "79", "S1")
    assert reel_left_in(yard.reels["RL-1"]) == Decimal(71)
    with pytest.raises(Refused, match=r"holds 71 in.*not spliced"):
        take(yard, "RL-1", "71.25", "S1")
    take(yard, "RL-1", "71", "S1")
    assert reel_left_in(yard.reels["RL-1"]) == 0


def test_a_piece_goes_back_once(yard: Yard) -> None:
    cut = take(yard, "RL-3", "65")
    cut_put_back(member=yard.tech, cut=cut)
    with pytest.raises(Refused, match="back on RL-3 already"):
        cut_put_back(member=yard.tech, cut=cut)
    assert reel_left_in(yard.reels["RL-3"]) == Decimal(600)


def test_a_cut_is_never_changed(yard: Yard) -> None:
    take(yard, "RL-3", "65")
    with pytest.raises(IntegrityError), transaction.atomic():
        Cut.objects.update(length_in=1)


def test_reels_with_enough_left_are_offered_shortest_first(yard: Yard) -> None:
    receive(yard, length_in=Decimal(70))
    offered = reels_for(yard=yard.shop.lead.yard, sku="H-A1-038", length_in=Decimal(65))
    assert [(reel.ident, left) for reel, left in offered] == [("RL-9", 70), ("RL-3", 600)]
    longer = reels_for(yard=yard.shop.lead.yard, sku="H-A1-038", length_in=Decimal(71))
    assert [reel.ident for reel, _ in longer] == ["RL-3"]


def test_what_open_jobs_want_and_the_shelf_lacks(yard: Yard) -> None:
    """S1 wants 55 in: with 50 in on the reel it is lacking whole, whatever else is there."""
    take(yard, "RL-1", "100", "S1")
    stock = {hose.product.sku: hose for hose in hose_stock(yard.shop.lead.yard)}
    assert [(p.segment, p.length_in) for p in stock["H-A2-150"].lacking] == [("S1", 55)]
    assert not stock["H-A1-038"].lacking
    assert stock["H-A1-038"].reels[0].left_in == 600 - 65 - 31


def test_a_fitted_or_deferred_segment_wants_nothing(yard: Yard) -> None:
    make_safe(yard)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    record(yard, "defer", "S4", text="Not today.")
    wanted = [piece.segment for piece in pieces_wanted(yard.shop.lead.yard)]
    assert wanted == ["S1", "S2", "S6", "S7"]


def test_a_recall_names_boats_stock_and_what_is_only_quoted(yard: Yard) -> None:
    make_safe(yard)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    lot = yard.reels["RL-3"].lot
    assert [(piece.hull.name, piece.segment) for piece in lot_aboard(lot)] == [
        ("Second Helping", "S3")
    ]
    assert [shelf.left_in for shelf in lot_on_shelf(lot)] == [535]


def test_a_segment_cut_twice_from_a_lot_is_named_once(yard: Yard) -> None:
    """Two ticks that disagree, of 65 and of 66 in: both pieces are out until a person decides."""
    make_safe(yard)
    for segment, cut_in in (("S3", "65"), ("S4", "31"), ("S3", "66")):
        record(yard, "tick", segment, reel="RL-3", cut_in=cut_in)
    lot = yard.reels["RL-3"].lot
    pieces = lot_aboard(lot)
    assert [shelf.left_in for shelf in lot_on_shelf(lot)] == [600 - 65 - 31 - 66]
    for listed in (pieces, [*pieces, *pieces]):
        assert [(h.name, named) for h, named in by_hull(listed)] == [
            ("Second Helping", ["S3", "S4"])
        ]
    recall = recall_open(member=yard.shop.lead, lot=lot, reason="Maker's letter.")
    assert [notice.segments for notice in recall.notices.all()] == [["S3", "S4"]]


def test_an_open_recall_stops_cutting_and_new_reels(yard: Yard) -> None:
    recall_open(member=yard.shop.lead, lot=yard.reels["RL-3"].lot, reason="Maker's letter.")
    with pytest.raises(Refused, match="called back"):
        take(yard, "RL-3", "65")
    assert receive(yard, lot_code="LOT-3").quarantined_at is not None
    make_safe(yard)
    assert "set apart" in yard.send(yard.tick("S3", "RL-3", "65"))[0].reason
    with pytest.raises(Refused, match="already"):
        recall_open(member=yard.shop.lead, lot=yard.reels["RL-3"].lot, reason="Again.")


def test_a_piece_put_back_is_in_no_boat(yard: Yard) -> None:
    make_safe(yard)
    tick = yard.tick("S3", "RL-3", "65")
    yard.send(tick, yard.event("untick", "S3", names=[yard.key(tick)]))
    assert not lot_aboard(yard.reels["RL-3"].lot)


def test_a_tick_kept_apart_is_named_until_a_lead_decides(yard: Yard) -> None:
    lot = yard.reels["RL-2"].lot
    make_safe(yard)
    tick = yard.tick("S3", "RL-2", "65")
    yard.send(tick)
    assert [row.segment_ident for row in lot_waiting(lot)] == ["S3"]
    record(yard, "decide", text="Wrong reel.", events=[yard.key(tick)], accept=False)
    assert not lot_waiting(lot)


def test_a_segment_that_perhaps_carries_the_lot_again_is_not_told_as_gone(yard: Yard) -> None:
    """S3 was put back; a tablet then says that it holds a piece of the lot all the same."""
    make_safe(yard)
    first, again = yard.tick("S3", "RL-3", "65"), yard.tick("S3", "RL-3", "65")
    yard.send(first)
    recall = recall_open(member=yard.shop.lead, lot=yard.reels["RL-3"].lot, reason="Letter.")
    hull = yard.work_order.job.hull_id
    assert not_aboard(recall) == {}
    yard.send(yard.event("untick", "S3", names=[yard.key(first)]))
    assert not_aboard(recall) == {hull: ("S3",)}
    yard.send(again)
    assert [row.segment_ident for row in lot_waiting(recall.lot)] == ["S3"]
    assert not_aboard(recall) == {}
    record(yard, "decide", text="Wrong reel.", events=[yard.key(again)], accept=False)
    assert not_aboard(recall) == {hull: ("S3",)}


def test_a_recall_is_closed_when_every_boat_is_settled(yard: Yard) -> None:
    make_safe(yard)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    lead = yard.shop.lead
    recall = recall_open(member=lead, lot=yard.reels["RL-3"].lot, reason="Maker's letter.")
    notice = recall.notices.get()
    letter = letter_issue(member=lead, notice=notice, at=NOW)
    said = json.loads(letter.snapshot)
    assert (said["lot"], [row["ident"] for row in said["segments"]]) == ("LOT-3", ["S3"])
    with pytest.raises(Refused, match="Second Helping"):
        recall_close(member=lead, recall=recall)
    with pytest.raises(Refused, match="already"):
        letter_issue(member=lead, notice=notice, at=NOW)
    notice_set(member=lead, notice=notice, outcome=NoticeOutcome.REPLACED, note="J-2611-001")
    assert recall_close(member=lead, recall=recall).closed_at is not None
    with pytest.raises(Refused, match="closed"):
        notice_set(member=lead, notice=notice, outcome=NoticeOutcome.GONE)


def test_segments_quoted_and_not_fitted_are_named(yard: Yard) -> None:
    """Her quote is issued: S3 and S4 are to get this hose and have no lot yet."""
    lot = yard.reels["RL-3"].lot
    assert {quoted.segment for quoted in lot_quoted(lot)} == {"S3", "S4"}
    make_safe(yard)
    Quote.objects.filter(pk=yard.quote.pk).update(status=QuoteStatus.ACCEPTED)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    record(yard, "defer", "S4", text="Its hose is called back.")
    WorkOrder.objects.filter(pk=yard.work_order.pk).update(status="completed")
    assert [quoted.segment for quoted in lot_quoted(lot)] == ["S4"]
    WorkOrder.objects.filter(pk=yard.work_order.pk).update(status="cancelled")
    assert lot_quoted(lot) == []
    change = ChangeOrder.objects.create(
        yard=yard.work_order.yard, job=yard.work_order.job, work_order=yard.work_order, number=1,
        reason="S4 as well.", created_by=yard.shop.writer,
    )  # fmt: skip
    change.lines.create(
        no=1, kind="part", ref="H-A1-038", description="S4: hose", quantity=3, unit="ft",
        price=1, amount=3, taxable=True, group="S4",
    )  # fmt: skip
    WorkOrder.objects.filter(pk=yard.work_order.pk).update(status="open")
    Quote.objects.filter(pk=yard.quote.pk).update(status=QuoteStatus.WITHDRAWN)
    assert [(row.segment, row.quote[-4:]) for row in lot_quoted(lot)] == [("S4", "CO-1")]
