"""The figures of a boat's fuel system: what was computed, from what, how."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.access import boat_get, require
from shop.forms.turning import TurnForm
from shop.http import MemberRequest
from shop.models import StateKind, SystemState
from shop.selectors.boat_page import newest_states, state_cells, stop_of
from shop.selectors.evaluations import state_judged
from shop.selectors.figures_page import figures_page
from shop.selectors.hulls import hull_block
from shop.selectors.turned_cuts import TurnedCuts, turned_cuts
from shop.views.boat_page import READ_ACTS, today
from shop.views.facts import may_correct

TURNS = frozenset({"trim", "heel"})


@require_GET
def boat_figures(request: MemberRequest, pk: int, kind: str) -> HttpResponse:
    """Every figure of one state, with its inputs, assumptions, method and source."""
    require(request.member, READ_ACTS.get(StateKind(kind), "survey.read"), kind="hull", pk=str(pk))
    hull = boat_get(request.member, pk)
    states = newest_states(hull)
    state = states.get(kind)
    if state is None:
        raise Http404("The boat has no such state.")
    day = today(hull.yard)
    page = figures_page(state, on=day, proposed=_proposed(states))
    turn_form = TurnForm(request.GET if TURNS & request.GET.keys() else None)
    context = {
        "hull": hull,
        "boat_block": hull_block(hull),
        "cells": state_cells(states, kind),
        "state": state,
        "stop": stop_of(hull),
        "page": page,
        "may_correct": may_correct(request.member, state),
        "turn_form": turn_form,
        "turned": _turned(turn_form, state, day),
    }
    return render(request, "figures/page.html", context, status=422 if turn_form.errors else 200)


def _turned(form: TurnForm, state: SystemState, on: date) -> TurnedCuts | None:
    """What a trim and a heel change; None where none was asked for."""
    if form.turns is None:
        return None
    trim_deg, heel_deg = form.turns
    return turned_cuts(state_judged(state, on=on), trim_deg=trim_deg, heel_deg=heel_deg)


def _proposed(states: dict[str, SystemState]) -> SystemState | None:
    """The proposal made from the newest survey, if there is one."""
    proposed, found = states.get(StateKind.PROPOSED), states.get(StateKind.FOUND)
    return proposed if proposed and found and proposed.parent_id == found.pk else None
