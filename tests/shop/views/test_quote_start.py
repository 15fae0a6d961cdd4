"""Before the first quote: the empty list, and the act that starts one."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Quote
from tests.shop.quoting import Shop
from tests.shop.views.pages import signed_in, text_of
from tests.shop.views.test_quotes import keyed


@pytest.fixture
def desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


def test_the_empty_list_says_what_to_do_next(desk: Client) -> None:
    text = desk.get(reverse("quote_list")).content.decode()
    assert "No quotes yet" in text
    assert reverse("boat_list") in text


def test_a_quote_starts_from_a_proposal_once(desk: Client, shop: Shop) -> None:
    url = reverse("quote_new", args=[shop.hull.pk, shop.proposed.pk])
    sent = keyed()
    first, again = desk.post(url, sent), desk.post(url, sent)
    assert first.status_code == again.status_code == 302
    assert first["Location"] == again["Location"]
    assert Quote.objects.count() == 1


def test_a_tab_that_stood_open_leads_to_the_draft_that_was_begun_meanwhile(
    desk: Client, shop: Shop
) -> None:
    """Each tab has a key of its own."""
    url = reverse("quote_new", args=[shop.hull.pk, shop.proposed.pk])
    first = desk.post(url, {"idempotency_key": "one"})
    later = desk.post(url, {"idempotency_key": "two"}, follow=True)
    assert later.redirect_chain == [(first["Location"], 302)]
    assert "A quote is being written from this proposal already" in text_of(later)
    assert Quote.objects.count() == 1
