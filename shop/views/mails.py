"""Mail to owners: what was sent, what failed, and who should be reminded."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.access import document_get, job_get, mail_get, may, require
from shop.exceptions import Refused
from shop.forms.mails import ReminderForm
from shop.http import MemberRequest
from shop.models import Document, DocumentKind, Mail, Member, WorkOrder
from shop.numbering import local_day
from shop.selectors.mails import mail_list as mails_of
from shop.selectors.mails import reminders, too_early
from shop.services.mails import document_send as send
from shop.services.mails import mail_again as again
from shop.services.mails import reminder_send
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent
from shop.views.paging import page_of


@require_GET
def mail_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "mail.read")
    context = {
        "page": page_of(request, mails_of(yard=request.member.yard)),
        "may_send": may(request.member, "mail.send"),
        "to_files": not settings.EMAIL_HOST,
    }
    return render(request, "mail/list.html", context)


@require_POST
@idempotent
def mail_again(request: MemberRequest, pk: int) -> HttpResponse:
    mail = mail_get(request.member, pk, "mail.send")
    return _done(request, lambda: again(member=request.member, mail=mail), "mail_list")


@require_POST
@idempotent
def document_send(request: MemberRequest, pk: int) -> HttpResponse:
    """Tell the owner of a paper by mail, with the link to their page."""
    document = document_get(request.member, pk, "mail.send")
    return _done(
        request,
        lambda: send(member=request.member, document=document),
        *_page_of(document),
    )


@require_GET
def reminder_list(request: MemberRequest) -> HttpResponse:
    """Who waits for what: unanswered quotes, work left undone, inspections."""
    require(request.member, "mail.read")
    return render(request, "mail/reminders.html", _reminders(request.member))


@require_POST
@idempotent
def reminder_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Remind the owner; long before the day it is asked first."""
    job = job_get(request.member, pk, "mail.send")
    early = too_early(job, kind=request.POST.get("kind", ""), on=_today(request.member))
    form = ReminderForm(request.POST, due_on=early.due_on if early else None)
    if early is not None and not form.is_valid():
        context = {**_reminders(request.member), "asked": early}
        return form_page(request, "mail/reminders.html", form, **context)
    return _done(request, lambda: reminder_send(member=request.member, job=job), "reminder_list")


def _reminders(member: Member) -> dict[str, object]:
    today = _today(member)
    listed = reminders(member.yard, on=today)
    return {
        "due": [row for row in listed if row.due_on <= today],
        "ahead": [row for row in listed if row.due_on > today],
        "may_send": may(member, "mail.send"),
        "zone": member.yard.time_zone,
    }


def _today(member: Member) -> date:
    return local_day(timezone.now(), member.yard.time_zone)


def _done(request: HttpRequest, act: Callable[[], Mail], page: str, *args: object) -> HttpResponse:
    try:
        mail = act()
    except Refused as error:
        messages.warning(request, str(error))
    else:
        messages.success(request, _("Mail to %(to)s is on its way.") % {"to": mail.to})
    return redirect(page, *args)


def _page_of(document: Document) -> tuple[str, *tuple[object, ...]]:
    """The page of what the document is about."""
    if document.kind == DocumentKind.QUOTE:
        return "quote_detail", document.quote_id
    if document.kind == DocumentKind.CHANGE_ORDER:
        change = document.change_orders.first()
        if change is not None:
            return "changeorder_detail", change.pk
    if document.kind in (DocumentKind.INVOICE, DocumentKind.CREDIT_NOTE):
        return "invoice_detail", document.invoice.pk
    if document.kind in (DocumentKind.COMPLETION, DocumentKind.ADDENDUM):
        orders = WorkOrder.objects.filter(job=document.job_id, completion__isnull=False)
        order = orders.order_by("pk").last()
        if order is not None:
            return "work_complete", order.pk
    if document.kind == DocumentKind.LETTER and hasattr(document, "recall_notice"):
        return "recall_detail", document.recall_notice.recall_id
    return ("mail_list",)
