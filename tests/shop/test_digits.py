"""Digits that a browser sends by itself: what is not a plain whole number is no number."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.digits import DIGITS_OF_A_KEY, whole_number
from shop.models import StateKind, SystemState
from tests.shop.quoting import Shop
from tests.shop.views.pages import send, signed_in

STRANGE = ("²", "٣", "9" * 25, "9" * 5000, "", "-1", "1_0")


@pytest.mark.parametrize("word", STRANGE)
def test_what_is_no_plain_number_is_none(word: str) -> None:
    assert whole_number(word) is None
    assert whole_number(word, most=DIGITS_OF_A_KEY) is None


def test_a_plain_number_is_read_as_far_as_it_may_reach() -> None:
    assert (whole_number("007"), whole_number("999999")) == (7, 999_999)
    assert (whole_number("1000000"), whole_number("1000000", most=7)) == (None, 1_000_000)


@pytest.mark.django_db
@pytest.mark.parametrize("word", ["²", "9" * 5000])
def test_no_page_breaks_on_digits_that_it_did_not_write(shop: Shop, word: str) -> None:
    desk = signed_in(shop.writer)
    desk.raise_request_exception = False
    found = SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)
    form = reverse("facts_edit", args=[found.pk, "segment", "S3"])
    seen = f'{{"route[{word}].along": "1"}}'
    posts = ({"rows": f"route:add:{word}"}, {"route-rows": word}, {"seen": seen})
    assert max(send(desk, form, post).status_code for post in posts) < 500
    page = reverse("boat_state", args=[shop.hull.pk, "found"])
    assert desk.get(page, {"change": word}).status_code == 200
