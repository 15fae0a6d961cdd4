from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from shop.access import customer_get, require
from shop.forms.customers import CustomerForm, customer_initial
from shop.http import MemberRequest
from shop.selectors import customers
from shop.services.customers import customer_create, customer_update
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent
from shop.views.paging import page_of


@require_GET
def customer_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "customer.read")
    words = request.GET.get("q", "").strip()
    page = page_of(request, customers.customer_list(yard=request.member.yard, words=words))
    return render(request, "customers/list.html", {"page": page, "words": words})


@require_GET
def customer_detail(request: MemberRequest, pk: int) -> HttpResponse:
    customer = customer_get(request.member, pk)
    return render(request, "customers/detail.html", {"customer": customer})


@require_http_methods(["GET", "POST"])
@idempotent
def customer_new(request: MemberRequest) -> HttpResponse:
    require(request.member, "customer.write")
    form = CustomerForm(request.POST or None)
    customer = saved(form, lambda: customer_create(member=request.member, fields=form.cleaned_data))
    if customer is None:
        return form_page(request, "customers/form.html", form)
    messages.success(request, _("%(name)s is on file.") % {"name": customer.name})
    return redirect("customer_detail", customer.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def customer_edit(request: MemberRequest, pk: int) -> HttpResponse:
    customer = customer_get(request.member, pk, "customer.write")
    form = CustomerForm(request.POST or None, initial=customer_initial(customer))
    changed = saved(
        form,
        lambda: customer_update(member=request.member, customer=customer, fields=form.cleaned_data),
    )
    if changed is None:
        return form_page(request, "customers/form.html", form, customer=customer)
    messages.success(request, _("%(name)s is saved.") % {"name": changed.name})
    return redirect("customer_detail", changed.pk)
