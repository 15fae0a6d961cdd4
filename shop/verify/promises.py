"""What was promised and is not done: follow-ups, PDFs, mails."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from django.utils import timezone

from shop.models import Mail, OutboxRow, RenderJob, RenderState
from shop.verify.model import Fault, Look, named

# Longer than the longest pause between two tries of one follow-up, doubled.
OVERDUE = timedelta(hours=2)
MOST_MAIL_ATTEMPTS = 40  # after these a mail is given up, in sight of the shop


def kept(look: Look) -> Iterator[Fault]:
    """No follow-up is due for longer than the longest pause between tries."""
    limit = timezone.now() - OVERDUE
    for row in OutboxRow.objects.filter(done_at__isnull=True).order_by("pk"):
        look.at()
        if row.not_before < limit:
            yield Fault(named(row), f"due since {row.not_before:%Y-%m-%dT%H:%MZ}", "done")


def renders(look: Look) -> Iterator[Fault]:
    """No PDF waits, and no lease is held, beyond the limit."""
    limit = timezone.now() - OVERDUE
    for job in RenderJob.objects.filter(state__in=(RenderState.QUEUED, RenderState.LEASED)):
        look.at()
        since = job.leased_until if job.state == RenderState.LEASED else job.created_at
        if since is None or since < limit:
            yield Fault(named(job), f"{job.state} since {since:%Y-%m-%dT%H:%MZ}", "done or dead")


def mails(look: Look) -> Iterator[Fault]:
    """A mail that did not go out is still promised, or was given up after its last try."""
    promised = {
        row.payload["mail"]
        for row in OutboxRow.objects.filter(topic="mail.send", done_at__isnull=True)
    }
    for mail in Mail.objects.filter(sent_at__isnull=True).order_by("pk"):
        look.at()
        if mail.pk not in promised and mail.attempts < MOST_MAIL_ATTEMPTS:
            yield Fault(named(mail), "not sent and not promised", "sent or promised")
