"""The yard's side of the scenario: its ledger, its drills, its record, to the inch.

Figures: demonstration scenario, sections 7, 9 and 10.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest
from pytest_django import DjangoDbBlocker

from shop.demo.load import demo_load
from shop.documents.completion import render_html
from shop.models import Completion, Lot, Reel, WorkOrder, Yard
from shop.selectors.cut_list import cut_list
from shop.selectors.folding import work_folded
from shop.selectors.lots import left_in
from shop.selectors.recalled import lot_aboard, lot_on_shelf, lot_quoted
from shop.selectors.shortage import hose_stock, pieces_wanted
from shop.services.recalls import recall_open
from tests.shop.conftest import rolled_back


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    with django_db_blocker.unblock(), rolled_back():
        demo_load()
        yield


pytestmark = [pytest.mark.usefixtures("demo", "db")]


def order(boat: str) -> WorkOrder:
    return WorkOrder.objects.get(job__hull__name=boat)


def test_the_lot_ledger() -> None:
    reels = list(Reel.objects.all())
    left = left_in(reels)
    assert {reel.ident: left[reel.pk] for reel in reels} == {
        "RL-3101": 332,
        "RL-3102": 71,
        "RL-3103": 503,
        "RL-3104": 462,
        "RL-3105": 447,
        "RL-3106": 600,
    }


def test_the_recall_drill() -> None:
    """Tin Whistle P5 and S5; 462 in on the shelf; Second Helping S3 and S4 only quoted."""
    lot = Lot.objects.get(code="A38-26-0807")
    aboard = lot_aboard(lot)
    assert [(piece.hull.name, piece.segment) for piece in aboard] == [
        ("Tin Whistle", "P5"),
        ("Tin Whistle", "S5"),
    ]
    assert {piece.hull.customer.name for piece in aboard} == {"Wendell Osei-Marsh"}
    assert [(shelf.reel.ident, shelf.left_in) for shelf in lot_on_shelf(lot)] == [("RL-3104", 462)]
    quoted = [(row.hull.name, row.segment) for row in lot_quoted(lot)]
    assert quoted == [("Second Helping", "S3"), ("Second Helping", "S4")]
    lead = Yard.objects.get().members.get(user__username="ingrid")
    recall = recall_open(member=lead, lot=lot, reason="The maker's letter.")
    notices = [(row.hull.name, row.segments) for row in recall.notices.all()]
    assert notices == [("Tin Whistle", ["P5", "S5"])]
    assert Reel.objects.get(ident="RL-3104").quarantined_at is not None


def test_the_shortfall_drill() -> None:
    """P1 and S1 want 61 and 65 in, 71 in are left: 65 can be cut, 61 lacks whole, 6 remain."""
    stock = {hose.product.sku: hose for hose in hose_stock(Yard.objects.get())}
    fill = stock["H-A2-150"]
    assert [(piece.segment, piece.length_in) for piece in fill.lacking] == [("P1", Decimal(61))]
    [cut] = fill.reels
    assert (cut.reel, [(p.segment, p.length_in) for p in cut.pieces], cut.left_in) == (
        "RL-3102",
        [("S1", Decimal(65))],
        6,
    )


def test_the_cut_list() -> None:
    """What lacks is bought: 61 in and 65 in both take 6 ft at 17.20 (section 3), 103.20."""
    found = cut_list(Yard.objects.get(), seconds=5)
    assert (found.cost, found.is_proven, found.pieces) == (Decimal("103.20"), True, 5)
    fill = next(hose for hose in found.hoses if hose.product.sku == "H-A2-150")
    held, bought = fill.sources
    assert held.reel is not None
    assert (held.reel.ident, held.reel.lot.code, held.length_in) == (
        "RL-3102",
        "A2F-26-0091",
        71,
    )
    assert (bought.reel, bought.feet, bought.cost) == (None, 6, Decimal("103.20"))
    assert {p.segment for p in (*held.pieces, *bought.pieces)} == {"P1", "S1"}
    left = {s.reel.ident: s.left_in for hose in found.hoses for s in hose.sources if s.reel}
    assert left["RL-3103"] == 503 - 75 - 73
    assert left["RL-3105"] == 447 - 41


def test_job_1_is_closed_with_its_tests() -> None:
    completion = Completion.objects.get(work_order=order("Slack Tide"))
    assert completion.completed_on == date(2026, 9, 18)
    assert completion.next_inspection_on == date(2027, 9, 18)
    assert completion.signed_by.user.name == "Ingrid Pask"
    folded = work_folded(completion.work_order)
    assert {ident: work.state for ident, work in folded.segments.items()} == dict.fromkeys(
        ["S1", "S2", "S3", "S4", "S5", "CO-1.1", "CO-1.2", "Q.1", "Q.2"], "fitted"
    )
    assert not folded.held
    assert not folded.reviews


def test_the_record_of_job_1_draws_its_type_b_hose() -> None:
    completion = Completion.objects.get(work_order=order("Slack Tide"))
    said = json.loads(completion.document.snapshot)
    assert [row["ident"] for row in said["profiles"]] == ["S3", "S4", "S5"]
    html = render_html(completion.document)
    assert "Type B hose, as installed" in html
    assert html.count("<svg") >= 3


def test_job_3_is_in_progress() -> None:
    folded = work_folded(order("Tin Whistle"))
    states = {ident: work.state for ident, work in folded.segments.items()}
    assert states == {
        "P1": "to_do",
        "P2": "to_do",
        "P3": "fitted",
        "P4": "fitted",
        "P5": "fitted",
        "S1": "to_do",
        "S2": "to_do",
        "S3": "fitted",
        "S4": "started",
        "S5": "fitted",
    }
    s5 = folded.segment("S5").tick
    assert s5 is not None
    assert s5.received_at is not None
    assert (s5.received_at - s5.claimed_at).total_seconds() == (2 * 60 + 28) * 60


def test_only_open_jobs_want_hose() -> None:
    wanted = {(piece.hull.name, piece.segment) for piece in pieces_wanted(Yard.objects.get())}
    assert wanted == {("Tin Whistle", ident) for ident in ("P1", "P2", "S1", "S2", "S4")}
