"""Correcting what a survey found or a proposal plans, and taking it back."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shop.access import change_get, may, require, state_get
from shop.exceptions import Conflict, FactError, Refused
from shop.forms.factdrawn import drawn_groups
from shop.forms.factgroups import groups_of
from shop.forms.facts import FactsForm, Subject
from shop.forms.factsent import rows_moved
from shop.http import MemberRequest
from shop.models import Member, StateKind, SubjectKind, SystemState
from shop.numbering import local_day
from shop.selectors.facts_page import FactsPage, facts_page
from shop.selectors.frozen import state_freeze
from shop.services.corrections import batch_of, fact_undo
from shop.views.corrected import corrections_saved
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent

ROW = "row"


@require_http_methods(["GET", "POST"])
def facts_edit(request: MemberRequest, pk: int, kind: str, ident: str) -> HttpResponse:
    """All facts of one part of a system. Rows are added and removed without saving anything."""
    if request.method == "POST" and ROW in request.POST:
        state, page = _subject(request, pk, kind, ident)
        form = _form(request, page, bound=True)
        typed = rows_moved(form.typed(), request.POST[ROW], form)
        return _page(request, state, page, _form(request, page, typed=typed))
    return _facts_save(request, pk, kind, ident)


@idempotent
def _facts_save(request: MemberRequest, pk: int, kind: str, ident: str) -> HttpResponse:
    state, page = _subject(request, pk, kind, ident)
    form = _form(request, page, bound=request.method == "POST")
    if not form.is_bound or not form.is_valid():
        return _page(request, state, page, form)
    changes = corrections_saved(request, state, form)
    if changes is None:
        return _page(request, state, page, form)
    return redirect(state_url(state, kind, ident, change=changes[0].pk if changes else None))


@require_POST
@idempotent
def change_undo(request: MemberRequest, pk: int) -> HttpResponse:
    """Take back one act of correction, whole."""
    change = change_get(request.member, pk)
    for state in {each.state for each in batch_of(change)}:
        require_write(request.member, state)
    try:
        undone = fact_undo(change=change, member=request.member)
    except (Conflict, FactError) as error:
        messages.warning(request, str(error))
        return redirect(state_url(change.state, change.subject_kind, change.ident))
    own = next(each for each in undone if each.state_id == change.state_id)
    return redirect(state_url(change.state, change.subject_kind, change.ident, change=own.pk))


def require_write(member: Member, state: SystemState) -> None:
    """Who corrects a proposal, proposes; what was found is anyone's to correct who measures."""
    act = "proposal.write" if state.kind == StateKind.PROPOSED else "fact.write"
    require(member, act, kind="systemstate", pk=str(state.pk))


def state_to_correct(member: Member, pk: int) -> SystemState:
    """A state whose facts this member corrects."""
    state = state_get(member, pk, "fact.write")
    require_write(member, state)
    if state.kind == StateKind.INSTALLED:
        raise Refused(_("What was installed is a record. Correct it in the next survey."))
    return state


def may_correct(member: Member, state: SystemState, kind: str = "", ident: str = "") -> bool:
    """Whether to offer corrections of a state, or of one part of it."""
    if state.kind == StateKind.INSTALLED:
        return False
    freeze = state_freeze(state)
    if freeze is not None and (not kind or freeze.holds(kind, ident)):
        return False
    return may(member, "proposal.write" if state.kind == StateKind.PROPOSED else "fact.write")


def state_url(
    state: SystemState, kind: str = "", ident: str = "", *, change: int | None = None
) -> str:
    """The boat's page in a state, with what is chosen on it."""
    asked: dict[str, str] = {}
    if kind == SubjectKind.SEGMENT:
        asked["segment"] = ident
    elif kind and kind != SubjectKind.FUEL:
        asked["part"] = ident
    if change is not None:
        asked["change"] = str(change)
    url = reverse("boat_state", args=[state.hull_id, state.kind])
    return f"{url}?{urlencode(asked)}" if asked else url


def _subject(
    request: MemberRequest, pk: int, kind: str, ident: str
) -> tuple[SystemState, FactsPage]:
    state = state_to_correct(request.member, pk)
    page = facts_page(state, kind, ident)
    if page is None:
        raise Http404("There is no such part.")
    freeze = state_freeze(state)
    if freeze is not None and freeze.holds(kind, ident):
        raise Refused(freeze.words)
    return state, page


def _form(
    request: MemberRequest,
    page: FactsPage,
    *,
    bound: bool = False,
    typed: dict[str, object] | None = None,
) -> FactsForm:
    return FactsForm(
        request.POST if bound else None,
        subject=Subject(page.kind, page.ident, page.facts, page.columns, page.section),
        groups=groups_of(page.kind, str(page.facts.get("kind", ""))),
        names=page.names,
        typed=typed,
        today=local_day(timezone.now(), request.member.yard.time_zone),
        ports=page.ports,
        runs=page.runs,
    )


def _page(
    request: MemberRequest, state: SystemState, page: FactsPage, form: FactsForm
) -> HttpResponse:
    context = {
        "state": state,
        "hull": state.hull,
        "page": page,
        "groups": drawn_groups(form, first=page.first, last=page.last),
        "back": state_url(state, page.kind, page.ident),
    }
    if not form.is_bound:
        return render(request, "boat/facts.html", {"form": form, **context})
    return form_page(request, "boat/facts.html", form, **context)
