"""Proposing hoses, clamps and valves, each judged before it is chosen."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from shop.access import boat_get, quote_get, state_get
from shop.exceptions import FactError, Refused
from shop.forms.proposals import AccessForm, HoseForm, ProductForm, StopForm
from shop.http import MemberRequest
from shop.models import (
    Component,
    FactChange,
    Product,
    ProductKind,
    Segment,
    StateKind,
    SubjectKind,
    SystemState,
)
from shop.selectors.boat_page import Chosen, newest_states
from shop.selectors.fitting import is_assembly, is_valve
from shop.services import proposals
from shop.services.proposals import ProductRefused
from shop.services.quotes import quote_reprice
from shop.services.systems import proposal_start
from shop.views.boat_page import access_form, page_context, today
from shop.views.facts import state_url
from shop.views.idempotent import idempotent


@require_POST
@idempotent
def proposal_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Start a proposal from the newest survey."""
    hull = boat_get(request.member, pk, "proposal.write")
    found = newest_states(hull).get(StateKind.FOUND)
    if found is None:
        raise Refused(_("A proposal starts from what a survey found. Survey the boat first."))
    state = proposal_start(found=found, member=request.member)
    return redirect("boat_state", state.hull_id, state.kind)


@require_POST
@idempotent
def segment_propose(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    state, segment = _segment(request, pk, ident)
    products = _products(state)
    form = HoseForm(
        request.POST,
        products=[p for p in products if p.kind == ProductKind.HOSE or is_assembly(p)],
        clamps=[p for p in products if p.kind == ProductKind.CLAMP],
    )

    def act() -> list[FactChange]:
        return proposals.segment_propose(
            segment=segment,
            product=form.chosen,
            clamp=form.chosen_clamp,
            accept=form.cleaned_data["accept"],
            on=today(state.hull.yard),
            member=request.member,
        )

    return _done(request, state, SubjectKind.SEGMENT, ident, form, act)


@require_POST
@idempotent
def segment_keep(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    state, segment = _segment(request, pk, ident)
    return _kept(
        request,
        state,
        SubjectKind.SEGMENT,
        ident,
        lambda: proposals.segment_keep(segment=segment, member=request.member),
    )


@require_POST
@idempotent
def segments_keep(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep every segment that passes and for which nothing is proposed."""
    state = state_get(request.member, pk, "proposal.write")
    on = today(state.hull.yard)
    changes = proposals.segments_keep_passing(state=state, on=on, member=request.member)
    return redirect(state_url(state, change=changes[0].pk if changes else None))


@require_POST
@idempotent
def access_set(request: MemberRequest, pk: int) -> HttpResponse:
    """How several segments are reached, given where they are listed as lacking it."""
    state = state_get(request.member, pk, "proposal.write")
    asked = request.POST.get("quote", "")
    is_number = re.fullmatch(r"[0-9]{1,12}", asked)
    quote = quote_get(request.member, int(asked), "quote.write") if is_number else None
    form = access_form(state, request.POST)
    if not form.is_valid():
        return _refused(request, state, Chosen(), access=form)
    proposals.access_set(state=state, classes=form.classes_chosen(), member=request.member)
    if quote is not None and quote.proposed_id == state.pk:
        with suppress(Refused):  # what it still lacks is listed on its page
            quote_reprice(quote=quote)
        return redirect("quote_detail", quote.pk)
    return redirect(f"{state_url(state)}#lacking")


@require_POST
@idempotent
def component_propose(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    state, component = _component(request, pk, ident)
    form = ProductForm(request.POST, products=filter(is_valve, _products(state)))

    def act() -> list[FactChange]:
        return proposals.component_propose(
            component=component, product=form.chosen, member=request.member
        )

    return _done(request, state, SubjectKind.COMPONENT, ident, form, act)


@require_POST
@idempotent
def component_keep(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    state, component = _component(request, pk, ident)
    return _kept(
        request,
        state,
        SubjectKind.COMPONENT,
        ident,
        lambda: proposals.component_keep(component=component, member=request.member),
    )


def _segment(request: MemberRequest, pk: int, ident: str) -> tuple[SystemState, Segment]:
    state = state_get(request.member, pk, "proposal.write")
    segment = get_object_or_404(state.segments, ident=ident)
    segment.state = state
    return state, segment


def _component(request: MemberRequest, pk: int, ident: str) -> tuple[SystemState, Component]:
    state = state_get(request.member, pk, "proposal.write")
    component = get_object_or_404(state.components, ident=ident)
    component.state = state
    return state, component


def _products(state: SystemState) -> list[Product]:
    rows = state.hull.yard.products.filter(is_active=True)
    return list(rows.select_related("default_clamp", "yard"))


def _done(
    request: MemberRequest,
    state: SystemState,
    kind: str,
    ident: str,
    form: ProductForm,
    act: Callable[[], list[FactChange]],
) -> HttpResponse:
    """Back to the page with what was proposed, or with the reason why it was not."""
    if form.is_valid():
        try:
            changes = act()
        except ProductRefused as error:
            form.add_error(error.field if error.field in form.fields else None, str(error))
        except FactError as error:
            form.take_service_errors(error)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            pk = changes[0].pk if changes else None
            return redirect(state_url(state, kind, ident, change=pk))
    name = "segment" if kind == SubjectKind.SEGMENT else "part"
    return _refused(request, state, Chosen(**{name: ident}), choice=form)


def _refused(
    request: MemberRequest,
    state: SystemState,
    chosen: Chosen,
    choice: ProductForm | None = None,
    access: AccessForm | None = None,
) -> HttpResponse:
    """The boat's page with what was chosen and why it does not stand."""
    hull = state.hull
    context = page_context(request, hull, newest_states(hull), state, chosen, choice, access)
    context["stop_form"] = StopForm()
    return render(request, "boat/page.html", context, status=422)


def _kept(
    request: MemberRequest, state: SystemState, kind: str, ident: str, act: Callable[[], Any]
) -> HttpResponse:
    try:
        changes = act()
    except (Refused, FactError) as error:
        messages.warning(request, str(error))
        return redirect(state_url(state, kind, ident))
    return redirect(state_url(state, kind, ident, change=changes[0].pk if changes else None))
