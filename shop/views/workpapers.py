"""The work order on paper: its prints, and the button that makes another."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.access import may, workorder_get
from shop.http import MemberRequest
from shop.models import Document, DocumentKind
from shop.selectors.work_page import stages, work_page
from shop.services.workpapers import workorder_print
from shop.views.documents import status_context
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def work_paper(request: MemberRequest, pk: int) -> HttpResponse:
    """What was printed of this work order; a print holds the work as it stands then."""
    act = "job.read" if request.method == "GET" else "workorder.print"
    work_order = workorder_get(request.member, pk, act)
    if request.method == "POST":
        workorder_print(member=request.member, work_order=work_order)
        return redirect("work_paper", pk)
    page = work_page(work_order, at=timezone.now())
    printed = Document.objects.filter(job=work_order.job, kind=DocumentKind.WORK_ORDER)
    context = {
        "page": page,
        "stages": stages(page, "paper"),
        "papers": [status_context(paper) for paper in printed.order_by("-version")],
        "may_print": may(request.member, "workorder.print"),
    }
    return render(request, "work/paper.html", context)
