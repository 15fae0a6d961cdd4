"""Mail: promised with its follow-up, made when it is sent, tried again until it goes out."""

from __future__ import annotations

import smtplib
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core import mail as outgoing
from django.core.mail import EmailMessage
from django.test import override_settings
from django.utils import timezone
from django.utils.formats import date_format

from shop.exceptions import Refused
from shop.files import file_keep
from shop.followups import HANDLERS, followups_run, pause_after
from shop.models import (
    MOST_MAIL_ATTEMPTS,
    Customer,
    Document,
    DocumentKind,
    Mail,
    MailTopic,
    OutboxRow,
    Quote,
    Yard,
)
from shop.selectors.mails import ASK_AFTER, UNDONE_AFTER, DueKind, reminders
from shop.services.documents import document_issue
from shop.services.mails import (
    MAIL_TOPIC,
    document_send,
    mail_again,
    mail_send,
    message_id,
    reminder_send,
)
from shop.services.ownerlinks import ownerlink_address, ownerlink_revoke
from shop.services.quotes import quote_issue, quote_revise
from shop.verify import CHECKS, run
from tests.shop.owning import Small, authorized, by_link, decide, make_small, paper_of


def sent(small: Small) -> Mail:
    return document_send(member=small.writer, document=small.document)


def refuse(self: EmailMessage, fail_silently: bool = False) -> int:
    raise smtplib.SMTPServerDisconnected("The mail server hung up.")


def due_now() -> None:
    OutboxRow.objects.filter(done_at__isnull=True).update(not_before=timezone.now())


def test_a_mail_and_its_follow_up_are_promised_together(small: Small) -> None:
    mail = sent(small)
    row = OutboxRow.objects.get(topic=MAIL_TOPIC)
    assert row.payload == {"mail": mail.pk}
    assert (mail.to, mail.topic, mail.sent_at) == ("ada@owner.example", MailTopic.QUOTE, None)
    assert outgoing.outbox == []


def test_the_worker_sends_it_with_the_link_and_says_when(small: Small) -> None:
    mail = sent(small)
    followups_run()
    (message,) = outgoing.outbox
    mail.refresh_from_db()
    assert mail.sent_at is not None
    assert message.to == ["ada@owner.example"]
    assert message.from_email == "desk@yard.example"
    assert message.subject == f"Quote {small.quote.number} for Test Boat"
    assert ownerlink_address(small.link).reveal() in message.body
    assert message.extra_headers["Message-ID"] == message_id(mail)


def test_sent_twice_by_a_worker_that_was_killed_it_has_one_message_id(small: Small) -> None:
    mail = sent(small)
    mail_send(mail=mail)
    Mail.objects.update(sent_at=None)  # as if the note of it had been lost
    mail_send(mail=mail)
    ids = {message.extra_headers["Message-ID"] for message in outgoing.outbox}
    assert len(outgoing.outbox) == 2
    assert len(ids) == 1


def test_a_mail_that_went_out_does_not_go_out_again(small: Small) -> None:
    mail = sent(small)
    mail_send(mail=mail)
    mail_send(mail=mail)
    assert len(outgoing.outbox) == 1


def test_a_failure_is_visible_and_tried_again(
    small: Small, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    mail = sent(small)
    with monkeypatch.context() as patch:
        patch.setattr(EmailMessage, "send", refuse)
        followups_run()
    mail.refresh_from_db()
    assert (mail.attempts, mail.trouble) == (1, "The mail server hung up.")
    row = OutboxRow.objects.get(topic=MAIL_TOPIC)
    assert row.done_at is None
    assert row.not_before >= timezone.now() + pause_after(1) - timedelta(seconds=5)
    assert ownerlink_address(small.link).reveal() not in caplog.text
    due_now()
    followups_run()
    mail.refresh_from_db()
    assert (mail.attempts, mail.trouble) == (2, "")
    assert mail.sent_at is not None


def test_it_is_given_up_after_so_many_tries_and_stays_visible(
    small: Small, monkeypatch: pytest.MonkeyPatch
) -> None:
    mail = sent(small)
    Mail.objects.update(attempts=MOST_MAIL_ATTEMPTS - 1)
    with monkeypatch.context() as patch:
        patch.setattr(EmailMessage, "send", refuse)
        followups_run()
    mail.refresh_from_db()
    assert mail.trouble
    assert OutboxRow.objects.get(topic=MAIL_TOPIC).done_at is not None
    mail_again(member=small.writer, mail=mail)
    followups_run()
    assert len(outgoing.outbox) == 1


def test_sent_again_it_is_another_mail_with_the_same_link(small: Small) -> None:
    first = sent(small)
    followups_run()
    first.refresh_from_db()
    again = mail_again(member=small.writer, mail=first)
    followups_run()
    assert again.pk != first.pk
    links = {ownerlink_address(small.link).reveal() in m.body for m in outgoing.outbox}
    assert links == {True}
    assert len({m.extra_headers["Message-ID"] for m in outgoing.outbox}) == 2


def test_a_failed_one_is_sent_again_as_it_is(small: Small) -> None:
    mail = sent(small)
    assert mail_again(member=small.writer, mail=mail).pk == mail.pk
    assert OutboxRow.objects.filter(topic=MAIL_TOPIC).count() == 1  # it waits already


def no_address(small: Small) -> None:
    Customer.objects.update(email="")
    small.document.hull.customer.refresh_from_db()


def no_sender(small: Small) -> None:
    Yard.objects.update(email="")
    small.writer.yard.refresh_from_db()


def closed(small: Small) -> None:
    ownerlink_revoke(member=small.writer, link=small.link, now=timezone.now())


@pytest.mark.parametrize(
    ("fault", "says"),
    [(no_address, "no email address on file"), (no_sender, "to send from"), (closed, "is closed")],
)
def test_what_cannot_be_sent_is_refused_in_words(small: Small, fault: Any, says: str) -> None:
    fault(small)
    with pytest.raises(Refused, match=says):
        sent(small)
    assert not Mail.objects.exists()


def other_paper(small: Small, kind: DocumentKind, job: bool = True) -> Document:
    return document_issue(
        member=small.writer,
        kind=kind,
        number="X-1",
        hull=small.hull,
        job=small.job if job else None,
        document_date=small.document.document_date,
        issued_at=timezone.now(),
        snapshot={"test": "1"},
        template_version="1",
    )


def test_tags_stay_with_the_boat(small: Small) -> None:
    with pytest.raises(Refused, match="stays in the shop"):
        document_send(member=small.writer, document=other_paper(small, DocumentKind.TAGS))


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (DocumentKind.CHANGE_ORDER, "needs your answer"),
        (DocumentKind.INVOICE, "What is due and how to pay"),
        (DocumentKind.CREDIT_NOTE, "credit note X-1"),
        (DocumentKind.COMPLETION, "completion record"),
        (DocumentKind.ADDENDUM, "added to the completion record"),
        (DocumentKind.LETTER, "is called back"),
    ],
)
def test_each_topic_has_its_words(small: Small, kind: DocumentKind, words: str) -> None:
    document_send(member=small.writer, document=other_paper(small, kind))
    followups_run(handlers={MAIL_TOPIC: _handler()})
    (message,) = outgoing.outbox
    assert words in f"{message.subject} {message.body}"
    assert ownerlink_address(small.link).reveal() in message.body


def _handler() -> Any:

    return HANDLERS[MAIL_TOPIC]


def test_a_letter_without_a_job_is_attached_once_it_is_made(small: Small, settings: Any) -> None:

    letter = other_paper(small, DocumentKind.LETTER, job=False)
    mail = document_send(member=small.writer, document=letter)
    followups_run(handlers={MAIL_TOPIC: _handler()})
    mail.refresh_from_db()
    assert mail.trouble == "The paper is not made yet."
    kept = file_keep(settings.FILES_DIR, b"%PDF-1.7 letter")
    Document.objects.filter(pk=letter.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
    mail_send(mail=mail)
    (message,) = outgoing.outbox
    assert message.attachments[0][1] == b"%PDF-1.7 letter"
    assert "/o/" not in message.body


def test_an_unanswered_quote_is_due_after_five_days_and_again(small: Small) -> None:
    (due,) = reminders(small.yard, on=timezone.now().date())
    assert (due.kind, due.due_on) == (DueKind.ANSWER, small.quote.issued_on + ASK_AFTER)  # type: ignore[operator]
    later = timezone.now() + timedelta(days=7)
    reminder_send(member=small.writer, job=small.job, at=later)
    (due,) = reminders(small.yard, on=timezone.now().date())
    assert due.due_on > later.date()


def test_work_left_undone_is_reminded_of_by_name(small: Small) -> None:
    authorized(small, "A")
    (due,) = reminders(small.yard, on=timezone.now().date())
    assert due.kind is DueKind.UNDONE
    assert due.due_on >= (timezone.now() + UNDONE_AFTER - timedelta(days=1)).date()
    reminder_send(member=small.writer, job=small.job)
    followups_run()
    assert "S2 Feed" in outgoing.outbox[0].body


def test_a_job_with_everything_authorized_is_due_for_nothing(small: Small) -> None:
    decide(small.quote, by_link(small.quote, timezone.now()), "B")
    assert reminders(small.yard, on=timezone.now().date()) == []


def test_from_and_host_come_from_the_settings(small: Small) -> None:
    mail = sent(small)
    with override_settings(MAIL_FROM="fuel@yard.example", BASE_URL="https://fuel.example.com"):
        mail_send(mail=mail)
        (message,) = outgoing.outbox
        assert message.from_email == "fuel@yard.example"
        assert "https://fuel.example.com/o/" in message.body
        assert message.extra_headers["Message-ID"].endswith("@fuel.example.com>")


def test_a_lapsed_quote_is_not_sent_and_the_day_is_told(small: Small) -> None:
    mail = sent(small)
    last = small.quote.valid_to
    assert last is not None
    noon = datetime.combine(last, time(12), tzinfo=ZoneInfo(small.yard.time_zone))
    document_send(member=small.writer, document=small.document, at=noon)
    words = f"lapsed on {date_format(last, 'j F Y')}. Make a new version"
    with pytest.raises(Refused, match=words):
        document_send(member=small.writer, document=small.document, at=noon + timedelta(days=1))
    Quote.objects.update(status="accepted")  # the paper of what was agreed may be sent again
    document_send(member=small.writer, document=small.document, at=noon + timedelta(days=1))
    assert Mail.objects.exclude(pk=mail.pk).count() == 2


def test_a_replaced_quote_is_neither_sent_nor_sent_again(small: Small) -> None:
    mail = sent(small)
    later = quote_revise(member=small.writer, quote=small.quote)
    quote_issue(member=small.writer, quote=later)
    words = "version 1, is replaced by version 2"
    with pytest.raises(Refused, match=words):
        document_send(member=small.writer, document=small.document)
    with pytest.raises(Refused, match=words):
        mail_again(member=small.writer, mail=Mail.objects.get(pk=mail.pk))
    assert document_send(member=small.writer, document=paper_of(later)).document_id


TWO_MONTHS = timedelta(days=60)


def lapsed() -> Small:
    return make_small(at=timezone.now() - TWO_MONTHS)


@pytest.mark.django_db
def test_no_reminder_leads_to_a_quote_that_lapsed() -> None:
    small = lapsed()
    with pytest.raises(Refused, match=r"lapsed on .* Make a new version"):
        reminder_send(member=small.writer, job=small.job)
    in_time = timezone.now() - TWO_MONTHS + timedelta(days=5)
    mail = reminder_send(member=small.writer, job=small.job, at=in_time)
    Mail.objects.update(sent_at=in_time)
    with pytest.raises(Refused, match="lapsed on"):
        mail_again(member=small.writer, mail=Mail.objects.get(pk=mail.pk))
    assert Mail.objects.count() == 1


@pytest.mark.django_db
def test_a_declined_quote_lapses_like_one_without_an_answer() -> None:
    small = lapsed()
    decide(small.quote, by_link(small.quote, timezone.now() - timedelta(days=50)), None)
    with pytest.raises(Refused, match="lapsed on"):
        document_send(member=small.writer, document=small.document)
    reminder_send(member=small.writer, job=small.job)  # of what was left undone; no quote waits


@pytest.mark.django_db
def test_a_reminder_of_work_left_undone_leads_to_a_quote_that_waits() -> None:
    """Nothing was agreed to in the first version, and the second has lapsed unanswered."""
    small = lapsed()
    decide(small.quote, by_link(small.quote, timezone.now() - timedelta(days=50)), None)
    later = quote_revise(member=small.writer, quote=small.quote)
    quote_issue(member=small.writer, quote=later, at=timezone.now() - timedelta(days=49))
    kinds = {due.kind for due in reminders(small.yard, on=timezone.now().date())}
    assert DueKind.UNDONE in kinds
    with pytest.raises(Refused, match="lapsed on"):
        reminder_send(member=small.writer, job=small.job)


@pytest.mark.django_db
@pytest.mark.parametrize("remind", [False, True])
def test_mail_that_waited_past_the_last_day_is_given_up(remind: bool) -> None:
    small = lapsed()
    in_time = timezone.now() - TWO_MONTHS + timedelta(days=5)
    if remind:
        reminder_send(member=small.writer, job=small.job, at=in_time)
    else:
        document_send(member=small.writer, document=small.document, at=in_time)
    followups_run()
    mail = Mail.objects.get()
    assert outgoing.outbox == []
    assert mail.is_given_up
    assert "lapsed on" in mail.trouble


def test_mail_on_its_way_is_given_up_when_its_quote_is_replaced(small: Small) -> None:
    mail = sent(small)
    later = quote_revise(member=small.writer, quote=small.quote)
    quote_issue(member=small.writer, quote=later)
    followups_run()
    mail.refresh_from_db()
    assert outgoing.outbox == []
    assert "is replaced by version 2. Send that one." in mail.trouble
    assert mail.is_given_up
    assert OutboxRow.objects.get(topic=MAIL_TOPIC).done_at is not None
    name = "promises.mails"
    assert run({name: CHECKS[name]}).clean
