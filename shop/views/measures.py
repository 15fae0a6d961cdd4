"""Heights and lengths of a whole state on one page: what a survey measures first."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from shop.exceptions import Refused
from shop.forms.measures import MeasuresForm
from shop.forms.measuresdrawn import drawn_parts
from shop.http import MemberRequest
from shop.models import SubjectKind, SystemState
from shop.numbering import local_day
from shop.selectors.measures_page import MeasuresPage, measures_page
from shop.views.corrected import corrections_saved
from shop.views.facts import state_to_correct, state_url
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def measures_edit(request: MemberRequest, pk: int) -> HttpResponse:
    """One table of all that is measured with a tape, saved as one act."""
    state = state_to_correct(request.member, pk)
    page = measures_page(state)
    if page.freeze is not None and not page.parts:
        raise Refused(page.freeze.words)
    form = MeasuresForm(
        request.POST if request.method == "POST" else None,
        parts=page.parts,
        today=local_day(timezone.now(), request.member.yard.time_zone),
    )
    if not form.is_valid():
        return _page(request, state, page, form)
    route = route_asked(request.POST, page)
    changes = corrections_saved(request, state, form, quietly=bool(route))
    if changes is None:
        return _page(request, state, page, form)
    if route:
        own = sum(1 for change in changes if change.state_id == state.pk)
        return _to_route(request, state, route, saved=own)
    # Back to the boat, where the strip says what was set and takes it back.
    return redirect(state_url(state, change=changes[0].pk if changes else None))


def route_asked(sent: QueryDict, page: MeasuresPage) -> str:
    """The run whose route is opened next; nothing where another button was pressed."""
    runs = {part.ident for part in page.parts if part.kind == SubjectKind.SEGMENT}
    asked = sent.get("route", "")
    return asked if asked in runs else ""


def _to_route(
    request: MemberRequest, state: SystemState, ident: str, *, saved: int
) -> HttpResponse:
    """On to the page of a run, where its route is entered, with word of what was saved."""
    if saved:
        words = ngettext(
            "%(n)s measurement was saved on the way here.",
            "%(n)s measurements were saved on the way here.",
            saved,
        )
        messages.success(request, words % {"n": saved})
    url = reverse("facts_edit", args=[state.pk, SubjectKind.SEGMENT, ident])
    return redirect(f"{url}#g-route")


def _page(
    request: MemberRequest, state: SystemState, page: MeasuresPage, form: MeasuresForm
) -> HttpResponse:
    context = {
        "state": state,
        "hull": state.hull,
        "parts": drawn_parts(form),
        "freeze": page.freeze,
        "back": state_url(state),
    }
    if not form.is_bound:
        return render(request, "boat/measures.html", {"form": form, **context})
    return form_page(request, "boat/measures.html", form, **context)
