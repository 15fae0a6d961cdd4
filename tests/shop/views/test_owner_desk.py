"""The shop's side of the owner: decisions noted, change orders, mail, reminders, the link."""

from __future__ import annotations

import json
from datetime import timedelta
from html import unescape
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.dateformat import format as date_format

from shop.models import (
    MOST_MAIL_ATTEMPTS,
    ChangeOrder,
    ChangeStatus,
    Consent,
    Decision,
    Mail,
    Means,
    OwnerLink,
    WorkOrder,
)
from shop.selectors import quote_page
from shop.services import mails as mail_services
from shop.services.mails import document_send
from shop.services.ownerlinks import ownerlink_seen
from shop.services.quotes import quote_issue, quote_revise
from shop.views import mails as mail_views
from shop.views import quotes as quote_views
from tests.shop.owning import Small, authorized
from tests.shop.views.as_owner import decided, opened
from tests.shop.views.desk_changes import CHANGE, begun
from tests.shop.views.pages import send, signed_in, text_of

ZONE = ZoneInfo("America/New_York")


@pytest.fixture
def desk(small: Small) -> Client:
    return signed_in(small.writer)


def a_minute_ago() -> tuple[str, str]:
    local = (timezone.now() - timedelta(minutes=1)).astimezone(ZONE)
    return f"{local:%Y-%m-%d}", f"{local:%H:%M}"


def said(small: Small, **fields: str) -> dict[str, str]:
    day, time = a_minute_ago()
    return {
        "choice": "A",
        "means": "phone",
        "person": "A. Test",
        "number_called": "+1 555 0199",
        "day": day,
        "time": time,
        "shown": small.document.snapshot_sha256,
        **fields,
    }


def decision(client: Client, small: Small, **fields: str) -> HttpResponse:
    return send(client, reverse("consent_new", args=[small.quote.pk]), said(small, **fields))


def test_a_decision_in_the_minute_of_its_paper_came_after_it(desk: Client, small: Small) -> None:
    issued = small.document.issued_at
    local = issued.astimezone(ZONE)
    day, time = f"{local:%Y-%m-%d}", f"{local:%H:%M}"
    assert decision(desk, small, day=day, time=time).status_code == 302
    assert Consent.objects.get().at == issued


def test_the_cautions_of_the_paper_stand_where_its_decision_is_noted(
    desk: Client, small: Small
) -> None:
    """As the paper prints them, so that they are read to an owner who decides by phone."""
    text = unescape(text_of(desk.get(reverse("consent_new", args=[small.quote.pk]))))
    copy = json.loads(small.document.snapshot)
    said = [*copy["cautions"], *copy["defers"]]
    assert len(said) == 8
    for line in said:
        assert text.count(line) == 1, line


def test_a_decision_by_phone_is_kept_with_person_number_and_time(
    desk: Client, small: Small
) -> None:
    answer = decision(desk, small, old_parts_back="on")
    assert answer.status_code == 302
    consent = Consent.objects.get()
    assert (consent.means, consent.person) == (Means.PHONE, "A. Test")
    assert (consent.number_called, consent.taken_by) == ("+1 555 0199", small.writer)
    assert consent.old_parts_back
    page = text_of(desk.get(reverse("quote_detail", args=[small.quote.pk])))
    for words in ("A. Test, by phone, +1 555 0199", "noted by", "Wants the old parts back."):
        assert words in page


def test_in_person_no_number_is_kept(desk: Client, small: Small) -> None:
    decision(desk, small, means="in_person")
    assert Consent.objects.get().number_called == ""


def test_leaving_it_undone_is_a_decision(desk: Client, small: Small) -> None:
    decision(desk, small, choice="none")
    assert Consent.objects.get().decision == Decision.DECLINED


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"choice": ""}, "Decision is empty"),
        ({"choice": "Z"}, "is not one of the choices"),
        ({"means": ""}, "How it was given is empty"),
        ({"means": "link"}, "is not one of the choices"),
        ({"person": " "}, "Who decided is empty"),
        ({"number_called": "her cell"}, "needs the number called"),
        ({"day": "yesterday"}, "is not a day"),
        ({"time": "noon"}, "is not a time"),
        ({"day": "2099-01-01"}, "lies ahead"),
        ({"day": "2020-01-01"}, "older than the paper"),
        ({"shown": "0" * 64}, "replaced"),
    ],
)
def test_each_bad_entry_is_named_and_nothing_is_recorded(
    desk: Client, small: Small, fields: dict[str, str], says: str
) -> None:
    answer = decision(desk, small, **fields)
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert not Consent.objects.exists()


def test_sent_twice_it_is_one_decision(desk: Client, small: Small) -> None:
    path, fields = reverse("consent_new", args=[small.quote.pk]), said(small)
    first, again = (send(desk, path, fields, key="same") for _ in range(2))
    assert first.status_code == again.status_code == 302
    assert Consent.objects.count() == 1


def test_a_decided_quote_asks_no_more(desk: Client, small: Small) -> None:
    authorized(small)
    answer = desk.get(reverse("consent_new", args=[small.quote.pk]))
    assert answer.status_code == 409


def test_a_change_order_from_draft_to_consent(desk: Client, small: Small) -> None:
    part = small.yard.products.get(sku="F-TEST")
    begun(desk, small, part_1=str(part.pk), quantity_1="2", segments=["S2"])
    change = ChangeOrder.objects.get()
    detail = reverse("changeorder_detail", args=[change.pk])
    page = text_of(desk.get(detail))
    for words in ("CO-1", "Found while open.", "Fit a bulb", "New total of the job", "Offer it"):
        assert words in page
    send(desk, reverse("changeorder_offer", args=[change.pk]), {})
    change.refresh_from_db()
    assert change.status == ChangeStatus.OFFERED
    assert change.document is not None
    asked = text_of(desk.get(reverse("changeorder_consent", args=[change.pk])))
    assert "This change order offers further work and its price" in asked
    fields = said(small, choice="yes", shown=change.document.snapshot_sha256)
    fields["day"], fields["time"] = _now()
    answer = send(desk, reverse("changeorder_consent", args=[change.pk]), fields)
    assert answer.status_code == 302, text_of(answer)
    change.refresh_from_db()
    assert change.status == ChangeStatus.CONSENTED
    assert "Consented" in text_of(desk.get(detail))


def _now() -> tuple[str, str]:
    """A minute ahead: a form has no seconds, and the paper was issued just now."""
    local = (timezone.now() + timedelta(minutes=1)).astimezone(ZONE)
    return f"{local:%Y-%m-%d}", f"{local:%H:%M}"


def test_what_was_typed_comes_back_to_be_changed(desk: Client, small: Small) -> None:
    part = small.yard.products.get(sku="F-TEST")
    begun(desk, small, part_1=str(part.pk), quantity_1="2", segments=["S2"])
    change = ChangeOrder.objects.get()
    path = reverse("changeorder_edit", args=[change.pk])
    form = desk.get(path).context["form"]
    assert form.initial["segments"] == ["S2"]
    assert (form.initial["part_1"], form.initial["quantity_1"]) == (part.pk, "2")
    assert (form.initial["work_1"], form.initial["hours_1"]) == ("Fit a bulb", "0.50")
    send(desk, path, {**CHANGE, "hours_1": "1.00"})
    assert [line.ref for line in change.lines.all()] == ["LAB-TM", "FEE-SUP"]


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"reason": ""}, "is empty. It is needed."),
        ({"work_1": "", "hours_1": ""}, "adds a hose, a part or work"),
        ({"hours_1": ""}, "Say how long."),
        ({"work_1": ""}, "Say what is done."),
        ({"quantity_2": "1"}, "Choose a part."),
        ({"hours_1": "0"}, "hours_1"),
        ({"hours_1": "999"}, "hours_1"),
        ({"part_1": "99999"}, "is not one of the choices"),
        ({"segments": ["S1"]}, "is not one of the choices"),
    ],
)
def test_a_bad_change_is_named_and_not_stored(
    desk: Client, small: Small, fields: dict[str, Any], says: str
) -> None:
    answer = begun(desk, small, **fields)
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert not ChangeOrder.objects.exists()


def test_closed_work_takes_no_change(desk: Client, small: Small) -> None:
    authorized(small)
    WorkOrder.objects.update(status="completed")
    answer = begun(desk, small)
    assert answer.status_code == 422
    assert "Only open work" in text_of(answer)


def test_a_quote_is_sent_and_sent_again_from_its_page(desk: Client, small: Small) -> None:
    page = reverse("quote_detail", args=[small.quote.pk])
    assert "Send to the owner" in text_of(desk.get(page))
    path = reverse("document_send", args=[small.document.pk])
    answer = desk.post(path, {"idempotency_key": "one"}, follow=True)
    assert "Mail to ada@owner.example is on its way." in text_of(answer)
    assert "Send again" in text_of(answer)
    send(desk, path, {}, key="one")
    assert Mail.objects.count() == 1
    send(desk, path, {}, key="two")
    assert Mail.objects.count() == 2


def test_a_later_version_is_neither_sent_nor_opened_yet(desk: Client, small: Small) -> None:
    document_send(member=small.writer, document=small.document)
    ownerlink_seen(link=OwnerLink.objects.get(), now=timezone.now())
    later = quote_revise(member=small.writer, quote=small.quote)
    quote_issue(member=small.lead, quote=later)
    page = text_of(desk.get(reverse("quote_detail", args=[later.pk])))
    assert "Send to the owner" in page
    assert "Send again" not in page
    assert "was not opened since this version was issued" in page


def test_a_replaced_version_says_so_and_is_not_sent_again(desk: Client, small: Small) -> None:
    document_send(member=small.writer, document=small.document)
    page = reverse("quote_detail", args=[small.quote.pk])
    assert "Send again" in text_of(desk.get(page))
    later = quote_revise(member=small.writer, quote=small.quote)
    assert "Replaced" not in text_of(desk.get(page))  # a draft replaces nothing
    quote_issue(member=small.lead, quote=later)
    text = text_of(desk.get(page))
    assert "Replaced by version 2." in text
    assert "Send again" not in text
    assert "Replaced by version 2" in text_of(desk.get(reverse("quote_list")))
    assert "Replaced" not in text_of(desk.get(reverse("quote_detail", args=[later.pk])))


@pytest.mark.parametrize(("days", "lapsed"), [(0, False), (1, True)])
def test_a_quote_past_its_day_says_that_it_lapsed(
    desk: Client, small: Small, monkeypatch: pytest.MonkeyPatch, days: int, lapsed: bool
) -> None:
    document_send(member=small.writer, document=small.document)
    last = small.quote.valid_to
    assert last is not None
    for view in (quote_page, quote_views):
        monkeypatch.setattr(view, "local_day", lambda *_: last + timedelta(days=days))
    words = f"Lapsed on {date_format(last, 'j F Y')}"
    text = text_of(desk.get(reverse("quote_detail", args=[small.quote.pk])))
    assert (words in text, "Send again" in text) == (lapsed, not lapsed)
    assert ("The quote lapsed on" in text, "Record the decision" in text) == (lapsed, not lapsed)
    assert "Make a new version" in text
    assert (words in text_of(desk.get(reverse("quote_list")))) is lapsed
    type(small.quote).objects.update(status="declined")
    assert words not in text_of(desk.get(reverse("quote_list")))  # the answer says more
    type(small.quote).objects.update(status="accepted")  # what was answered lapses no more
    assert "Lapsed" not in text_of(desk.get(reverse("quote_list")))


def test_what_cannot_be_sent_is_said(desk: Client, small: Small) -> None:
    type(small.hull.customer).objects.update(email="")
    path = reverse("document_send", args=[small.document.pk])
    answer = desk.post(path, {"idempotency_key": "one"}, follow=True)
    assert "no email address on file" in text_of(answer)


def test_the_list_of_mails_shows_what_failed(desk: Client, small: Small) -> None:
    assert "No mail yet." in text_of(desk.get(reverse("mail_list")))
    mail = document_send(member=small.writer, document=small.document)
    Mail.objects.update(trouble="The mail server hung up.", attempts=2)
    text = text_of(desk.get(reverse("mail_list")))
    assert "Failed 2 times: The mail server hung up." in text
    assert "nothing leaves this machine" in text
    Mail.objects.update(attempts=MOST_MAIL_ATTEMPTS)
    assert "Given up: The mail server hung up." in text_of(desk.get(reverse("mail_list")))
    assert send(desk, reverse("mail_again", args=[mail.pk]), {}).status_code == 302
    mail.refresh_from_db()
    assert mail.trouble == ""


def test_reminders_are_listed_and_sent(desk: Client, small: Small) -> None:
    text = text_of(desk.get(reverse("reminder_list")))
    assert f"{small.quote.number}</a> is not answered" in text
    assert send(desk, reverse("reminder_new", args=[small.job.pk]), {}).status_code == 302
    assert Mail.objects.get().topic == "reminder"


@pytest.mark.parametrize(("days", "lapsed"), [(0, False), (1, True)])
def test_a_lapsed_quote_is_listed_and_no_reminder_of_it_is_offered(
    desk: Client, small: Small, monkeypatch: pytest.MonkeyPatch, days: int, lapsed: bool
) -> None:
    """What the service would refuse is not offered; the row says why, and leads to the quote."""
    last = small.quote.valid_to
    assert last is not None
    for module in (mail_views, mail_services):
        monkeypatch.setattr(module, "local_day", lambda *_: last + timedelta(days=days))
    text = text_of(desk.get(reverse("reminder_list")))
    path = reverse("reminder_new", args=[small.job.pk])
    assert f"{small.quote.number}</a> is not answered" in text
    assert (path in text) is not lapsed
    said = f"{small.quote.number} lapsed: not sent before a new version is issued."
    assert (said in text) is lapsed
    assert (f"lapsed on {date_format(last, 'j F Y')}" in text) is lapsed
    send(desk, path, {"kind": "answer"})
    assert Mail.objects.exists() is not lapsed


def test_the_link_is_closed_and_made_anew(desk: Client, small: Small) -> None:
    send(desk, reverse("ownerlink_close", args=[small.job.pk]), {})
    assert small.link.revoked_at is not None
    page = reverse("quote_detail", args=[small.quote.pk])
    assert "The link is closed; it opens nothing." in text_of(desk.get(page))
    closed = desk.post(reverse("ownerlink_preview", args=[small.job.pk]))
    assert closed.status_code == 409
    send(desk, reverse("ownerlink_renew", args=[small.job.pk]), {})
    assert (small.link.generation, small.link.revoked_at) == (2, None)


def test_the_page_of_the_quote_says_how_often_the_owner_looked(desk: Client, small: Small) -> None:
    small.link.views.create(seen_at=timezone.now())
    page = text_of(desk.get(reverse("quote_detail", args=[small.quote.pk])))
    assert "The page was visited 1 time, from" in page
    assert "Last decision on it:" not in page
    assert "Not answered; ask on" in page
    decided(opened(small), small)
    decision = small.job.consents.get().at.astimezone(ZONE)
    said = f"Last decision on it: {date_format(decision, 'j F Y, H:i')}"
    assert said in text_of(desk.get(reverse("quote_detail", args=[small.quote.pk])))
