"""Fuel smelled at work: what to do at once, and the mark on the boat.

The mark hangs on nothing else: neither this page nor the act reads the record of the work, and
where the person goes on is worked out when the mark is kept.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from shop.access import workorder_get
from shop.cautions import DEFERS
from shop.forms.work import SmellForm
from shop.http import MemberRequest
from shop.models import WorkOrder
from shop.selectors.smells import stop_standing
from shop.selectors.work_page import stages, work_page
from shop.services.smells import Smell, smell_tell
from shop.views.idempotent import idempotent

logger = logging.getLogger(__name__)

OLD = gettext_lazy("Marked already. Its reason stands.")
SAID = {
    Smell.MARKED: (gettext_lazy("Marked. Only a lead lifts it."),),
    Smell.NOTED: (OLD, gettext_lazy("The smell is noted for whoever lifts the mark.")),
    Smell.LOGGED: (
        OLD,
        gettext_lazy("The time is kept, the place is not: this work is closed. Tell a lead where."),
    ),
}


@dataclass(frozen=True)
class SmellPage:
    """What the frame of the work's pages needs here."""

    work_order: WorkOrder
    stop: str


@require_http_methods(["GET", "POST"])
def work_smell(request: MemberRequest, pk: int) -> HttpResponse:
    """Mark the boat in one press, whatever the state of the work; back to the step it came from."""
    if request.method == "POST":
        answer = _tell(request, pk)
        return _go_on(request, pk) if answer.status_code == 302 else answer
    work_order = workorder_get(request.member, pk, "work.write")
    stop = stop_standing(work_order.job.hull)
    context = {
        "form": SmellForm(is_marked=stop is not None),
        "page": SmellPage(work_order, stop.reason if stop else ""),
        "back": _back(request, work_order) or reverse("job_list"),
        "defers": DEFERS,
        "is_smelled": True,
    }
    return render(request, "work/smell.html", context)


@idempotent
def _tell(request: MemberRequest, pk: int) -> HttpResponse:
    work_order = workorder_get(request.member, pk, "work.write")
    where = SmellForm(request.POST).place()
    smell = smell_tell(work_order=work_order, where=where, member=request.member)
    messages.info(request, " ".join(map(str, SAID[smell])))
    return redirect("work_smell", pk)


def _go_on(request: MemberRequest, pk: int) -> HttpResponse:
    """Back to the work; where the form came again after a lift it marked nothing, and that is said.

    The mark is committed: what fails here undoes nothing, and this page then shows the mark.
    """
    work_order = workorder_get(request.member, pk, "work.write")
    if stop_standing(work_order.job.hull) is None:
        list(messages.get_messages(request))  # what was said of a mark that stands no more
        words = _("She is not marked: this was sent before, and a lead has lifted that mark.")
        messages.warning(request, f"{words} {_('If you smell fuel now, mark her here.')}")
        return redirect(request.get_full_path())
    return redirect(_back(request, work_order) or reverse("work_smell", args=[pk]))


def _back(request: MemberRequest, work_order: WorkOrder) -> str:
    """The step that the person came from, else where the work goes on; blank if untold."""
    try:
        page = work_page(work_order, at=timezone.now())
        steps = stages(page, request.GET.get("at", ""))
        return next((step.url for step in steps if step.is_here), page.next_url)
    except Exception:
        logger.exception("Work order %s: the way back from a smell cannot be told", work_order.pk)
        return ""
