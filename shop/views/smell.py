"""Fuel smelled at work: what to do at once, and the mark on the boat."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.access import workorder_get
from shop.cautions import DEFERS
from shop.forms.work import SmellForm
from shop.http import MemberRequest
from shop.selectors.work_page import stages, work_page
from shop.services.stops import stop_for_smell
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def work_smell(request: MemberRequest, pk: int) -> HttpResponse:
    """Mark the boat in one press, whatever the state of the work; back to the step it came from."""
    work_order = workorder_get(request.member, pk, "work.write")
    page = work_page(work_order, at=timezone.now())
    steps = stages(page, request.GET.get("at", ""))
    back = next((step.url for step in steps if step.is_here), page.next_url)
    form = SmellForm(request.POST if request.method == "POST" else None)
    is_new = saved(
        form,
        lambda: stop_for_smell(
            hull=work_order.job.hull, where=form.cleaned_data["where"], member=request.member
        ),
    )
    if is_new is None:
        context = {"page": page, "stages": steps, "back": back, "defers": DEFERS}
        return form_page(request, "work/smell.html", form, is_smelled=True, **context)
    new, old = _("Marked. Only a lead lifts it."), _("Marked already. Its reason stands.")
    messages.info(request, new if is_new else old)
    return redirect(back)
