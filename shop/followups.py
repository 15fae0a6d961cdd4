"""What each topic of the outbox leads to. Handlers are safe to run twice: a claim can run out."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from datetime import timedelta

from django.utils import timezone

from shop.failpoints import failpoint
from shop.models import Document, Mail, OutboxRow
from shop.services.mails import MAIL_TOPIC, mail_send
from shop.services.outbox import outbox_claim, outbox_done, outbox_retry
from shop.services.rendering import renderjob_ensure

logger = logging.getLogger(__name__)

FIRST_PAUSE = timedelta(seconds=10)
LONGEST_PAUSE = timedelta(hours=1)

Handler = Callable[[OutboxRow], None]


def document_pdf(row: OutboxRow) -> None:
    document = Document.objects.filter(pk=row.payload["document"]).first()
    if document is not None:
        renderjob_ensure(document=document)


def mail_send_one(row: OutboxRow) -> None:
    mail = Mail.objects.filter(pk=row.payload["mail"]).first()
    if mail is not None:
        mail_send(mail=mail)


HANDLERS: Mapping[str, Handler] = {"document.pdf": document_pdf, MAIL_TOPIC: mail_send_one}


def followups_run(*, handlers: Mapping[str, Handler] = HANDLERS) -> int:
    """Do every follow-up that is due, and return how many were done."""
    done = 0
    while (row := outbox_claim(now=timezone.now(), topics=handlers)) is not None:
        done += followup_run(row, handlers[row.topic])
    return done


def followup_run(row: OutboxRow, handler: Handler) -> bool:
    failpoint("followup.claimed")
    try:
        handler(row)
    except Exception:
        again_at = timezone.now() + pause_after(row.attempts)
        logger.exception("Follow-up %s failed; it is tried again at %s.", row, again_at)
        outbox_retry(row, at=again_at)
        return False
    failpoint("followup.handled")
    return outbox_done(row, now=timezone.now())


def pause_after(attempts: int) -> timedelta:
    doubled: timedelta = FIRST_PAUSE * 2 ** min(max(attempts - 1, 0), 16)
    return min(doubled, LONGEST_PAUSE)
