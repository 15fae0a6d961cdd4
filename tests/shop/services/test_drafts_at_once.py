"""One draft a proposal, however many begin one at once."""

from __future__ import annotations

from functools import partial

import pytest

from shop.models import AuditEntry, Quote, QuoteOption
from shop.services import quotes
from shop.services.drafts import DraftStands
from tests.shop.quoting import make_shop
from tests.shop.services.racing import race

pytestmark = pytest.mark.django_db(transaction=True)

ONCE = 4  # writers at one boat


def test_of_several_drafts_begun_at_once_one_is_made_and_the_others_are_led_to_it() -> None:
    shop = make_shop()
    begin = partial(quotes.quote_start, member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    outcomes = race([begin] * ONCE)
    draft = Quote.objects.get()
    assert [one for one in outcomes if isinstance(one, Quote)] == [draft]
    refused = [one.draft for one in outcomes if isinstance(one, DraftStands)]
    assert refused == [draft] * (ONCE - 1)
    assert QuoteOption.objects.count() == 1
    assert AuditEntry.objects.filter(action="quote.start").count() == 1
