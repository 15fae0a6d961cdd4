"""The price list, and the rates by which work is charged."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from shop.access import product_get, require
from shop.forms.hours import HoursForm
from shop.forms.prices import (
    ProductForm,
    RateForm,
    TaxForm,
    product_initial,
    rate_initial,
    tax_initial,
)
from shop.http import MemberRequest
from shop.models import PartCondition, Product, RateCard, TaxProfile
from shop.numbering import local_day
from shop.selectors.prices import products_by_kind
from shop.services.prices import (
    hours_set,
    product_create,
    product_update,
    ratecard_create,
    taxprofile_create,
)
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent


@require_GET
def price_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "price.read")
    words = request.GET.get("q", "").strip()
    kinds = products_by_kind(yard=request.member.yard, words=words)
    return render(request, "prices/list.html", {"kinds": kinds, "words": words})


@require_http_methods(["GET", "POST"])
@idempotent
def product_new(request: MemberRequest) -> HttpResponse:
    require(request.member, "price.write")
    form = ProductForm(
        request.POST or None,
        yard=request.member.yard,
        initial={"condition": PartCondition.NEW, "for_fuel": True, "is_active": True},
    )
    product = saved(form, lambda: product_create(member=request.member, fields=form.fields_for({})))
    return _after(request, form, product, None)


@require_http_methods(["GET", "POST"])
@idempotent
def product_edit(request: MemberRequest, pk: int) -> HttpResponse:
    product = product_get(request.member, pk, "price.write")
    form = ProductForm(
        request.POST or None, yard=request.member.yard, initial=product_initial(product)
    )
    changed = saved(
        form,
        lambda: product_update(
            member=request.member, product=product, fields=form.fields_for(product.facts)
        ),
    )
    return _after(request, form, changed, product)


def _after(
    request: MemberRequest, form: ProductForm, changed: Product | None, product: Product | None
) -> HttpResponse:
    if changed is None:
        return form_page(request, "prices/form.html", form, product=product)
    messages.success(request, _("%(sku)s is on the list.") % {"sku": changed.sku})
    return redirect("price_list")


@require_GET
def rate_list(request: MemberRequest) -> HttpResponse:
    """Rates in force today, with those before and after."""
    require(request.member, "rate.read")
    yard = request.member.yard
    today = local_day(timezone.now(), yard.time_zone)
    cards, profiles = list(yard.rate_cards.all()), list(yard.tax_profiles.all())
    context = {
        "card": next((card for card in cards if card.starts_on <= today), None),
        "cards": cards,
        "profile": next((row for row in profiles if row.starts_on <= today), None),
        "profiles": profiles,
        "access_classes": yard.access_classes.all(),
        "ops": yard.labor_ops.all(),
    }
    return render(request, "prices/rates.html", context)


@require_http_methods(["GET", "POST"])
@idempotent
def rate_new(request: MemberRequest) -> HttpResponse:
    require(request.member, "rate.write")
    last = RateCard.objects.filter(yard=request.member.yard).first()
    form = RateForm(request.POST or None, initial=rate_initial(last))
    card = saved(form, lambda: ratecard_create(member=request.member, fields=form.cleaned_data))
    if card is None:
        return form_page(request, "prices/rate_form.html", form)
    messages.success(request, _("New rates are on file. Issued papers keep theirs."))
    return redirect("rate_list")


@require_http_methods(["GET", "POST"])
@idempotent
def hours_edit(request: MemberRequest) -> HttpResponse:
    require(request.member, "rate.write")
    form = HoursForm(request.POST or None, yard=request.member.yard)
    if not (form.is_bound and form.is_valid()):
        return form_page(request, "prices/hours_form.html", form)
    hours_set(member=request.member, access=form.hours_of("access"), steps=form.hours_of("step"))
    messages.success(request, _("The hours are set. Issued papers keep theirs."))
    return redirect("rate_list")


@require_http_methods(["GET", "POST"])
@idempotent
def tax_new(request: MemberRequest) -> HttpResponse:
    require(request.member, "rate.write")
    last = TaxProfile.objects.filter(yard=request.member.yard).first()
    form = TaxForm(request.POST or None, initial=tax_initial(last))
    row = saved(form, lambda: taxprofile_create(member=request.member, fields=form.cleaned_data))
    if row is None:
        return form_page(request, "prices/tax_form.html", form)
    messages.success(request, _("The new tax is on file. Issued papers keep theirs."))
    return redirect("rate_list")
