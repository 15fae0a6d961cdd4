"""A draft stands on its proposal until it is issued or discarded; then another may follow."""

from __future__ import annotations

import pytest

from shop.models import Quote, QuoteStatus
from shop.services import quotes
from shop.services.drafts import DraftStands
from tests.shop.quoting import ISSUED, Shop, make_draft

pytestmark = pytest.mark.django_db


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


def test_a_version_that_is_being_written_stands_on_its_own_proposal(shop: Shop) -> None:
    first = make_draft(shop)
    quotes.quote_issue(member=shop.lead, quote=first, at=ISSUED)
    first.refresh_from_db()
    version = quotes.quote_revise(member=shop.writer, quote=first)
    with pytest.raises(DraftStands) as caught:
        quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=version.proposed)
    assert caught.value.draft == version
