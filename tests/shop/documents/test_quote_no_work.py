"""What is due where the owner chooses no work: an amount, nothing, or what an older copy said."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from shop.documents.quote import render_html
from shop.models import Document, Quote
from shop.selectors.owner_quote import owner_quote
from shop.services.quotes import quote_change, quote_issue, quote_revise
from tests.shop.quoting import ISSUED, Shop

DUE = "is due for the survey, for opening and for closing up, tax included"
NOTHING = "If you choose no work, nothing is due for the survey, for opening or for closing up."
BEFORE = "the time to survey and to close up what was opened may be charged"


def issued(shop: Shop, quote: Quote, price: Decimal | None) -> Document:
    kept = {"fuel_aboard_gal": Decimal(44), "waste_gal": Decimal(3), "style": "line", "note": ""}
    quote_change(member=shop.writer, quote=quote, **kept, no_work_price=price)  # type: ignore[arg-type]
    quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    return Document.objects.get(quote=quote)


def words_of(document: Document) -> str:
    return " ".join(render_html(document).split())


def test_a_price_is_printed_where_it_is_read_and_where_it_is_signed(
    shop: Shop, draft: Quote
) -> None:
    text = words_of(issued(shop, draft, Decimal("222.00")))
    assert f"If you choose no work, 222.00 {DUE}; nothing else." in text
    assert "No work, 222.00" in text
    assert BEFORE not in text
    assert NOTHING not in text


def test_the_owner_sees_it_before_the_choice(shop: Shop, draft: Quote) -> None:
    paper = issued(shop, draft, Decimal("222.00"))
    shown = owner_quote(paper, on=date(2026, 10, 8))
    assert shown is not None
    assert shown.no_work_price == "222.00"


@pytest.mark.parametrize("price", [None, Decimal(0)])
def test_without_a_price_nothing_is_due(shop: Shop, draft: Quote, price: Decimal | None) -> None:
    text = words_of(issued(shop, draft, price))
    assert (NOTHING in text) == (price is None)
    assert (f"0.00 {DUE}" in text) == (price is not None)
    assert BEFORE not in text


def test_a_copy_from_before_says_what_its_paper_said(shop: Shop, draft: Quote) -> None:
    paper = issued(shop, draft, None)
    snapshot = json.loads(paper.snapshot)
    del snapshot["no_work_price"]
    paper.snapshot = json.dumps(snapshot)
    assert BEFORE in words_of(paper)
    shown = owner_quote(paper, on=date(2026, 10, 8))
    assert shown is not None
    assert shown.no_work_price == ""


def test_the_next_version_keeps_it(shop: Shop, draft: Quote) -> None:
    issued(shop, draft, Decimal("222.00"))
    draft.refresh_from_db()
    assert quote_revise(member=shop.writer, quote=draft).no_work_price == Decimal("222.00")


def test_an_issued_price_is_frozen_and_none_is_below_zero(shop: Shop, draft: Quote) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Quote.objects.filter(pk=draft.pk).update(no_work_price=Decimal(-1))
    issued(shop, draft, Decimal("222.00"))
    with pytest.raises(IntegrityError, match="issued quote"), transaction.atomic():
        Quote.objects.filter(pk=draft.pk).update(no_work_price=Decimal(1))
