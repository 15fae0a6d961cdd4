"""The owner is told of a signed record and of what is added to it, from the record's page."""

from __future__ import annotations

import copy

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from shop.models import Customer, Document, DocumentKind, Mail, OutboxRow, Quote, QuoteStatus
from shop.models import Yard as Shop
from shop.selectors.invoices import job_to_bill
from shop.selectors.owner_page import OWNER_KINDS
from shop.services.completions import addendum_write, completion_sign
from shop.services.mails import MAIL_TOPIC, TOPIC_OF
from tests.shop.billing import consent_to
from tests.shop.finishing import TESTS, drain, finish, fit_all, make_safe, record
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.working import NOW, Yard


@pytest.fixture
def signed(yard_made: Yard, db: None) -> Yard:
    """Work done and signed, an addendum written, and both sides have an address."""
    work = copy.deepcopy(yard_made)
    Customer.objects.update(email="ada@owner.example")
    Shop.objects.update(email="desk@yard.example")
    finish(work)
    lead = work.shop.lead
    record = completion_sign(member=lead, work_order=work.work_order, stop_stays=True, at=NOW)
    addendum_write(member=lead, completion=record, text="S3: 66 in.")
    return work


def page(client: Client, work: Yard) -> str:
    return text_of(client.get(reverse("work_complete", args=[work.work_order.pk])))


def to_send(kind: DocumentKind) -> str:
    return reverse("document_send", args=[Document.objects.get(kind=kind).pk])


@pytest.mark.parametrize("kind", [DocumentKind.COMPLETION, DocumentKind.ADDENDUM])
def test_each_paper_for_the_owner_is_sent_from_the_record(signed: Yard, kind: DocumentKind) -> None:
    desk = signed_in(signed.shop.lead)
    path = to_send(kind)
    assert f'action="{path}"' in page(desk, signed)
    answer = send(desk, path, {}, key="one")
    assert answer["Location"] == reverse("work_complete", args=[signed.work_order.pk])
    assert send(desk, path, {}, key="one").status_code == 302
    mail = Mail.objects.get()
    assert mail.document is not None
    assert (mail.document.kind, mail.topic, mail.to) == (kind, "completion", "ada@owner.example")
    assert OutboxRow.objects.filter(topic=MAIL_TOPIC, payload__mail=mail.pk).count() == 1
    after = page(desk, signed)
    assert "Its mail to ada@owner.example waits to go out." in after
    assert (after.count("Send again"), after.count("Send to the owner")) == (1, 1)


def test_the_tags_stay_with_the_boat(signed: Yard) -> None:
    assert to_send(DocumentKind.TAGS) not in page(signed_in(signed.shop.lead), signed)


def test_a_failed_mail_says_why(signed: Yard) -> None:
    desk = signed_in(signed.shop.lead)
    send(desk, to_send(DocumentKind.COMPLETION), {})
    Mail.objects.update(trouble="The mail server hung up.")
    words = "Not sent to ada@owner.example yet: The mail server hung up."
    assert words in page(desk, signed)


def test_a_technician_sees_no_button_and_may_not_send(signed: Yard) -> None:
    tablet = signed_in(signed.tech)
    assert "Send to the owner" not in page(tablet, signed)
    assert send(tablet, to_send(DocumentKind.COMPLETION), {}).status_code == 403
    assert not Mail.objects.exists()


def test_every_paper_for_the_owner_has_a_mail(settings: Settings) -> None:
    made = {kind for kind in OWNER_KINDS if kind in settings.PAPERS}
    assert made == set(TOPIC_OF)


def test_a_reminder_long_before_its_day_is_asked_about_once(signed: Yard) -> None:
    Quote.objects.update(status=QuoteStatus.ACCEPTED)
    desk = signed_in(signed.shop.lead)
    url = reverse("reminder_new", args=[signed.work_order.job_id])
    inspection = {"kind": "inspection"}
    asked = send(desk, url, inspection)
    assert asked.status_code == 422
    assert "more than 60 days ahead. Wait, or tick." in text_of(asked)
    assert not Mail.objects.filter(topic="reminder").exists()
    sent = send(desk, url, {**inspection, "is_early": "on"})
    assert sent.status_code == 302
    told = text_of(desk.get(sent["Location"]))
    assert "Mail to ada@owner.example is on its way." in told
    assert "Inspection on" in told
    assert "waits to go out since" in told
    Mail.objects.filter(topic="reminder").update(sent_at=NOW)
    assert f"sent on {NOW:%-d %B %Y}" in text_of(desk.get(sent["Location"]))


def test_a_waived_test_is_not_billed(yard_made: Yard, db: None) -> None:
    work = copy.deepcopy(yard_made)
    lead = work.shop.lead
    make_safe(work)
    drain(work)
    fit_all(work)
    for key in set(TESTS) - {"run:G1"}:
        record(work, "reading", test=key, **TESTS[key])
    record(work, "waive", test="run:G1", text="No load bank.")
    completion_sign(member=lead, work_order=work.work_order, stop_stays=True, at=NOW)
    option = work.work_order.option
    assert option is not None
    paper = Document.objects.get(kind=DocumentKind.QUOTE)
    consent_to(
        lead, work.work_order.job, paper, quote=work.quote, option=option, new_total=option.total
    )
    [line] = [line for line in job_to_bill(work.work_order.job).lines if line.ref == "LAB-RUN"]
    assert line.description.endswith(" x 2")
    url = reverse("invoice_new", args=[work.work_order.job_id])
    text = text_of(signed_in(lead).get(url))
    assert "was waived by Ingrid Pask: No load bank." in text
    assert f"It is left out of “{line.description}”." in text
    assert f'name="line_{line.number}" value="{(line.quantity / 2).normalize():f}"' in text
    billed = text.partition('id="lines"')[2]
    assert line.description.removesuffix(" x 2") in billed
    assert line.description not in billed
