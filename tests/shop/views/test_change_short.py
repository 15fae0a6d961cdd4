"""A change order whose hose the shelf lacks says so before the owner is asked."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import ChangeOrder, ChangeStatus, WorkOrder
from shop.services.changeorders import Added, AddedWork, changeorder_start
from shop.services.lots import reel_receive
from tests.shop.owning import Small, authorized
from tests.shop.views.pages import signed_in, text_of

HEAD = "The shelf lacks hose for this"


@pytest.fixture
def order(small: Small) -> WorkOrder:
    return authorized(small)


def reel(small: Small, ident: str, length_in: str) -> None:
    reel_receive(
        member=small.lead,
        product=small.yard.products.get(sku="H-TEST"),
        lot_code=f"L-{ident}",
        marking="USCG TYPE A1-15",
        ident=ident,
        length_in=Decimal(length_in),
        received_on=small.job.opened_on,
    )


def begun(small: Small, order: WorkOrder, *segments: str) -> ChangeOrder:
    added = Added("Found.", work=[AddedWork("Fit it", Decimal("0.5"))], segments=segments)
    return changeorder_start(member=small.writer, work_order=order, added=added)


def page(small: Small, change: ChangeOrder) -> str:
    client: Client = signed_in(small.writer)
    return text_of(client.get(reverse("changeorder_detail", args=[change.pk])))


@pytest.mark.parametrize(
    ("reels", "lacks"),
    [
        (["118.5"], False),  # 97.5 in of S1, authorized, and 21 in of S2, to the inch
        (["118.4"], True),
        (["97.5", "21"], False),
        (["97.5", "20.9"], True),  # two ends of 20.9 in make no piece of 21 in
        (["97.5", "20.9", "20.9"], True),
    ],
)
def test_a_piece_that_no_reel_holds_whole_is_told(
    small: Small, order: WorkOrder, reels: list[str], lacks: bool
) -> None:
    for no, length_in in enumerate(reels):
        reel(small, f"R-{no}", length_in)
    text = page(small, begun(small, order, "S2"))
    assert (HEAD in text) is lacks
    assert (f"S2 of {small.job.number}, 21 in" in text) is lacks


def test_what_lacks_without_the_change_is_not_told_of_it(small: Small, order: WorkOrder) -> None:
    reel(small, "R-0", "30")  # S1 is lacking already; S2 is not
    assert HEAD not in page(small, begun(small, order, "S2"))


def test_a_change_without_hose_and_one_that_is_decided_say_nothing(
    small: Small, order: WorkOrder
) -> None:
    assert HEAD not in page(small, begun(small, order))
    change = begun(small, order, "S2")
    assert HEAD in page(small, change)
    ChangeOrder.objects.filter(pk=change.pk).update(status=ChangeStatus.DECLINED)
    assert HEAD not in page(small, change)
