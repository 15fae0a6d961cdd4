"""The owner's side of a quote, as the shop's page shows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from shop.models import (
    ChangeOrder,
    Consent,
    Document,
    Job,
    Mail,
    OwnerLink,
    Quote,
    WorkOrder,
    WorkOrderStatus,
)
from shop.selectors.changeorders import job_changes
from shop.selectors.consented import decision_open, quote_paper
from shop.selectors.mails import DueKind, due_of
from shop.services.ownerlinks import ownerlink_is_open

MAILS_SHOWN = 5


@dataclass(frozen=True)
class OwnerPanel:
    quote: Quote
    job: Job
    document: Document | None
    zone: str
    is_open: bool
    expires_at: datetime | None
    opened: int
    first_opened: datetime | None  # a visit counts once, from its beginning
    last_opened: datetime | None
    last_decision: datetime | None  # given on the page itself
    ask_on: date | None
    waits: bool
    work_order: WorkOrder | None  # open: takes change orders
    consents: tuple[Consent, ...]
    changes: tuple[ChangeOrder, ...]
    mails: tuple[Mail, ...]
    is_sent: bool  # this version, not an earlier one


def owner_panel(quote: Quote) -> OwnerPanel | None:
    """None for a quote without a job: nothing of it has reached the owner."""
    job = quote.job
    if job is None:
        return None
    link = OwnerLink.objects.filter(job=job).first()
    document = quote_paper(quote)
    seen = link.views.filter(seen_at__gte=document.issued_at) if link and document else ()
    views = [view.seen_at for view in seen]
    asks = [due.due_on for due in due_of(job) if due.kind is DueKind.ANSWER]
    return OwnerPanel(
        quote=quote,
        job=job,
        document=document,
        zone=quote.yard.time_zone,
        is_open=link is not None and ownerlink_is_open(link, now=timezone.now()),
        expires_at=link.expires_at if link else None,
        opened=len(views),
        first_opened=min(views, default=None),
        last_opened=max(views, default=None),
        last_decision=_last_decision(link, document),
        ask_on=asks[0] if asks else None,
        waits=decision_open(quote),
        work_order=job.work_orders.filter(status=WorkOrderStatus.OPEN).first(),
        consents=tuple(job.consents.select_related("option", "taken_by__user")),
        changes=tuple(job_changes(job)),
        mails=tuple(job.mails.select_related("document").order_by("-created_at")[:MAILS_SHOWN]),
        is_sent=document is not None and job.mails.filter(document=document).exists(),
    )


def _last_decision(link: OwnerLink | None, document: Document | None) -> datetime | None:
    """When the owner last decided on the page since this version was issued."""
    if link is None or document is None:
        return None
    rows = Consent.objects.filter(link=link, at__gte=document.issued_at).order_by("at")
    last = rows.last()
    return last.at if last else None
