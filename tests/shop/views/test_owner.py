"""The owner's pages: opened by a link, without an account, decided by typed name."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.dateformat import format as date_format

from shop.files import file_keep
from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Consent,
    Decision,
    Document,
    DocumentKind,
    Means,
    Quote,
    QuoteStatus,
    WorkOrder,
)
from shop.services import quotes
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.documents import document_issue
from shop.services.stops import stop_set
from tests.shop.owning import Small, authorized, make_small
from tests.shop.views.as_owner import HOME, decided, opened, token_of
from tests.shop.views.pages import signed_in, text_of


def test_the_page_says_what_it_costs_what_was_found_and_what_is_law(small: Small) -> None:
    text = text_of(opened(small).get(HOME))
    for words in (
        "Quote for Test Boat", small.quote.number, "$323.36", "$370.17", "Nothing is due before",
        "What we found", "S1 Feed", "Is this the law on my boat?", "Option A", "Leave undone",
        "33 CFR 183 Subpart J", "What the rule asks",
        "Your name", "Gasoline vapor is heavier than air", "+1 555 0110",
    ):  # fmt: skip
        assert words in text
    assert "<script" not in text
    assert "style=" not in text
    assert text.count("<svg") >= 2  # the drawing for a phone and for a wider page


def test_the_stop_stands_on_the_page(small: Small) -> None:
    stop_set(hull=small.hull, reason="Fuel in the bilge.", member=small.writer)
    text = text_of(opened(small).get(HOME))
    assert "Do not run the boat." in text
    assert "Fuel in the bilge." in text
    assert "The boat keeps its do-not-run flag." in text


def test_a_typed_name_authorizes_the_option_shown(small: Small) -> None:
    client = opened(small)
    answer = decided(client, small, old_parts="yes")
    assert (answer.status_code, answer["Location"]) == (303, HOME)
    consent = Consent.objects.get()
    assert (consent.means, consent.person, consent.taken_by) == (Means.LINK, "Ada Test", None)
    assert (consent.link, consent.address) == (small.link, "ada@owner.example")
    assert consent.old_parts_back
    assert WorkOrder.objects.get().option.letter == "A"  # type: ignore[union-attr]
    text = text_of(client.get(HOME))
    for words in ("Work on Test Boat", "You authorized", "Deposit due now"):
        assert words in text
    for words in (
        "0 of 1 hoses and parts fitted", "collects in the bilge and can explode",
        "Local fire codes and marina rules", "licensed or qualified practice come first",
    ):  # fmt: skip
        assert words in text
    assert "Left undone" in text  # option A leaves S2
    assert "S2 Feed" in text


def test_work_left_undone_is_kept_and_can_still_be_chosen(small: Small) -> None:
    client = opened(small)
    assert decided(client, small, choice="none").status_code == 303
    assert Consent.objects.get().decision == Decision.DECLINED
    assert "You left this work undone." in text_of(client.get(HOME))
    assert decided(client, small).status_code == 303
    assert Quote.objects.get().status == QuoteStatus.ACCEPTED


def test_pressed_twice_it_is_one_decision(small: Small) -> None:
    client = opened(small)
    for _ in range(3):
        assert decided(client, small).status_code in (303, 409)
    assert Consent.objects.count() == WorkOrder.objects.count() == 1


def test_a_stale_page_is_refused_in_words_and_shows_the_new_version(small: Small) -> None:
    client = opened(small)
    stale = small.document.snapshot_sha256
    second = quotes.quote_revise(member=small.writer, quote=small.quote)
    quotes.quote_issue(member=small.writer, quote=second)
    answer = decided(client, small, shown=stale)
    text = text_of(answer)
    assert answer.status_code == 409
    assert "newer version" in text
    assert "version 2" in text
    assert not Consent.objects.exists()


@pytest.mark.parametrize(
    ("fields", "status", "says"),
    [
        ({"name": ""}, 422, "Your name is empty. It is needed."),
        ({"name": "x" * 121}, 422, "Shorten it."),
        ({"choice": ""}, 422, "Nothing is chosen yet."),
        ({"choice": "C"}, 422, "is not one of the choices"),
        ({"old_parts": "maybe"}, 422, "is not one of the choices"),
        ({"shown": "short"}, 409, "Load the page again"),
    ],
)
def test_each_bad_entry_is_named_and_what_was_typed_stays(
    small: Small, fields: dict[str, str], status: int, says: str
) -> None:
    answer = decided(opened(small), small, **fields)
    assert answer.status_code == status
    assert says in text_of(answer)
    if status == 422 and "name" not in fields:
        assert 'value="Ada Test"' in text_of(answer)
    assert not Consent.objects.exists()


def test_a_lapsed_quote_is_read_and_not_authorized(db: None) -> None:
    small = make_small(at=timezone.now() - timedelta(days=40))
    client = opened(small)
    text = text_of(client.get(HOME))
    assert "These prices held until" in text
    assert small.quote.valid_to is not None
    day = date_format(small.quote.valid_to, "j F Y")
    assert f"{small.quote.number}, lapsed on {day}" in text
    assert "$323.36" in text
    assert "<form" not in text
    assert decided(client, small).status_code == 409


def offered(small: Small) -> ChangeOrder:
    added = Added("The bulb is cracked.", work=[AddedWork("Fit a bulb", Decimal("0.50"))])
    change = changeorder_start(member=small.writer, work_order=authorized(small), added=added)
    changeorder_offer(member=small.writer, change_order=change)
    return ChangeOrder.objects.get()


def changed(client: Client, change: ChangeOrder, **fields: str) -> HttpResponse:
    assert change.document is not None
    data = {"choice": "yes", "name": "Ada Test", "shown": change.document.snapshot_sha256, **fields}
    answer = client.post(reverse("owner_change_answer", args=[change.number]), data)
    assert isinstance(answer, HttpResponse)
    return answer


def test_a_change_order_asks_for_its_own_consent(small: Small) -> None:
    change = offered(small)
    client = opened(small)
    text = text_of(client.get(HOME))
    for words in ("More work needs your answer: CO-1", "The bulb is cracked.", "New total"):
        assert words in text
    assert changed(client, change).status_code == 303
    change.refresh_from_db()
    assert change.status == ChangeStatus.CONSENTED
    assert "More work needs" not in text_of(client.get(HOME))


def test_a_change_order_is_left_undone(small: Small) -> None:
    change = offered(small)
    client = opened(small)
    assert changed(client, change, choice="no").status_code == 303
    text = text_of(client.get(HOME))
    assert "Not repaired, and may be unsafe." in text
    assert "The bulb is cracked." in text


@pytest.mark.parametrize(
    ("fields", "status"),
    [({"name": " "}, 422), ({"choice": ""}, 422), ({"shown": "0" * 64}, 409), ({"shown": ""}, 409)],
)
def test_a_change_order_is_not_decided_by_half(
    small: Small, fields: dict[str, str], status: int
) -> None:
    change = offered(small)
    assert changed(opened(small), change, **fields).status_code == status
    assert Consent.objects.filter(change_order=change).count() == 0


def test_a_change_order_that_is_not_there_is_nothing(small: Small) -> None:
    client = opened(small)
    assert client.post(reverse("owner_change_answer", args=[7]), {}).status_code == 404


def with_pdf(document: Document, settings: Any) -> None:
    kept = file_keep(settings.FILES_DIR, b"%PDF-1.7 test")
    Document.objects.filter(pk=document.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)


def test_papers_of_the_job_are_there_and_no_other_s(small: Small, settings: Any) -> None:
    other = make_small("Other Yard")
    for each in (small, other):
        with_pdf(each.document, settings)
    client = opened(small)
    own = client.get(reverse("owner_paper", args=[small.document.public_id]))
    assert (own.status_code, own.content) == (200, b"%PDF-1.7 test")
    assert own["Content-Disposition"].startswith("attachment")
    foreign = client.get(reverse("owner_paper", args=[other.document.public_id]))
    assert foreign.status_code == 404


def issued_tags(small: Small) -> Document:
    return document_issue(
        member=small.writer,
        kind=DocumentKind.TAGS,
        number=small.job.number,
        hull=small.hull,
        job=small.job,
        document_date=small.document.document_date,
        issued_at=timezone.now(),
        snapshot={"tags": []},
        template_version="1",
    )


def test_a_paper_that_is_not_made_or_not_the_owner_s_is_nothing(
    small: Small, settings: Any
) -> None:
    client = opened(small)
    path = reverse("owner_paper", args=[small.document.public_id])
    assert client.get(path).status_code == 404
    with_pdf(small.document, settings)
    assert client.get(path).status_code == 200
    tags = issued_tags(small)
    with_pdf(tags, settings)
    assert client.get(reverse("owner_paper", args=[tags.public_id])).status_code == 404


def test_an_opening_is_noted_once_and_only_by_a_page(small: Small) -> None:
    client = Client()
    client.get(f"/o/{token_of(small)}/")
    client.head(HOME)
    assert small.link.views.count() == 0
    client.get(HOME)
    client.get(HOME)
    assert small.link.views.count() == 1


def test_the_shop_looks_as_the_owner_and_decides_nothing(small: Small) -> None:
    client = signed_in(small.writer)
    answer = client.post(reverse("ownerlink_preview", args=[small.job.pk]))
    assert answer["Location"] == HOME
    assert "You see what the owner sees." in text_of(client.get(HOME))
    assert small.link.views.count() == 0
    assert decided(client, small).status_code == 409
    assert not Consent.objects.exists()


@pytest.mark.parametrize(
    ("name", "method"),
    [("owner_home", "post"), ("owner_open", "post"), ("owner_answer", "get")],
)
def test_wrong_methods_are_refused(small: Small, name: str, method: str) -> None:
    assert getattr(opened(small), method)(reverse(name)).status_code == 405


def test_a_form_from_elsewhere_is_refused(small: Small) -> None:
    client = opened(small, Client(enforce_csrf_checks=True))
    assert decided(client, small).status_code == 403
    assert not Consent.objects.exists()


def test_times_are_the_yard_s(small: Small) -> None:
    authorized(small)
    consent = Consent.objects.get()
    local: datetime = consent.at.astimezone(ZoneInfo("America/New_York"))
    assert f"{local:%H:%M}" in text_of(opened(small).get(HOME))
