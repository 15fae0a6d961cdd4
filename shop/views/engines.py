from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.access import boat_get, engine_get
from shop.forms.engines import EngineForm, engine_initial
from shop.http import MemberRequest
from shop.models import Hull
from shop.selectors.hulls import compartments_of
from shop.services.hulls import engine_create, engine_update
from shop.views.boat_page import today
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def engine_new(request: MemberRequest, pk: int) -> HttpResponse:
    hull = boat_get(request.member, pk, "boat.write")
    form = _form(request, hull)
    engine = saved(
        form,
        lambda: engine_create(
            member=request.member, hull=hull, columns=form.columns(), facts=form.facts({})
        ),
    )
    if engine is None:
        return form_page(request, "boats/engine.html", form, hull=hull)
    messages.success(request, _("Engine %(ident)s is on file.") % {"ident": engine.ident})
    return redirect("boat_detail", hull.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def engine_edit(request: MemberRequest, pk: int) -> HttpResponse:
    engine = engine_get(request.member, pk, "boat.write")
    form = _form(request, engine.hull, engine_initial(engine))
    changed = saved(
        form,
        lambda: engine_update(
            member=request.member,
            engine=engine,
            columns=form.columns(),
            facts=form.facts(engine.facts),
        ),
    )
    if changed is None:
        return form_page(request, "boats/engine.html", form, hull=engine.hull, engine=engine)
    messages.success(request, _("Engine %(ident)s is saved.") % {"ident": changed.ident})
    return redirect("boat_detail", changed.hull_id)


def _form(request: MemberRequest, hull: Hull, initial: dict[str, Any] | None = None) -> EngineForm:
    return EngineForm(
        request.POST or None,
        compartments=compartments_of(hull),
        today=today(hull.yard),
        initial=initial,
    )
