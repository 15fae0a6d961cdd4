"""Boats on file. The boat's own page, with her fuel system, is in boat_page."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from shop.access import boat_get, require
from shop.forms.boats import BoatForm, boat_initial
from shop.hin import hin_read
from shop.http import MemberRequest
from shop.models import Hull
from shop.selectors.hulls import hull_list
from shop.services.hulls import hull_create, hull_update
from shop.views.boat_page import today as today_of
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent
from shop.views.paging import page_of


@require_GET
def boat_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "boat.read")
    words = request.GET.get("q", "").strip()
    page = page_of(request, hull_list(yard=request.member.yard, words=words))
    return render(request, "boats/list.html", {"page": page, "words": words})


@require_http_methods(["GET", "POST"])
@idempotent
def boat_new(request: MemberRequest) -> HttpResponse:
    require(request.member, "boat.write")
    form = _form(request, _asked_for(request))
    hull = saved(form, lambda: _create(request, form))
    if hull is None:
        return _page(request, form)
    messages.success(request, _("%(name)s is on file.") % {"name": hull.name})
    return redirect("boat_detail", hull.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def boat_edit(request: MemberRequest, pk: int) -> HttpResponse:
    hull = boat_get(request.member, pk, "boat.write")
    form = _form(request, boat_initial(hull))
    changed = saved(form, lambda: _update(request, hull, form))
    if changed is None:
        return _page(request, form, hull)
    messages.success(request, _("%(name)s is saved.") % {"name": changed.name})
    return redirect("boat_detail", changed.pk)


@require_GET
def boat_hin(request: MemberRequest) -> HttpResponse:
    """What a number says, while it is typed; it helps and never blocks."""
    require(request.member, "boat.read")
    return render(request, "boats/_hin.html", _hin(request, request.GET.get("hin_as_read", "")))


def _form(request: MemberRequest, initial: dict[str, Any]) -> BoatForm:
    yard = request.member.yard
    return BoatForm(request.POST or None, yard=yard, today=today_of(yard), initial=initial)


def _page(request: MemberRequest, form: BoatForm, hull: Hull | None = None) -> HttpResponse:
    hin = _hin(request, str(form["hin_as_read"].value() or ""))
    return form_page(request, "boats/form.html", form, hull=hull, **hin)


def _hin(request: MemberRequest, typed: str) -> dict[str, Any]:
    on = today_of(request.member.yard)
    return {"reading": hin_read(typed[:40], on=on) if typed.strip() else None}


def _asked_for(request: MemberRequest) -> dict[str, Any]:
    """An owner's page offers a new boat of this owner."""
    return {"owner": request.GET.get("owner", "")}


def _create(request: MemberRequest, form: BoatForm) -> Hull:
    return hull_create(
        member=request.member,
        customer=form.chosen_owner,
        new_customer=form.new_owner(),
        columns=form.columns(),
        facts=form.facts({}),
    )


def _update(request: MemberRequest, hull: Hull, form: BoatForm) -> Hull:
    return hull_update(
        member=request.member,
        hull=hull,
        customer=form.chosen_owner,
        new_customer=form.new_owner(),
        columns=form.columns(),
        facts=form.facts(hull.facts),
    )
