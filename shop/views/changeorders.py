"""Change orders: begun on open work, offered to the owner, done after consent."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.access import changeorder_get, may, workorder_get
from shop.exceptions import Refused
from shop.forms.changeorders import ChangeForm, change_initial
from shop.http import MemberRequest
from shop.models import ChangeStatus, WorkOrder
from shop.selectors.change_short import change_short
from shop.selectors.changeorders import addable_products, change_page, segments_to_add
from shop.selectors.hulls import hull_block
from shop.services import changeorders
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent

TEMPLATE = "changeorders/form.html"


@require_http_methods(["GET", "POST"])
@idempotent
def changeorder_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Write down what was found beyond what is authorized, and what it would take."""
    order = workorder_get(request.member, pk, "change.write")
    form = _form(request, order)
    change = _saved(
        form,
        lambda: changeorders.changeorder_start(
            member=request.member, work_order=order, added=form.added()
        ),
    )
    if change is None:
        block = hull_block(order.job.hull)
        return form_page(request, TEMPLATE, form, job=order.job, boat_block=block)
    return redirect("changeorder_detail", change.pk)


@require_GET
def changeorder_detail(request: MemberRequest, pk: int) -> HttpResponse:
    change = changeorder_get(request.member, pk)
    undecided = change.status in (ChangeStatus.DRAFT, ChangeStatus.OFFERED)
    context = {
        "page": change_page(change),
        "undecided": undecided,
        "short": change_short(change) if undecided else [],
        "may_write": may(request.member, "change.write"),
        "may_consent": may(request.member, "consent.write"),
        "may_send": may(request.member, "mail.send"),
    }
    return render(request, "changeorders/detail.html", context)


@require_http_methods(["GET", "POST"])
@idempotent
def changeorder_edit(request: MemberRequest, pk: int) -> HttpResponse:
    change = changeorder_get(request.member, pk, "change.write")
    form = _form(request, change.work_order, change_initial(change, _products(change.work_order)))
    changed = _saved(
        form,
        lambda: changeorders.changeorder_change(
            member=request.member, change_order=change, added=form.added()
        ),
    )
    if changed is None:
        block = hull_block(change.job.hull)
        return form_page(request, TEMPLATE, form, job=change.job, boat_block=block, change=change)
    return redirect("changeorder_detail", change.pk)


@require_POST
@idempotent
def changeorder_offer(request: MemberRequest, pk: int) -> HttpResponse:
    """Issue the paper that the owner decides on."""
    change = changeorder_get(request.member, pk, "change.write")
    try:
        changeorders.changeorder_offer(member=request.member, change_order=change)
    except Refused as error:
        messages.warning(request, str(error))
    return redirect("changeorder_detail", change.pk)


def _form(
    request: MemberRequest, order: WorkOrder, initial: dict[str, Any] | None = None
) -> ChangeForm:
    return ChangeForm(
        request.POST or None,
        initial=initial,
        products=_products(order),
        segments=segments_to_add(order),
    )


def _products(order: WorkOrder) -> list[Any]:
    return addable_products(order.yard)


def _saved(form: ChangeForm, act: Callable[[], Any]) -> Any | None:
    """As `saved`, with what the service refuses shown above the form."""
    try:
        return saved(form, act)
    except Refused as error:
        form.add_error(None, str(error))
        return None
