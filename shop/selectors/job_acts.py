"""What a member may do next with a job: each act with its address, in the order of the work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from shop.access import may
from shop.exceptions import Refused
from shop.models import Job, Member
from shop.selectors.invoices import job_to_bill, live_invoice
from shop.selectors.work_page import WorkPage


@dataclass(frozen=True)
class JobAct:
    words: str
    url: str


def job_acts(member: Member, job: Job, page: WorkPage | None) -> list[JobAct]:
    """The first is what this person most likely came for: work, or money for who keeps books."""
    work = list(_work_acts(member, job, page))
    money = list(_money_acts(member, job))
    keeps_books = may(member, "invoice.write") and not may(member, "work.write")
    is_billed_next = may(member, "invoice.write") and not (page and page.is_open)
    return money + work if keeps_books or is_billed_next else work + money


def _work_acts(member: Member, job: Job, page: WorkPage | None) -> Iterator[JobAct]:
    if page is None:
        quote = job.quotes.order_by("-version").first()
        if quote and may(member, "quote.read"):
            yield JobAct(_("Open the quote"), reverse("quote_detail", args=[quote.pk]))
        return
    pk = page.work_order.pk
    if page.is_open and may(member, "work.write"):
        yield JobAct(_next_words(page), page.next_url)
    else:
        yield JobAct(_("The record"), reverse("work_complete", args=[pk]))
    if page.is_open and may(member, "lot.read"):
        yield JobAct(_("Cut list"), reverse("job_cuts", args=[job.pk]))
    yield JobAct(_("Work order on paper"), reverse("work_paper", args=[pk]))
    if page.is_open and may(member, "change.write"):
        yield JobAct(_("New change order"), reverse("changeorder_new", args=[pk]))


def _money_acts(member: Member, job: Job) -> Iterator[JobAct]:
    if not may(member, "invoice.read"):
        return
    if may(member, "invoice.write") and is_billable(job):
        yield JobAct(_("Issue the invoice"), reverse("invoice_new", args=[job.pk]))
    if invoice := live_invoice(job):
        words = _("Invoice %(number)s") % {"number": invoice.number}
        yield JobAct(words, reverse("invoice_detail", args=[invoice.pk]))
    yield JobAct(_("Payments"), reverse("job_payments", args=[job.pk]))


def is_billable(job: Job) -> bool:
    """Whether an invoice can be issued as things stand."""
    try:
        job_to_bill(job)
    except Refused:
        return False
    return True


def _next_words(page: WorkPage) -> str:
    if not page.is_safe:
        return _("Make safe")
    return _("Go on with the work") if page.blockers else _("To the record")
