"""Mail that is promised or sent, and what an owner should be reminded of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from enum import StrEnum

from django.db.models import QuerySet

from shop.models import Document, Job, Mail, MailTopic, Quote, QuoteStatus, Yard
from shop.numbering import local_day
from shop.selectors.quote_state import QuoteStanding, quote_standing
from shop.selectors.undone import Undone, job_left

# Common practice, no source: a quote is asked after within the week, work left undone after a
# month, an inspection a month before it is due.
ASK_AFTER = timedelta(days=5)
UNDONE_AFTER = timedelta(days=30)
INSPECTION_AHEAD = timedelta(days=30)
# The shop's common practice, no source: a reminder sent longer before its day is asked about.
EARLY_DAYS = 60


class DueKind(StrEnum):
    ANSWER = "answer"
    UNDONE = "undone"
    INSPECTION = "inspection"


@dataclass(frozen=True)
class Due:
    """One reason to write to the owner of a job, from a day on."""

    kind: DueKind
    job: Job
    due_on: date
    quote: Quote | None = None
    opened: int = 0  # how often the owner's page was opened
    undone: tuple[Undone, ...] = ()
    inspection_on: date | None = None
    mail: Mail | None = None  # the last reminder about the job
    waiting: Quote | None = None  # the quote that a reminder about the job would lead to
    # And how that quote stands: where it is over, nothing is sent.
    standing: QuoteStanding = field(default_factory=QuoteStanding)


def mail_list(*, yard: Yard) -> QuerySet[Mail]:
    return Mail.objects.filter(yard=yard).select_related("job__hull", "document")


def paper_mail(document: Document) -> Mail | None:
    """The last mail that told the owner of one paper."""
    return Mail.objects.filter(document=document).order_by("pk").last()


def reminders(yard: Yard, *, on: date) -> list[Due]:
    """Everything an owner may be reminded of, the most overdue first; some lies ahead."""
    jobs = yard.jobs.select_related("hull__customer", "yard")
    found = [_stands(due, on) for job in jobs for due in due_of(job)]
    return sorted(found, key=lambda due: (due.due_on, due.job.number))


def quote_waiting(job: Job) -> Quote | None:
    """The quote that the job's owner has not answered: a reminder leads to it."""
    return job.quotes.filter(status=QuoteStatus.ISSUED).order_by("-version").first()


def _stands(due: Due, on: date) -> Due:
    quote = quote_waiting(due.job)
    if quote is None:
        return due
    return replace(due, waiting=quote, standing=quote_standing(quote, on=on))


def due_of(job: Job) -> list[Due]:
    """What one job's owner is due to hear, each from its day on."""
    mail = _last_mail(job)
    found = (*_answer(job), *_undone(job), *_inspection(job))
    return [replace(due, mail=mail) for due in found]


def too_early(job: Job, *, kind: str, on: date) -> Due | None:
    """What would be reminded of long before its day: the row of a kind, or the first of all."""
    rows = sorted(due_of(job), key=lambda due: (due.kind != kind, due.due_on))
    first = rows[0] if rows else None
    if first is None or (first.due_on - on).days <= EARLY_DAYS:
        return None
    return first


def _answer(job: Job) -> Iterator[Due]:
    quote = quote_waiting(job)
    if quote is None or quote.issued_on is None:
        return
    last = _last_reminder(job) or quote.issued_on
    due_on = max(last, quote.issued_on) + ASK_AFTER
    yield Due(DueKind.ANSWER, job, due_on, quote=quote, opened=openings(job))


def _undone(job: Job) -> Iterator[Due]:
    undone = tuple(job_left(job))
    if not undone:
        return
    since = max(entry.since for entry in undone)
    due_on = max(_last_reminder(job) or since, since) + UNDONE_AFTER
    yield Due(DueKind.UNDONE, job, due_on, undone=undone)


def _inspection(job: Job) -> Iterator[Due]:
    order = job.work_orders.filter(completion__isnull=False).select_related("completion").last()
    if order is None:
        return
    inspection_on = order.completion.next_inspection_on
    due_on = inspection_on - INSPECTION_AHEAD
    last = _last_reminder(job)
    if last is None or last < due_on:
        yield Due(DueKind.INSPECTION, job, due_on, inspection_on=inspection_on)


def openings(job: Job) -> int:
    """How often the owner's page was opened."""
    return sum(link.views.count() for link in job.owner_links.all())


def _last_reminder(job: Job) -> date | None:
    mail = _last_mail(job)
    return local_day(mail.created_at, job.yard.time_zone) if mail else None


def _last_mail(job: Job) -> Mail | None:
    return job.mails.filter(topic=MailTopic.REMINDER).order_by("-created_at").first()
