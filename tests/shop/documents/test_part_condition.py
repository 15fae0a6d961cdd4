"""Used, rebuilt and reconditioned parts are named on the paper, and no paper calls them new."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from shop.documents.change_order import render_html as change_html
from shop.documents.invoice import render_html as invoice_html
from shop.documents.quote import render_html as quote_html
from shop.models import Document, Product, Quote, QuoteLine
from shop.services.changeorders import Added, AddedPart, changeorder_offer, changeorder_start
from shop.services.invoices import invoice_issue
from shop.services.quotes import quote_issue
from tests.shop.billing import make_billable, make_bookkeeper
from tests.shop.owning import authorized, make_small
from tests.shop.quoting import ISSUED, Shop

ALL_NEW = "All parts are new; none is used, rebuilt or reconditioned."
NOT_NEW = "Parts marked rebuilt are not new; all other parts are new."


def plain(html: str) -> str:
    return " ".join(html.split())


def issued(shop: Shop, quote: Quote) -> Document:
    quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    return Document.objects.get(quote=quote)


def test_a_quote_of_new_parts_says_so(shop: Shop, draft: Quote) -> None:
    text = plain(quote_html(issued(shop, draft)))
    assert ALL_NEW in text
    assert "rebuilt</td>" not in text


def test_a_quote_names_the_part_that_is_not_new(shop: Shop, draft: Quote) -> None:
    Product.objects.filter(sku="F-ASV-031").update(condition="rebuilt")
    paper = issued(shop, draft)
    text = plain(quote_html(paper))
    assert NOT_NEW in text
    assert "All parts are new" not in text
    assert "(generator pickup), rebuilt</td>" in text
    line = QuoteLine.objects.filter(option__quote=draft, ref="F-ASV-031").first()
    assert line is not None
    assert line.condition == "rebuilt"


def test_a_copy_from_before_is_read_as_it_was(shop: Shop, draft: Quote) -> None:
    paper = issued(shop, draft)
    snapshot = json.loads(paper.snapshot)
    del snapshot["not_new"]
    paper.snapshot = json.dumps(snapshot)
    assert ALL_NEW in plain(quote_html(paper))


@pytest.mark.django_db
def test_a_change_order_names_the_part_that_is_not_new() -> None:
    small = make_small()
    order = authorized(small)
    part = small.yard.products.get(sku="F-TEST")
    part.condition = "rebuilt"
    part.save()
    added = Added("The valve sticks.", [AddedPart(part, Decimal(1))])
    change = changeorder_start(member=small.writer, work_order=order, added=added)
    paper = changeorder_offer(member=small.writer, change_order=change)
    text = plain(change_html(paper))
    assert f"{part.description}, rebuilt</td>" in text
    assert NOT_NEW in text
    assert "This change order offers further work" in text
    assert "This quote" not in text
    snapshot = json.loads(paper.snapshot)
    del snapshot["not_new"], snapshot["parts_told"]
    paper.snapshot = json.dumps(snapshot)
    assert "are new" not in plain(change_html(paper))  # earlier papers said nothing of it


@pytest.mark.django_db
def test_an_invoice_names_the_part_that_is_not_new() -> None:
    books = make_bookkeeper()
    invoice = invoice_issue(member=books, job=make_billable(books, condition="used"))
    text = plain(invoice_html(invoice.document))
    assert "Parts marked used are not new; all other parts are new." in text
    assert "All parts are new" not in text
    assert "Test part 2, used" in text
    assert invoice.lines.get(kind="part").condition == "used"


def test_the_database_knows_no_other_condition(shop: Shop) -> None:
    with pytest.raises(IntegrityError, match="product_condition_known"), transaction.atomic():
        Product.objects.filter(sku="F-ASV-031").update(condition="like new")
