"""Heights and lengths of a whole state on one page: what a survey measures first."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.exceptions import Refused
from shop.forms.measures import MeasuresForm
from shop.forms.measuresdrawn import drawn_parts
from shop.http import MemberRequest
from shop.models import SystemState
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
    changes = corrections_saved(request, state, form)
    if changes is None:
        return _page(request, state, page, form)
    # Back to the boat, where the strip says what was set and takes it back.
    return redirect(state_url(state, change=changes[0].pk if changes else None))


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
