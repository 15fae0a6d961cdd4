"""Starting a survey: from a layout, from what was there before, or from a document."""

from __future__ import annotations

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from fuelsys.document import InputProblems
from shop.access import boat_get, state_get, survey_get
from shop.exceptions import Conflict, FactError, Refused
from shop.forms.surveys import BACK, COPY, DOCUMENT, KEEP, LAYOUT, FuelForm, SurveyForm
from shop.http import MemberRequest
from shop.models import Hull, StateKind, Survey, SystemState
from shop.selectors.incoming import Incoming, incoming_of
from shop.services.layouts import (
    document_of,
    state_to_start_from,
    survey_from_layout,
    survey_from_state,
    survey_from_text,
)
from shop.services.surveys import grade_confirm, survey_fuel_answer
from shop.views.boat_page import today
from shop.views.facts import state_url
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def survey_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Begin a survey of the boat."""
    hull = boat_get(request.member, pk, "survey.write")
    earlier = state_to_start_from(hull)
    form = SurveyForm(
        request.POST or None,
        request.FILES or None,
        today=today(hull.yard),
        copied=_copied_words(earlier),
    )
    started = _started(request, hull, earlier, form)
    if isinstance(started, Incoming):
        context = {"form": form, "hull": hull, "incoming": started}
        return render(request, "boat/survey_confirm.html", context, status=HTTPStatus.CONFLICT)
    if started is None:
        return form_page(request, "boat/survey.html", form, hull=hull, earlier=earlier)
    measures = reverse("measures_edit", args=[started.state_id])
    words, link = _("The survey is begun. Correct it by measurement:"), _("Heights and lengths")
    messages.success(request, format_html('{} <a href="{}">{}</a>', words, measures, link))
    return redirect("boat_state", hull.pk, "found")


@require_POST
@idempotent
def survey_fuel_seen(request: MemberRequest, pk: int) -> HttpResponse:
    """Answer whether fuel is smelled or seen, where the survey was begun without."""
    survey = survey_get(request.member, pk, "survey.write")
    form = FuelForm(request.POST)
    if not form.is_valid():
        raise Refused(_("No answer was given. Say yes or no."))
    said = form.cleaned_data["fuel_seen"]
    try:
        survey_fuel_answer(survey=survey, fuel_seen=said, member=request.member)
    except Refused as error:
        messages.warning(request, str(error))
    return redirect("boat_state", survey.hull_id, StateKind.FOUND)


@require_POST
@idempotent
def segment_seen(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    """A grade that was carried over, confirmed by whoever looked at the hose."""
    state = state_get(request.member, pk, "fact.write")
    get_object_or_404(state.segments, ident=ident)
    grade = request.POST.get("grade", "")
    try:
        made = grade_confirm(state=state, ident=ident, grade=grade, member=request.member)
    except (Conflict, FactError, Refused) as error:
        messages.warning(request, str(error))
        return redirect("boat_state", state.hull_id, state.kind)
    return redirect(f"{state_url(state, change=made[0].pk)}#carried")


def _copied_words(earlier: SystemState | None) -> str:
    if earlier is None:
        return ""
    if earlier.kind == StateKind.INSTALLED:
        return _("What was installed")
    return _("What the survey before found")


def _started(
    request: MemberRequest, hull: Hull, earlier: SystemState | None, form: SurveyForm
) -> Survey | Incoming | None:
    """The survey that was begun; what is to be confirmed first; None while the form is wrong."""
    if not form.is_bound or not form.is_valid() or form.boat_facts == BACK:
        return None
    try:
        if incoming := _to_confirm(hull, form):
            return incoming
        return _start(request, hull, earlier, form)
    except InputProblems as problems:
        form.take_problems(problems)
    except FactError as error:
        form.add_error(None, [f"{each.path}: {each.message}" for each in error.problems])
    return None


def _to_confirm(hull: Hull, form: SurveyForm) -> Incoming | None:
    """A document that says otherwise of the boat than her file, until someone has decided."""
    if form.cleaned_data["source"] != DOCUMENT or form.boat_facts:
        return None
    incoming = incoming_of(hull, document_of(form.cleaned_data["text"]))
    return incoming if incoming.needs_a_look else None


def _start(
    request: MemberRequest, hull: Hull, earlier: SystemState | None, form: SurveyForm
) -> Survey:
    data = form.cleaned_data
    common = {name: data[name] for name in ("surveyed_on", "fuel_seen", "complaint", "notes")}
    if data["source"] == COPY and earlier is not None:
        return survey_from_state(state=earlier, member=request.member, **common)
    if data["source"] == LAYOUT:
        return survey_from_layout(
            hull=hull,
            layout=data["layout"],
            generator=data["generator"],
            member=request.member,
            **common,
        )
    return survey_from_text(
        hull=hull,
        text=data["text"],
        keep_boat=form.boat_facts == KEEP,
        member=request.member,
        **common,
    )
