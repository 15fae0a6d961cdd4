"""One draft a proposal, however many begin one; what is issued makes room for another."""

from __future__ import annotations

from functools import partial

import pytest

from shop.models import AuditEntry, Quote, QuoteOption, QuoteStatus
from shop.services import quotes
from shop.services.drafts import DraftStands
from tests.shop.quoting import ISSUED, Shop, make_draft, make_shop
from tests.shop.services.racing import race

ONCE = 4  # writers at one boat


@pytest.mark.django_db(transaction=True)
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


@pytest.mark.django_db
def test_a_quote_follows_one_that_was_issued_and_one_that_was_replaced(shop: Shop) -> None:
    first = make_draft(shop)
    with pytest.raises(DraftStands) as caught:
        quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    assert caught.value.draft == first
    quotes.quote_issue(member=shop.lead, quote=first, at=ISSUED)
    first.refresh_from_db()
    # A next version has a proposal of its own, and stands in no one's way.
    version = quotes.quote_revise(member=shop.writer, quote=first)
    second = quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    quotes.quote_discard(member=shop.writer, quote=second)
    quotes.quote_issue(member=shop.lead, quote=version, at=ISSUED)
    first.refresh_from_db()
    assert first.status == QuoteStatus.SUPERSEDED
    third = quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    assert set(Quote.objects.filter(proposed=shop.proposed)) == {first, third}


@pytest.mark.django_db
def test_a_version_that_is_being_written_stands_on_its_own_proposal(shop: Shop) -> None:
    first = make_draft(shop)
    quotes.quote_issue(member=shop.lead, quote=first, at=ISSUED)
    first.refresh_from_db()
    version = quotes.quote_revise(member=shop.writer, quote=first)
    with pytest.raises(DraftStands) as caught:
        quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=version.proposed)
    assert caught.value.draft == version
