"""The end of a job: what is still open, the signature, addenda."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.access import completion_get, may, workorder_get
from shop.forms.completion import AddendumForm, SignForm
from shop.http import MemberRequest
from shop.models import Document, DocumentKind
from shop.selectors.mails import paper_mail
from shop.selectors.owner_page import OWNER_KINDS, what_is_left
from shop.selectors.work_page import stages, work_page
from shop.services.completions import addendum_write, completion_sign
from shop.views.documents import status_context
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def work_complete(request: MemberRequest, pk: int) -> HttpResponse:
    """What is still open; once nothing is, the lead signs."""
    act = "job.read" if request.method == "GET" else "work.complete"
    work_order = workorder_get(request.member, pk, act)
    page = work_page(work_order, at=timezone.now())
    form = SignForm(
        request.POST or None, is_stopped=bool(page.stop), is_called_back=bool(page.called_back)
    )
    if request.method == "POST":
        signed = saved(
            form,
            lambda: completion_sign(member=request.member, work_order=work_order, **form.word()),
        )
        if signed is not None:
            return redirect("work_complete", pk)
    kinds = (DocumentKind.COMPLETION, DocumentKind.TAGS, DocumentKind.ADDENDUM)
    papers = Document.objects.filter(job=work_order.job, kind__in=kinds).order_by("issued_at")
    context = {
        "page": page,
        "stages": stages(page, "record"),
        "completion": page.completion,
        "left": what_is_left(work_order.job) if page.stop else (),
        "papers": [_paper(paper) for paper in papers],
        "may_send": may(request.member, "mail.send"),
        "may_sign": page.is_open and may(request.member, "work.complete"),
        "may_add": may(request.member, "work.complete"),
    }
    return form_page(request, "work/complete.html", form, **context)


def _paper(document: Document) -> dict[str, object]:
    """A paper of the job, how far it is, and whether the owner was told of it."""
    return {
        **status_context(document),
        "is_for_owner": document.kind in OWNER_KINDS,
        "mail": paper_mail(document),
    }


@require_http_methods(["GET", "POST"])
@idempotent
def addendum_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Add to a signed record, or correct it, on a paper of its own."""
    completion = completion_get(request.member, pk, "work.complete")
    form = AddendumForm(request.POST or None)
    addendum = saved(
        form,
        lambda: addendum_write(
            member=request.member, completion=completion, text=form.cleaned_data["text"]
        ),
    )
    if addendum is None:
        page = work_page(completion.work_order, at=timezone.now())
        context = {"page": page, "stages": stages(page, "record"), "completion": completion}
        return form_page(request, "work/addendum.html", form, **context)
    return redirect("work_complete", completion.work_order_id)
