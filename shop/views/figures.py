"""The figures of a boat's fuel system: what was computed, from what, how."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.access import boat_get, require
from shop.http import MemberRequest
from shop.models import StateKind, SystemState
from shop.selectors.boat_page import newest_states, state_cells, stop_of
from shop.selectors.figures_page import figures_page
from shop.selectors.hulls import hull_block
from shop.views.boat_page import READ_ACTS, today
from shop.views.facts import may_correct


@require_GET
def boat_figures(request: MemberRequest, pk: int, kind: str) -> HttpResponse:
    """Every figure of one state, with its inputs, assumptions, method and source."""
    require(request.member, READ_ACTS.get(StateKind(kind), "survey.read"), kind="hull", pk=str(pk))
    hull = boat_get(request.member, pk)
    states = newest_states(hull)
    state = states.get(kind)
    if state is None:
        raise Http404("The boat has no such state.")
    page = figures_page(state, on=today(hull.yard), proposed=_proposed(states))
    context = {
        "hull": hull,
        "boat_block": hull_block(hull),
        "cells": state_cells(states, kind),
        "state": state,
        "stop": stop_of(hull),
        "page": page,
        "may_correct": may_correct(request.member, state),
    }
    return render(request, "figures/page.html", context)


def _proposed(states: dict[str, SystemState]) -> SystemState | None:
    """The proposal made from the newest survey, if there is one."""
    proposed, found = states.get(StateKind.PROPOSED), states.get(StateKind.FOUND)
    return proposed if proposed and found and proposed.parent_id == found.pk else None
