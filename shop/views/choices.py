"""One choice of hose for the whole boat: two answers, each proposed by one press."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.access import may, state_get
from shop.exceptions import FactError, Refused
from shop.forms.proposals import ChoiceForm
from shop.http import MemberRequest
from shop.models import StateKind, SystemState
from shop.selectors.boat_choice import ChoicePage, choice_page
from shop.selectors.hulls import hull_block
from shop.services.proposals import boat_propose
from shop.views.boat_page import today
from shop.views.facts import may_correct, state_url
from shop.views.idempotent import idempotent


@require_GET
def boat_choice(request: MemberRequest, pk: int) -> HttpResponse:
    """Least cost and fewest reels side by side."""
    state = _proposed(request, pk)
    return _page(request, state, choice_page(state, on=today(state.hull.yard)))


@require_POST
@idempotent
def choice_propose(request: MemberRequest, pk: int) -> HttpResponse:
    """Propose all of one answer, as it was seen, as one act."""
    state = _proposed(request, pk)
    on = today(state.hull.yard)
    page = choice_page(state, on=on)
    form = ChoiceForm(request.POST)
    if not form.is_valid():
        form.add_error(None, _("Nothing was chosen. Press the button beneath one of the answers."))
        return _page(request, state, page, form)
    answer = page.answer(form.cleaned_data["objective"])
    if answer is None or answer.seen != form.cleaned_data["seen"]:
        words = _("The proposal or a price changed meanwhile. This is the choice as it is now.")
        form.add_error(None, words)
        return _page(request, state, page, form)
    try:
        changes = boat_propose(state=state, picks=dict(answer.picks), on=on, member=request.member)
    except (Refused, FactError) as error:
        form.add_error(None, str(error))
        return _page(request, state, page, form)
    return redirect(state_url(state, change=changes[0].pk if changes else None))


def _proposed(request: MemberRequest, pk: int) -> SystemState:
    state = state_get(request.member, pk, "proposal.write")
    if state.kind != StateKind.PROPOSED:
        raise Http404("Hose is chosen in a proposal.")
    return state


def _page(
    request: MemberRequest, state: SystemState, page: ChoicePage, form: ChoiceForm | None = None
) -> HttpResponse:
    context = {
        "hull": state.hull,
        "boat_block": hull_block(state.hull),
        "state": state,
        "page": page,
        "form": form,
        "may_correct": may_correct(request.member, state),
        "may_see_cost": may(request.member, "price.write"),
    }
    return render(request, "boat/choice.html", context, status=422 if form else 200)
