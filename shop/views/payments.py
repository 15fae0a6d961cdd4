"""Money on a job, what is owed by age, and the day book."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.views.decorators.http import require_GET, require_http_methods

from shop.access import job_get, may, payment_get, require
from shop.exceptions import Refused
from shop.forms.base import FaceForm
from shop.forms.days import DayForm, SpanForm, month_of
from shop.forms.payments import PaymentForm, ReversalForm, payment_initial
from shop.http import MemberRequest
from shop.models import Job
from shop.money import ZERO
from shop.numbering import local_day
from shop.selectors.asked import asked_of
from shop.selectors.balances import JobBalance, ageing, job_balance
from shop.selectors.consented import job_authorized
from shop.selectors.daybook import DAYBOOK_EXPORT, daybook, daybook_data, daybook_sums
from shop.selectors.hulls import hull_block
from shop.selectors.invoices import job_payments as payments_of
from shop.selectors.invoices import live_invoice
from shop.selectors.job_acts import is_billable
from shop.services.payments import payment_record, payment_reverse
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent

AGE_WORDS = (_l("Not yet due"), _l("1–30 days"), _l("31–60 days"), _l("61–90 days"), _l("Over 90"))


@require_GET
def job_payments(request: MemberRequest, pk: int) -> HttpResponse:
    """Every entry of money on a job, and what it comes to."""
    job = job_get(request.member, pk, "invoice.read")
    context = {
        "job": job,
        "boat_block": hull_block(job.hull),
        "balance": job_balance(job),
        "payments": payments_of(job),
        "invoices": job.invoices.order_by("pk"),
        "may_pay": may(request.member, "payment.write"),
        "may_bill": may(request.member, "invoice.write") and is_billable(job),
    }
    return render(request, "invoices/payments.html", context)


@require_http_methods(["GET", "POST"])
@idempotent
def payment_new(request: MemberRequest, pk: int) -> HttpResponse:
    job = job_get(request.member, pk, "payment.write")
    live, balance = live_invoice(job), job_balance(job)
    initial = payment_initial(
        due=balance.due,
        billed=job.invoices.exists(),
        today=local_day(timezone.now(), job.yard.time_zone),
    )
    form = PaymentForm(
        request.POST or None,
        initial=initial,
        owed=_owed(job, balance),
        back=max(-balance.due, ZERO),
        received=balance.received,
    )
    payment = saved(
        form,
        lambda: payment_record(member=request.member, job=job, invoice=live, **form.cleaned_data),
    )
    if payment is None:
        context = {"job": job, "balance": balance, "live": live}
        asked = asked_of(job, balance)
        return form_page(request, "invoices/payment.html", form, asked=asked, **context)
    messages.success(request, _("%(amount)s recorded.") % {"amount": f"{abs(payment.amount):,.2f}"})
    return _back(job)


def _owed(job: Job, balance: JobBalance) -> Decimal | None:
    """What may still come in: of what is billed, or before that of what is authorized."""
    if job.invoices.exists():
        return balance.due
    authorized = job_authorized(job)
    return None if authorized is None else authorized.total - balance.received


@require_http_methods(["GET", "POST"])
@idempotent
def payment_undo(request: MemberRequest, pk: int) -> HttpResponse:
    """Reverse a wrong entry; both of them stay in the book."""
    payment = payment_get(request.member, pk, "payment.write")
    form = ReversalForm(request.POST or None)
    try:
        reversal = saved(
            form,
            lambda: payment_reverse(
                member=request.member, payment=payment, why=form.cleaned_data["why"]
            ),
        )
    except Refused as error:
        messages.warning(request, str(error))
        return _back(payment.job)
    if reversal is None:
        return form_page(request, "invoices/undo.html", form, payment=payment)
    messages.success(request, _("The entry is reversed. Both stay in the book."))
    return _back(payment.job)


@require_GET
def ageing_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "invoice.read")
    yard = request.member.yard
    today = local_day(timezone.now(), yard.time_zone)
    form = DayForm(request.GET or None, initial={"on": today})
    on = form.cleaned_data["on"] if form.is_bound and form.is_valid() else today
    listed = ageing(yard, on=on)
    sums = list(zip(listed.sums, AGE_WORDS, strict=True))
    return form_page_get(request, "invoices/ageing.html", form, ageing=listed, sums=sums)


@require_GET
def daybook_page(request: MemberRequest) -> HttpResponse:
    require(request.member, "invoice.read")
    form, span = _span(request)
    entries = daybook(request.member.yard, **span)
    sums = daybook_sums(entries)
    context = {"entries": entries, "sums": sums, **span}
    return form_page_get(request, "invoices/daybook.html", form, **context)


@require_GET
def daybook_file(request: MemberRequest) -> HttpResponse:
    """The day book for a spreadsheet program."""
    require(request.member, "invoice.read")
    form, span = _span(request)
    if form.is_bound and not form.is_valid():
        return form_page_get(request, "invoices/daybook.html", form, entries=[], sums={}, **span)
    data = daybook_data(daybook(request.member.yard, **span))
    response = HttpResponse(data, content_type="text/csv; charset=utf-8")
    name = DAYBOOK_EXPORT.file_name(span["first"], span["last"])
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response


def _span(request: MemberRequest) -> tuple[SpanForm, dict[str, date]]:
    """The days asked for; without any, or with days that make no sense, this month so far."""
    usual = month_of(local_day(timezone.now(), request.member.yard.time_zone))
    form = SpanForm(request.GET or None, initial=usual)
    return form, form.cleaned_data if form.is_bound and form.is_valid() else usual


def form_page_get(
    request: MemberRequest, template: str, form: FaceForm, **context: object
) -> HttpResponse:
    """A page that is asked for by a form of its own; 422 when what was typed makes no sense."""
    status = 422 if form.is_bound and form.errors else 200
    return render(request, template, {"form": form, **context}, status=status)


def _back(job: Job) -> HttpResponse:
    live = live_invoice(job)
    if live is not None:
        return redirect("invoice_detail", live.pk)
    return redirect("job_payments", job.pk)
