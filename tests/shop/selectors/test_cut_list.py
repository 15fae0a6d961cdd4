"""The cut list: from the shelf first, then the cheapest to buy; whole pieces, lots kept."""

from __future__ import annotations

import time
from decimal import Decimal
from types import ModuleType
from typing import Any

import pytest
from django.utils import timezone

from fuelsys.cutting import ByLength, Coil, CutPlan, Need, cut_plan
from shop.models import Product
from shop.selectors import cut_list as cut_lists
from shop.selectors import shortage as shortages
from shop.selectors.cut_list import FOOT, CutList, HoseCuts, cut_list, offers_of
from shop.selectors.lots import reel_left_in
from shop.selectors.shortage import hose_stock
from tests.shop.finishing import make_safe, record
from tests.shop.working import Yard


def hose_of(found: CutList, sku: str) -> HoseCuts:
    return next(hose for hose in found.hoses if hose.product.sku == sku)


def lengths(hose: HoseCuts) -> list[tuple[str, list[tuple[str, Decimal]], Decimal]]:
    """Each source with its pieces and what is left."""
    return [
        (
            s.reel.ident if s.reel else f"{s.feet.normalize():f} ft",
            sorted((p.segment, p.length_in) for p in s.pieces),
            s.left_in,
        )
        for s in hose.sources
    ]


def all_open(yard: Yard) -> CutList:
    return cut_list(yard.shop.lead.yard, seconds=5)


@pytest.mark.django_db
def test_what_is_on_the_shelf_is_cut_first_and_the_lot_is_named(yard: Yard) -> None:
    """Second Helping S3 and S4, 61 and 22 in runs with 4 in of trim, from 600 in of 3/8 hose."""
    hose = hose_of(all_open(yard), "H-A1-038")
    [(reel, pieces, left)] = lengths(hose)
    assert reel == "RL-3"
    assert [segment for segment, _ in pieces] == ["S3", "S4"]
    assert left == 600 - sum(length for _, length in pieces)
    assert hose.sources[0].reel is not None
    assert hose.sources[0].reel.lot.code == "LOT-3"
    assert (hose.cost, hose.is_proven) == (0, True)


@pytest.mark.django_db
def test_it_agrees_with_the_shortage_where_nothing_is_bought(yard: Yard) -> None:
    """Two ways through the same shelf: what lacks there is what is bought here."""
    stock = {hose.product.sku: hose for hose in hose_stock(yard.shop.lead.yard)}
    for hose in all_open(yard).hoses:
        short = stock[hose.product.sku]
        assert sum(len(s.pieces) for s in hose.bought) == len(short.lacking)
        assert not hose.lacking


@pytest.mark.django_db
def test_a_coil_is_bought_where_it_costs_less_than_the_feet(yard: Yard) -> None:
    """By the foot at 3.75, and a coil of 50 ft: the cheaper of the two is taken."""
    reel = yard.reels["RL-3"]
    reel.quarantined_at = timezone.now()
    reel.save()
    by_foot = hose_of(all_open(yard), "H-A1-038")
    feet = sum(source.feet for source in by_foot.bought)
    assert by_foot.cost == feet * Decimal("3.75")
    assert all(s.reel is None and not s.is_coil for s in by_foot.sources)
    for cost, is_coil in ((by_foot.cost - 1, True), (by_foot.cost + 1, False)):
        Product.objects.filter(sku="H-A1-038").update(
            facts={"class": "A1", "coils": [{"ft": "50", "cost": str(cost)}]}
        )
        found = hose_of(all_open(yard), "H-A1-038")
        assert found.cost == min(cost, by_foot.cost)
        assert [source.is_coil for source in found.bought][:1] == [is_coil]
        assert found.is_proven


@pytest.mark.django_db
def test_a_piece_longer_than_all_that_can_be_had_is_lacking(yard: Yard) -> None:
    Product.objects.filter(sku="H-A2-150").update(cost=0)
    reel = yard.reels["RL-1"]
    reel.quarantined_at = timezone.now()
    reel.save()
    hose = hose_of(all_open(yard), "H-A2-150")
    assert [piece.segment for piece in hose.lacking] == ["S1"]
    assert hose.sources == ()


@pytest.mark.django_db
def test_what_is_left_goes_back_on_the_shelf_and_is_cut_from_again(yard: Yard) -> None:
    """The next plan begins at what the ledger says is left; a piece put back is there again."""
    hose = hose_of(all_open(yard), "H-A1-038")
    s3 = next(p for s in hose.sources for p in s.pieces if p.segment == "S3")
    make_safe(yard)
    record(yard, "tick", "S3", reel="RL-3", cut_in=f"{s3.length_in.normalize():f}")
    after = hose_of(all_open(yard), "H-A1-038")
    assert after.sources[0].length_in == 600 - s3.length_in
    assert reel_left_in(yard.reels["RL-3"]) == after.sources[0].length_in
    assert [p.segment for s in after.sources for p in s.pieces] == ["S4"]
    key = yard.work_order.events.get(kind="tick")
    record(yard, "untick", "S3", names=[f"{key.device_id}:{key.event_id.hex}"])
    assert hose_of(all_open(yard), "H-A1-038").sources[0].length_in == 600


@pytest.mark.django_db
def test_one_job_alone(yard: Yard) -> None:
    shop = yard.shop.lead.yard
    found = cut_list(shop, seconds=5, job=yard.work_order.job)
    assert found.pieces == all_open(yard).pieces > 0


def test_how_a_hose_is_bought() -> None:
    hose = Product(sku="H", unit="ft", cost=Decimal("3.75"),
                   facts={"coils": [{"ft": "50", "cost": "170.00"}]})  # fmt: skip
    assert offers_of(hose) == (
        ByLength("foot", FOOT, Decimal("3.75"), 100 * FOOT),
        Coil("50 ft", 9600, Decimal("170.00")),
    )
    assert offers_of(Product(sku="P", unit="ea", cost=Decimal(3))) == ()
    assert offers_of(Product(sku="N", unit="ft", cost=Decimal(0))) == ()


@pytest.mark.django_db
@pytest.mark.parametrize("module", [cut_lists, shortages])
def test_the_plan_ends_by_the_clock_of_the_machine(
    yard: Yard, monkeypatch: pytest.MonkeyPatch, module: ModuleType
) -> None:
    clocks: list[object] = []

    def noted(needs: list[Need], **facts: Any) -> CutPlan:
        clocks.append(facts["clock"])
        return cut_plan(needs, **facts)

    monkeypatch.setattr(module, "cut_plan", noted)
    assert all_open(yard).hoses if module is cut_lists else hose_stock(yard.shop.lead.yard)
    assert clocks == [time.monotonic]
