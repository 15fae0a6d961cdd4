"""The boat's page: her fuel system as found, proposed or installed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.forms import BoundField
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST
from django.views.decorators.vary import vary_on_headers

from shop.access import boat_get, may, require, state_get
from shop.exceptions import Refused
from shop.forms.proposals import AccessForm, LiftForm, ProductForm, StopForm
from shop.http import MemberRequest
from shop.models import AccessClass, Hull, StateKind, SystemState, Yard
from shop.numbering import local_day
from shop.selectors.boat_page import (
    Chosen,
    draft_of,
    is_open_at,
    may_propose,
    newest_states,
    quote_newest,
    state_cells,
    state_page,
    stop_of,
)
from shop.selectors.exports import document_text
from shop.selectors.frozen import state_freeze
from shop.selectors.hulls import engine_rows, hull_block
from shop.selectors.lacking import Lacking, SegmentLack
from shop.selectors.offers import Offer
from shop.selectors.recalled import hull_called_back
from shop.selectors.smells import smells_told
from shop.services.stops import stop_lift, stop_set
from shop.views.facts import may_correct
from shop.views.idempotent import idempotent

READ_ACTS = {StateKind.PROPOSED: "proposal.read"}


@require_GET
@vary_on_headers("HX-Request")
def boat_detail(request: MemberRequest, pk: int) -> HttpResponse:
    """The boat as she is; for who does not read surveys, her file alone."""
    hull = boat_get(request.member, pk)
    if not may(request.member, "survey.read"):
        return _page(request, hull, {}, None)
    states = newest_states(hull)
    return _page(request, hull, states, state_now(states))


@require_GET
@vary_on_headers("HX-Request")
def boat_state(request: MemberRequest, pk: int, kind: str) -> HttpResponse:
    """The boat in the newest state of one kind."""
    require(request.member, READ_ACTS.get(StateKind(kind), "survey.read"), kind="hull", pk=str(pk))
    hull = boat_get(request.member, pk)
    states = newest_states(hull)
    if kind not in states and kind != StateKind.FOUND:
        raise Http404("The boat has no such state.")
    return _page(request, hull, states, states.get(kind))


@require_GET
def state_document(request: MemberRequest, pk: int) -> HttpResponse:
    """A state as a fuel-system document, to be read by anything else."""
    state = state_get(request.member, pk)
    require(request.member, READ_ACTS.get(StateKind(state.kind), "survey.read"))
    response = HttpResponse(document_text(state), content_type="application/json; charset=utf-8")
    name = f"{state.hull.pk}-{state.kind}-{state.number}.json"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@require_POST
@idempotent
def boat_stop(request: MemberRequest, pk: int) -> HttpResponse:
    """Mark the boat as not to be run."""
    hull = boat_get(request.member, pk, "stop.set")
    return _stop_done(
        request, hull, lambda reason: stop_set(hull=hull, reason=reason, member=request.member)
    )


@require_POST
@idempotent
def boat_stop_lift(request: MemberRequest, pk: int) -> HttpResponse:
    """Lift the mark, with a reason."""
    hull = boat_get(request.member, pk, "stop.lift")
    return _stop_done(
        request,
        hull,
        lambda reason: stop_lift(hull=hull, reason=reason, member=request.member),
        LiftForm,
    )


def _stop_done(
    request: MemberRequest, hull: Hull, act: Any, form_class: type[StopForm] = StopForm
) -> HttpResponse:
    form = form_class(request.POST)
    if form.is_valid():
        try:
            act(form.cleaned_data["reason"])
        except Refused as error:
            messages.warning(request, str(error))
        return redirect("boat_detail", hull.pk)
    states = newest_states(hull) if may(request.member, "survey.read") else {}
    return _page(request, hull, states, state_now(states), stop_form=form)


def state_now(states: Mapping[str, SystemState]) -> SystemState | None:
    """The newest state that speaks of the boat as she is: as found, or as installed since."""
    known = [states[kind] for kind in (StateKind.FOUND, StateKind.INSTALLED) if kind in states]
    return max(known, key=lambda state: state.pk, default=None)


def today(yard: Yard) -> Any:
    """The day at the yard."""
    return local_day(timezone.now(), yard.time_zone)


def page_context(
    request: MemberRequest,
    hull: Hull,
    states: dict[str, SystemState],
    state: SystemState | None,
    chosen: Chosen,
    choice: ProductForm | None = None,
    access: AccessForm | None = None,
) -> dict[str, Any]:
    """What the templates of the page want; `page` is None before there is a survey."""
    member = request.member
    page = state_page(state, member=member, chosen=chosen, on=today(hull.yard)) if state else None
    proposed = states.get(StateKind.PROPOSED)
    found = states.get(StateKind.FOUND)
    offers = page.opened.offers if page and page.opened else ()
    quote = quote_newest(hull) if may(member, "quote.read") else None
    stop = stop_of(hull)
    clamp = str(getattr(page.opened.row, "clamp_sku", "") or "") if page and page.opened else ""
    return {
        "choice": choice,
        "offers": [(offer, _is_checked(offer, offers, choice)) for offer in offers],
        "any_rejected": any(offer.is_rejected for offer in offers),
        "clamp_shown": choice.data.get("clamp", "") if choice else clamp,
        "hull": hull,
        "boat_block": hull_block(hull),
        "cells": state_cells(states, state.kind if state else StateKind.FOUND),
        "state": state,
        "page": page,
        "stop": stop,
        "smells": smells_told(stop),
        "called_back": hull_called_back(hull) if may(member, "lot.read") else [],
        "quote": quote,
        "draft": draft_of(state, quote) if state and may(member, "quote.write") else None,
        "engines": engine_rows(hull),
        "proposal_is_newest": bool(proposed and found and proposed.parent_id == found.pk),
        "may_start": _may_start(proposed, found),
        "may_correct": bool(state and may_correct(member, state)),
        "may_correct_part": bool(
            state
            and page
            and page.opened
            and may_correct(member, state, page.opened.panel.kind, page.opened.panel.ident)
        ),
        "may_propose": may(member, "proposal.write"),
        "may_choose": bool(
            state and page and may_propose(member, state) and is_open_at(page.freeze, chosen)
        ),
        "may_survey": may(member, "survey.write"),
        "may_read": may(member, "survey.read"),
        "may_see_cost": may(member, "price.write"),  # what the shop pays, as on the price list
        "may_quote": may(member, "quote.write"),
        "lacks": lacks_of(state, page.lacking, access) if state and page else None,
    }


def _may_start(proposed: SystemState | None, found: SystemState | None) -> bool:
    """Whether a proposal may be begun: none is of this survey, or its work is closed."""
    if found is None or proposed is None or proposed.parent_id != found.pk:
        return found is not None
    freeze = state_freeze(proposed)
    return freeze is not None and freeze.is_over


def lacks_of(
    state: SystemState, lacking: Lacking | None, access: AccessForm | None = None
) -> Lacks | None:
    """The list of what is missing with its fields; None where nothing is."""
    if lacking is None or not lacking.count:
        return None
    return Lacks(lacking, access or access_form(state, classes=lacking.classes))


def access_form(
    state: SystemState,
    data: Mapping[str, Any] | None = None,
    *,
    classes: Iterable[AccessClass] | None = None,
) -> AccessForm:
    """One choice for each segment that a proposal renews."""
    rows = state.segments.filter(kept=False)
    known = state.hull.yard.access_classes.all() if classes is None else classes
    return AccessForm(data, rows=rows, classes=known)


@dataclass(frozen=True)
class Lacks:
    """The list of what is missing, each segment with the field in which its access is given."""

    lacking: Lacking
    form: AccessForm

    @property
    def rows(self) -> list[tuple[SegmentLack, BoundField | None]]:
        segments = self.lacking.segments
        return [(s, self.form.field_of(s.ident) if s.needs_access else None) for s in segments]


def _is_checked(offer: Offer, offers: tuple[Offer, ...], choice: ProductForm | None) -> bool:
    """What was chosen before, else what is proposed now, else the first that passes."""
    if choice is not None:
        return bool(choice.data.get("product") == offer.product.sku)
    if any(each.is_chosen for each in offers):
        return offer.is_chosen
    return offer is offers[0] and not offer.is_rejected


def _page(
    request: MemberRequest,
    hull: Hull,
    states: dict[str, SystemState],
    state: SystemState | None,
    *,
    stop_form: StopForm | None = None,
) -> HttpResponse:
    chosen = Chosen(**{name: request.GET.get(name, "") for name in ("segment", "part", "change")})
    context = page_context(request, hull, states, state, chosen)
    context["stop_form"] = stop_form or StopForm()
    if request.headers.get("HX-Request") and state is not None:
        return render(request, "boat/_view.html", context)
    return render(request, "boat/page.html", context, status=422 if stop_form else 200)
