"""Invoices and credit notes: the list, one of them, issuing both, the yard's terms."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.access import invoice_get, job_get, may, require
from shop.exceptions import Refused
from shop.forms.base import FaceForm
from shop.forms.invoices import CreditForm, InvoiceForm, SeriesForm, TermsForm, whole
from shop.http import MemberRequest
from shop.models import Invoice, Job
from shop.numbering import local_day, period_of
from shop.selectors.hulls import hull_block
from shop.selectors.invoices import (
    invoice_list,
    invoice_owed,
    invoice_page,
    invoice_preview,
    job_to_bill,
    jobs_to_bill,
    left_undone_lines,
    number_series,
    with_balances,
)
from shop.selectors.waived import waived_tests
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.mails import document_send
from shop.services.numbering import number_series_start
from shop.services.terms import terms_set
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent
from shop.views.paging import page_of


@require_GET
def invoices_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "invoice.read")
    yard = request.member.yard
    words = request.GET.get("q", "").strip()
    page = page_of(request, invoice_list(yard=yard, words=words))
    waiting = [] if words or page.number > 1 else jobs_to_bill(yard=yard)
    context = {
        "page": page,
        "rows": with_balances(page.object_list),
        "words": words,
        "waiting": waiting,
        "may_write": may(request.member, "invoice.write"),
    }
    return render(request, "invoices/list.html", context)


@require_GET
def invoice_detail(request: MemberRequest, pk: int) -> HttpResponse:
    invoice = invoice_get(request.member, pk)
    context = {
        "page": invoice_page(invoice),
        "may_write": may(request.member, "invoice.write"),
        "may_pay": may(request.member, "payment.write"),
        "may_send": may(request.member, "mail.send"),
    }
    return render(request, "invoices/detail.html", context)


@require_POST
@idempotent
def invoice_send(request: MemberRequest, pk: int) -> HttpResponse:
    """Tell the owner of an invoice or a credit note by mail."""
    invoice = invoice_get(request.member, pk, "mail.send")
    try:
        mail = document_send(member=request.member, document=invoice.document)
    except Refused as error:
        messages.warning(request, str(error))
    else:
        said = {"number": invoice.number, "address": mail.to}
        messages.success(request, _("%(number)s goes to %(address)s.") % said)
    return redirect("invoice_detail", invoice.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def invoice_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Issue a job's invoice, after a look at what it will say."""
    job = job_get(request.member, pk, "invoice.write")
    try:
        billable = job_to_bill(job)
    except Refused as error:
        return _not_now(request, job, error)
    undone = left_undone_lines(billable)
    form = InvoiceForm(request.POST or None, lines=billable.lines, done=undone)
    preview = invoice_preview(billable, form.quantities(), warranty=form.is_free)
    if form.is_bound and form.is_valid() and not form.was_shown(preview.totals.total):
        form.add_error(None, _("The sum below is another one now. Look at it, then issue it."))
    invoice = _done(
        form,
        lambda: invoice_issue(
            member=request.member,
            job=job,
            quantities=form.quantities(),
            warranty=form.cleaned_data["warranty"],
        ),
    )
    if invoice is None:
        waived = waived_tests(billable)
        apart = {test.line.number for test in waived}
        put_off = [
            line
            for line in billable.lines
            if undone.get(line.number) == 0 and line.number not in apart
        ]
        shown = {
            "job": job,
            "boat_block": hull_block(job.hull),
            "put_off": put_off,
            "waived": waived,
        }
        return form_page(request, "invoices/new.html", form, preview=preview, **shown)
    return _issued(request, invoice)


@require_http_methods(["GET", "POST"])
@idempotent
def creditnote_new(request: MemberRequest, pk: int) -> HttpResponse:
    invoice = invoice_get(request.member, pk, "invoice.write")
    owed = invoice_owed(invoice)
    initial = whole(owed) if "all" in request.GET else {}
    form = CreditForm(request.POST or None, owed=owed, initial=initial)
    note = _done(
        form,
        lambda: creditnote_issue(
            member=request.member,
            invoice=invoice,
            quantities=form.quantities(),
            why=form.cleaned_data["why"],
        ),
    )
    if note is None:
        return form_page(request, "invoices/credit.html", form, invoice=invoice)
    return _issued(request, note)


@require_http_methods(["GET", "POST"])
@idempotent
def terms_edit(request: MemberRequest) -> HttpResponse:
    """How the yard is paid; and where its series begin, while they have not."""
    require(request.member, "invoice.write")
    yard = request.member.yard
    sent = request.POST if request.POST.get("part") == "series" else None
    series_form = SeriesForm(sent, prefix="series")
    form = TermsForm(
        request.POST if request.POST.get("part") == "terms" else None,
        initial={"payment_days": yard.payment_days, "payment_text": yard.payment_text},
    )
    period = period_of("invoice", local_day(timezone.now(), yard.time_zone))
    changed = _done(form, lambda: terms_set(member=request.member, **form.cleaned_data)) or _done(
        series_form,
        lambda: number_series_start(
            yard=yard, member=request.member, period=period, **series_form.cleaned_data
        ),
    )
    if changed is not None:
        messages.success(request, _("Kept. The next invoice follows it."))
        return redirect("terms_edit")
    bound = series_form if series_form.is_bound else form
    return form_page(
        request, "invoices/terms.html", bound, terms_form=form, series_form=series_form,
        series=number_series(yard=yard, period=period), period=period,
    )  # fmt: skip


def _issued(request: MemberRequest, invoice: Invoice) -> HttpResponse:
    messages.success(request, _("%(number)s is issued.") % {"number": invoice.number})
    return redirect("invoice_detail", invoice.pk)


def _not_now(request: MemberRequest, job: Job, error: Refused) -> HttpResponse:
    messages.warning(request, str(error))
    return redirect("job_payments", job.pk)


def _done(form: FaceForm, act: Callable[[], Any]) -> Any | None:
    """As `saved`, with what the service refuses shown above the form."""
    try:
        return saved(form, act)
    except Refused as error:
        form.add_error(None, str(error))
        return None
