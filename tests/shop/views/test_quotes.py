"""Every address of the quotes: who may, what is refused, what a repetition does."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoDbBlocker

from shop.models import AuditEntry, Document, Member, Override, Quote, QuoteStatus
from shop.services import quotes
from tests.shop.conftest import rolled_back
from tests.shop.quoting import ISSUED, Shop, make_draft, with_type_b
from tests.shop.views.pages import signed_in

WRITING = [
    ("quote_edit", "quote"), ("option_new", "quote"), ("option_edit", "option"),
    ("option_remove", "option"), ("quote_issue", "quote"), ("quote_revise", "quote"),
]  # fmt: skip
POST_ONLY = ["option_remove", "quote_issue", "quote_revise", "override_new"]


def keyed(**fields: object) -> dict[str, object]:
    return {"idempotency_key": str(uuid4()), **fields}


def address(name: str, kind: str, draft: Quote) -> str:
    return reverse(name, args=[draft.pk if kind == "quote" else draft.options.first().pk])  # type: ignore[union-attr]


@pytest.fixture(scope="module")
def draft_made(shop_made: Shop, django_db_blocker: DjangoDbBlocker) -> Iterator[Quote]:
    """Every test of this file is about a quote; what comes before one is in test_quote_start."""
    with django_db_blocker.unblock(), rolled_back():
        yield make_draft(shop_made)


@pytest.fixture
def draft(draft_made: Quote, db: None) -> Quote:
    return copy.deepcopy(draft_made)


@pytest.fixture
def desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def lead_s_desk(shop: Shop) -> Client:
    return signed_in(shop.lead)


def test_the_list_names_boat_owner_and_totals(desk: Client, draft: Quote) -> None:
    text = desk.get(reverse("quote_list")).content.decode()
    for words in ("Second Helping", "Annika Brae", "1,826.67", "2,531.02", "Draft"):
        assert words in text


def test_the_list_finds_by_owner(desk: Client, draft: Quote) -> None:
    assert "Second Helping" in desk.get(reverse("quote_list"), {"q": "brae"}).content.decode()
    assert "No quote with" in desk.get(reverse("quote_list"), {"q": "nobody"}).content.decode()


def test_the_page_shows_options_side_by_side_and_never_their_sum(
    desk: Client, draft: Quote
) -> None:
    text = desk.get(reverse("quote_detail", args=[draft.pk])).content.decode()
    assert "1,826.67" in text
    assert "2,531.02" in text
    assert "4,357.69" not in text  # their sum
    assert "Do not run" in text


def test_issue_shows_number_and_the_paper_s_progress(desk: Client, draft: Quote) -> None:
    answer = desk.post(reverse("quote_issue", args=[draft.pk]), keyed(), follow=True)
    text = answer.content.decode()
    quote = Quote.objects.get(pk=draft.pk)
    assert quote.status == QuoteStatus.ISSUED
    assert quote.number in text
    assert "step 1 of 3" in text


def test_the_decision_s_page_writes_sums_as_the_quote_s_page_does(
    desk: Client, draft: Quote
) -> None:
    desk.post(reverse("quote_issue", args=[draft.pk]), keyed())
    choices = desk.get(reverse("consent_new", args=[draft.pk])).content.decode()
    shown = desk.get(reverse("quote_detail", args=[draft.pk])).content.decode()
    for option in draft.options.all():
        assert option.total > 1000
        assert f", {option.total:,.2f}" in choices
        assert f"{option.total:,.2f}" in shown
        assert f"{option.total:.2f}" not in choices


def test_issue_twice_with_one_key_is_one_paper(desk: Client, draft: Quote) -> None:
    sent = keyed()
    for _ in range(3):
        desk.post(reverse("quote_issue", args=[draft.pk]), sent)
    assert Document.objects.count() == 1


def test_what_stands_in_the_way_is_shown_and_issue_is_not_offered(
    desk: Client, draft: Quote, shop: Shop
) -> None:
    with_type_b(shop.proposed)
    text = desk.get(reverse("quote_detail", args=[draft.pk])).content.decode()
    assert "In the way of this quote" in text
    assert "Ask a lead to decide." in text
    assert "against a limit of 5 fl oz." in text
    assert "Binds the boat’s builder. Text read, and again in a later copy." in text
    assert f'href="{reverse("rule_detail", args=["cfr-33-183-558-b"])}#open"' in text
    assert reverse("quote_issue", args=[draft.pk]) not in text


def test_issuing_in_spite_of_it_is_refused_in_words(desk: Client, draft: Quote, shop: Shop) -> None:
    with_type_b(shop.proposed)
    answer = desk.post(reverse("quote_issue", args=[draft.pk]), keyed(), follow=True)
    assert "A lead decides on S3 first" in answer.content.decode()
    assert Quote.objects.get(pk=draft.pk).status == QuoteStatus.DRAFT


def blocker_fields(client: Client, draft: Quote) -> dict[str, str]:
    (waiting, *_) = client.get(reverse("quote_detail", args=[draft.pk])).context["waiting"]
    subject, rule, regime = waiting[0].key
    return {"subject": subject, "rule": rule, "regime": regime}


def test_a_lead_overrides_with_a_reason(lead_s_desk: Client, draft: Quote, shop: Shop) -> None:
    with_type_b(shop.proposed)
    fields = blocker_fields(lead_s_desk, draft)
    answer = lead_s_desk.post(
        reverse("override_new", args=[draft.pk]), keyed(reason="Tested on the bench.", **fields)
    )
    assert answer.status_code == 302
    override = Override.objects.get()
    assert (override.reason, override.member) == ("Tested on the bench.", shop.lead)
    text = lead_s_desk.get(reverse("quote_detail", args=[draft.pk])).content.decode()
    assert "Overridden by Ingrid Pask: Tested on the bench." in text


def test_an_override_without_a_reason_is_refused_beside_the_field(
    lead_s_desk: Client, draft: Quote, shop: Shop
) -> None:
    with_type_b(shop.proposed)
    fields = blocker_fields(lead_s_desk, draft)
    answer = lead_s_desk.post(
        reverse("override_new", args=[draft.pk]), keyed(reason="  ", **fields)
    )
    assert answer.status_code == 422
    assert "is empty. It is needed." in answer.content.decode()
    assert not Override.objects.exists()


def test_a_writer_does_not_override(desk: Client, draft: Quote, shop: Shop) -> None:
    with_type_b(shop.proposed)
    answer = desk.post(
        reverse("override_new", args=[draft.pk]),
        keyed(subject="S3", rule="x", regime="33-cfr-183", reason="I say so."),
    )
    assert answer.status_code == 403
    assert not Override.objects.exists()
    assert AuditEntry.objects.filter(action__startswith="access").exists()


def test_an_override_is_taken_back(lead_s_desk: Client, draft: Quote, shop: Shop) -> None:
    with_type_b(shop.proposed)
    fields = blocker_fields(lead_s_desk, draft)
    lead_s_desk.post(reverse("override_new", args=[draft.pk]), keyed(reason="For now.", **fields))
    made = Override.objects.get()
    lead_s_desk.post(reverse("override_remove", args=[made.pk]), keyed())
    assert not Override.objects.exists()


def test_fuel_and_waste_price_the_quote_anew(desk: Client, draft: Quote) -> None:
    url = reverse("quote_edit", args=[draft.pk])
    desk.post(url, keyed(fuel_aboard_gal="0", waste_gal="0", style="line", note=""))
    total = draft.options.get(letter="A").total
    # 204.24 for moving 44 gal and 3 x 1.25 for waste less than the scenario's 1826.67
    assert f"{total}" == "1618.68"


def test_a_price_for_no_work_is_set_kept_and_said(desk: Client, draft: Quote) -> None:
    url = reverse("quote_edit", args=[draft.pk])
    page = reverse("quote_detail", args=[draft.pk])
    totals = [option.total for option in draft.options.all()]
    assert "If no work is chosen, nothing is due." in desk.get(page).content.decode()
    fuel = {"fuel_aboard_gal": "44", "waste_gal": "3", "style": "line", "note": ""}
    desk.post(url, keyed(**fuel, no_work_price="$1,222.50"))
    assert f"{Quote.objects.get().no_work_price}" == "1222.50"
    assert "1,222.50 is due for survey, opening and closing up" in desk.get(page).content.decode()
    assert "1222.50" in desk.get(url).content.decode()
    assert [option.total for option in draft.options.all()] == totals
    desk.post(url, keyed(**fuel, no_work_price=""))
    assert Quote.objects.get().no_work_price is None


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("fuel_aboard_gal", "a lot", "fuel_aboard_gal"),
        ("fuel_aboard_gal", "-1", "fuel_aboard_gal"),
        ("waste_gal", "99", "More goes to waste than comes out"),
        ("style", "whatever", "style"),
        ("no_work_price", "much", "This is not an amount."),
        ("no_work_price", "-1", "An amount is not below zero."),
    ],
)
def test_each_bad_entry_is_named_and_kept(
    desk: Client, draft: Quote, field: str, typed: str, says: str
) -> None:
    good = {"fuel_aboard_gal": "44", "waste_gal": "3", "style": "line", "note": "Keep me."}
    answer = desk.post(reverse("quote_edit", args=[draft.pk]), keyed(**{**good, field: typed}))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert says in text
    assert "Keep me." in text
    assert Quote.objects.get(pk=draft.pk).fuel_aboard_gal == 44


def test_an_option_is_added_and_priced(desk: Client, draft: Quote) -> None:
    answer = desk.post(
        reverse("option_new", args=[draft.pk]),
        keyed(title="Main feed only", summary="S3 and S4.", segments=["S3", "S4"]),
    )
    assert answer.status_code == 302
    option = draft.options.get(letter="C")
    assert option.segments == ["S3", "S4"]
    assert option.total > 0


def test_an_option_renews_only_what_the_proposal_renews(desk: Client, draft: Quote) -> None:
    answer = desk.post(
        reverse("option_new", args=[draft.pk]), keyed(title="Odd", segments=["S3", "S99"])
    )
    assert answer.status_code == 422
    assert draft.options.count() == 2


def test_an_option_that_renews_nothing_is_refused(desk: Client, draft: Quote) -> None:
    answer = desk.post(reverse("option_new", args=[draft.pk]), keyed(title="Nothing"))
    assert answer.status_code == 422
    assert "An option renews something" in answer.content.decode()


def test_parts_of_an_option_follow_what_is_typed(desk: Client, draft: Quote) -> None:
    option = draft.options.get(letter="A")
    part = draft.yard.products.get(sku="F-ELEM-10")
    desk.post(
        reverse("option_edit", args=[option.pk]),
        keyed(title=option.title, segments=option.segments, **{f"part_{part.pk}": "2"}),
    )
    option.refresh_from_db()
    assert option.extras == [{"sku": "F-ELEM-10", "quantity": "2", "note": ""}]


@pytest.mark.parametrize(("name", "kind"), [("quote_detail", "quote"), *WRITING])
def test_another_yard_finds_nothing(name: str, kind: str, draft: Quote, stranger: Member) -> None:
    client = signed_in(stranger)
    url = address(name, kind, draft)
    answer = client.get(url) if name == "quote_detail" else client.post(url, keyed())
    assert answer.status_code == 404


@pytest.mark.parametrize(("name", "kind"), WRITING)
@pytest.mark.parametrize("who", ["dov", "pia"])
def test_technician_and_bookkeeper_do_not_write(
    name: str, kind: str, who: str, draft: Quote, shop: Shop
) -> None:
    client = signed_in(shop.members[who])
    assert client.post(address(name, kind, draft), keyed()).status_code == 403
    assert Quote.objects.get(pk=draft.pk).status == QuoteStatus.DRAFT


@pytest.mark.parametrize(("name", "kind"), [("quote_detail", "quote"), *WRITING])
def test_nobody_unknown_gets_in(name: str, kind: str, draft: Quote) -> None:
    answer = Client().post(address(name, kind, draft), keyed())
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("name", POST_ONLY)
def test_looking_never_acts(name: str, desk: Client, draft: Quote) -> None:
    kind = "option" if name.startswith("option") else "quote"
    assert desk.get(address(name, kind, draft)).status_code == 405


def test_a_form_without_its_key_is_refused(desk: Client, draft: Quote) -> None:
    assert desk.post(reverse("quote_issue", args=[draft.pk])).status_code == 400
    assert Quote.objects.get(pk=draft.pk).status == QuoteStatus.DRAFT


def issue(shop: Shop, draft: Quote) -> Document:
    return quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)


def test_the_paper_is_not_there_before_it_is_made(desk: Client, draft: Quote, shop: Shop) -> None:
    document = issue(shop, draft)
    assert desk.get(reverse("document_pdf", args=[document.pk])).status_code == 404


def test_the_status_line_asks_again_until_the_paper_is_there(
    desk: Client, draft: Quote, shop: Shop
) -> None:
    document = issue(shop, draft)
    url = reverse("document_status", args=[document.pk])
    assert f'hx-get="{url}"' in desk.get(url).content.decode()


def test_papers_of_another_yard_are_absent(draft: Quote, shop: Shop, stranger: Member) -> None:
    document = issue(shop, draft)
    client = signed_in(stranger)
    for name in ("document_status", "document_pdf"):
        assert client.get(reverse(name, args=[document.pk])).status_code == 404


def test_queries_of_the_page_do_not_grow_with_its_lines(
    desk: Client, draft: Quote, django_assert_max_num_queries: Callable[..., object]
) -> None:
    with django_assert_max_num_queries(QUERIES_OF_THE_PAGE):  # type: ignore[attr-defined]
        desk.get(reverse("quote_detail", args=[draft.pk]))


QUERIES_OF_THE_PAGE = 90
