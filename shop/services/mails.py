"""Mail to the owner: a row and its follow-up in one transaction, sent later by the worker.

1. `mail_add` stores who is told about what, and an outbox row with the mail's id.
2. The worker makes text and link when it sends; neither is stored. The Message-ID comes from
   the mail's key: a mail that goes out twice because a worker was killed is seen as one.
3. A failure is written on the mail and tried again with growing pauses.
4. What must not reach the owner any more when its turn comes is given up, with the reason.
"""

from __future__ import annotations

import logging
from datetime import datetime
from smtplib import SMTPException
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_variables

from shop.bell import ring_on_commit
from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.files import file_read
from shop.mailing import mail_text
from shop.models import (
    MOST_MAIL_ATTEMPTS,
    Document,
    DocumentKind,
    Job,
    Mail,
    MailTopic,
    Member,
    OutboxRow,
    Quote,
)
from shop.numbering import local_day
from shop.selectors.mails import quote_waiting
from shop.selectors.quote_state import quote_standing
from shop.services.audit import audit_append
from shop.services.outbox import outbox_add
from shop.services.ownerlinks import ownerlink_is_open, ownerlink_renew
from shop.services.recalls import letter_sent

logger = logging.getLogger(__name__)

MAIL_TOPIC = "mail.send"
TROUBLE_LENGTH = 300
TOPIC_OF = {
    DocumentKind.QUOTE: MailTopic.QUOTE,
    DocumentKind.CHANGE_ORDER: MailTopic.CHANGE_ORDER,
    DocumentKind.INVOICE: MailTopic.INVOICE,
    DocumentKind.CREDIT_NOTE: MailTopic.CREDIT_NOTE,
    DocumentKind.COMPLETION: MailTopic.COMPLETION,
    DocumentKind.ADDENDUM: MailTopic.COMPLETION,
    DocumentKind.LETTER: MailTopic.RECALL,
}


class MailTrouble(Exception):
    """A mail that did not go out; the follow-up tries it again."""


@transaction.atomic
def document_send(*, member: Member, document: Document, at: datetime | None = None) -> Mail:
    """Tell the owner of a paper. Sent again, it is another mail with the same link."""
    topic = TOPIC_OF.get(DocumentKind(document.kind))
    if topic is None:
        raise Refused(_("This kind of paper stays in the shop; it is not sent to the owner."))
    at = at or timezone.now()
    _still_holds(document.job, document, at)
    return _mail_add(member, topic, document.job, document, at)


@transaction.atomic
def reminder_send(*, member: Member, job: Job, at: datetime | None = None) -> Mail:
    """Remind the owner of what waits on a job: an answer, work left undone, an inspection."""
    at = at or timezone.now()
    _still_holds(job, None, at)
    return _mail_add(member, MailTopic.REMINDER, job, None, at)


@transaction.atomic
def mail_again(*, member: Member, mail: Mail) -> Mail:
    """Send a mail once more: a failed one as it is, one that went out as a new mail."""
    _still_holds(mail.job, mail.document, timezone.now())
    if mail.sent_at is not None:
        return _mail_add(member, MailTopic(mail.topic), mail.job, mail.document, timezone.now())
    Mail.objects.filter(pk=mail.pk, sent_at__isnull=True).update(attempts=0, trouble="")
    if not waiting(mail):
        outbox_add(yard=mail.yard, topic=MAIL_TOPIC, payload={"mail": mail.pk}, now=timezone.now())
    audit_append(yard=mail.yard, member=member, action="mail.again", subject=mail)
    ring_on_commit()
    return mail


def waiting(mail: Mail) -> bool:
    """Whether a follow-up will still try to send it."""
    rows = OutboxRow.objects.filter(topic=MAIL_TOPIC, done_at__isnull=True)
    return rows.filter(payload__mail=mail.pk).exists()


def mail_send(*, mail: Mail) -> None:
    """Send one mail, or raise `MailTrouble` with the reason on the mail. Safe to run twice."""
    mail = Mail.objects.select_related("yard", "job__hull__customer", "document__hull").get(
        pk=mail.pk
    )
    if mail.sent_at is not None:
        return
    try:
        _still_holds(mail.job, mail.document, timezone.now())
    except Refused as error:
        _given_up(mail, str(error))
        return
    failpoint("mail.before sending")
    try:
        _send(mail)
    except (SMTPException, OSError) as error:
        _failed(mail, error)
        return
    failpoint("mail.handed over")
    _went_out(mail)


@transaction.atomic
def _went_out(mail: Mail) -> None:
    """Note on the mail, on its call-back and in the log that it went out: all of it, or none."""
    Mail.objects.filter(pk=mail.pk).update(
        sent_at=timezone.now(), attempts=mail.attempts + 1, trouble=""
    )
    failpoint("mail.sending noted")
    if mail.document is not None and mail.topic == MailTopic.RECALL:
        letter_sent(document=mail.document, at=timezone.now())
    audit_append(yard=mail.yard, member=None, action="mail.sent", subject=mail)
    failpoint("mail.sending logged")


def message_id(mail: Mail) -> str:
    """The same for every try of one mail."""
    return f"<{mail.message_key.hex}@{urlsplit(settings.BASE_URL).hostname}>"


@sensitive_variables()
def _send(mail: Mail) -> None:
    subject, body = mail_text(mail)
    message = EmailMessage(
        subject=subject,
        body=body,
        from_email=settings.MAIL_FROM or mail.yard.email,
        to=[mail.to],
        reply_to=[mail.yard.email] if mail.yard.email else [],
        headers={"Message-ID": message_id(mail)},
    )
    if mail.document is not None and mail.job is None:
        message.attach(*_attachment(mail.document))
    message.send()


def _attachment(document: Document) -> tuple[str, bytes, str]:
    """The paper itself, for an owner whom no link of a job leads to it."""
    if not document.pdf_sha256:
        raise OSError(_("The paper is not made yet."))
    data = file_read(settings.FILES_DIR, document.pdf_sha256)
    return f"{document.number}.pdf", data, "application/pdf"


def _failed(mail: Mail, error: Exception) -> None:
    attempts = mail.attempts + 1
    trouble = (str(error) or type(error).__name__)[:TROUBLE_LENGTH]
    Mail.objects.filter(pk=mail.pk).update(attempts=attempts, trouble=trouble)
    if attempts >= MOST_MAIL_ATTEMPTS:
        logger.error("Mail %d was given up after %d tries.", mail.pk, attempts)
        return
    # Without the cause: what a mail server answers may quote the mail.
    what = f"Mail {mail.pk}: try {attempts} failed with {type(error).__name__}."
    raise MailTrouble(what) from None


def _given_up(mail: Mail, reason: str) -> None:
    """It waited, and what it tells is over meanwhile: no try is left, and the shop sees why."""
    Mail.objects.filter(pk=mail.pk).update(
        attempts=MOST_MAIL_ATTEMPTS, trouble=reason[:TROUBLE_LENGTH]
    )


def _still_holds(job: Job | None, document: Document | None, at: datetime) -> None:
    """Refuse what names a quote that the owner could not authorize as it is."""
    quote = _quote_named(job, document)
    if quote is None:
        return
    standing = quote_standing(quote, on=local_day(at, quote.yard.time_zone))
    said = {"number": quote.number, "version": quote.version}
    if standing.is_replaced:
        said["later"] = standing.replaced_by
        raise Refused(
            _("%(number)s, version %(version)s, is replaced by version %(later)s. Send that one.")
            % said
        )
    if standing.lapsed_on is not None:
        said["day"] = date_format(standing.lapsed_on, "j F Y")
        raise Refused(
            _("%(number)s lapsed on %(day)s. Make a new version and issue it, then send that.")
            % said
        )


def _quote_named(job: Job | None, document: Document | None) -> Quote | None:
    """The quote that a mail leads to, as it stands now: its paper's, and of a reminder, whatever it
    is of, the one of the job that waits for an answer, if any. Another paper stays true."""
    if document is not None:
        if document.kind != DocumentKind.QUOTE or document.quote_id is None:
            return None
        return Quote.objects.get(pk=document.quote_id)
    return quote_waiting(job) if job else None


def _mail_add(
    member: Member, topic: MailTopic, job: Job | None, document: Document | None, at: datetime
) -> Mail:
    hull = document.hull if document else job.hull if job else None
    address = hull.customer.email if hull else ""
    if not address:
        raise Refused(_("The owner has no email address on file. Add it, then send again."))
    if not (settings.MAIL_FROM or member.yard.email):
        raise Refused(_("The shop has no email address to send from. Add it first."))
    if job is not None and not ownerlink_is_open(ownerlink_renew(job=job, at=at), now=at):
        raise Refused(_("The owner's link to this job is closed. Make a new link, then send."))
    failpoint_on_commit("mail.committed")
    mail = Mail(
        yard=member.yard,
        topic=topic,
        job=job,
        document=document,
        to=address,
        created_by=member,
        created_at=at,
    )
    mail.full_clean()
    mail.save(force_insert=True)
    failpoint("mail.stored")
    outbox_add(yard=mail.yard, topic=MAIL_TOPIC, payload={"mail": mail.pk}, now=timezone.now())
    audit_append(
        yard=mail.yard,
        member=member,
        action="mail.add",
        subject=mail,
        values={"topic": str(topic), "document": document.pk if document else None},
    )
    failpoint("mail.before commit")
    ring_on_commit()
    return mail
