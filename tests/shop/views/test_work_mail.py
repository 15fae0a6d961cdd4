"""The owner is told of a signed record and of what is added to it, from the record's page."""

from __future__ import annotations

import copy

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from shop.models import Customer, Document, DocumentKind, Mail, OutboxRow
from shop.models import Yard as Shop
from shop.selectors.owner_page import OWNER_KINDS
from shop.services.completions import addendum_write, completion_sign
from shop.services.mails import MAIL_TOPIC, TOPIC_OF
from tests.shop.finishing import finish
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
