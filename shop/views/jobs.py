"""Jobs: the list, and one job with its boat, work, decisions and papers."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from shop.access import job_get, may, require, workorder_get
from shop.forms.work import DecisionForm, ReasonForm
from shop.http import MemberRequest
from shop.models import Document, DocumentKind, Job, Member
from shop.selectors.hulls import hull_block
from shop.selectors.job_acts import job_acts
from shop.selectors.work_page import WorkPage, work_page
from shop.selectors.workorders import job_list, job_order, job_row
from shop.services.events import desk_event
from shop.services.workorders import workorder_cancel
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent
from shop.views.paging import page_of
from shop.work.model import Event, Review

# In the order of a job; its quotes stand before them, with what became of each.
PAPERS = (
    DocumentKind.WORK_ORDER,
    DocumentKind.CHANGE_ORDER,
    DocumentKind.COMPLETION,
    DocumentKind.TAGS,
    DocumentKind.ADDENDUM,
    DocumentKind.INVOICE,
    DocumentKind.CREDIT_NOTE,
    DocumentKind.LETTER,
)
MONEY = {DocumentKind.INVOICE, DocumentKind.CREDIT_NOTE}


@require_GET
def jobs_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "job.read")
    words = request.GET.get("q", "").strip()
    page = page_of(request, job_list(yard=request.member.yard, words=words))
    rows = [job_row(job) for job in page]
    return render(request, "jobs/list.html", {"page": page, "rows": rows, "words": words})


@require_GET
def job_detail(request: MemberRequest, pk: int) -> HttpResponse:
    """One job: where the work goes on, what was done, what waits for a decision."""
    return _page(request, job_get(request.member, pk))


@require_POST
@idempotent
def work_decide(request: MemberRequest, pk: int) -> HttpResponse:
    """A lead decides on a record that waits, or on two that do not go together."""
    work_order = workorder_get(request.member, pk, "work.decide")
    form = DecisionForm(request.POST)
    if not form.is_valid():
        return _page(request, work_order.job, refused=form)
    desk_event(
        member=request.member,
        work_order=work_order,
        kind="decide",
        payload=form.payload(),
        text=form.cleaned_data["text"],
        now=timezone.now(),
    )
    return redirect("job_detail", work_order.job_id)


@require_POST
@idempotent
def work_cancel(request: MemberRequest, pk: int) -> HttpResponse:
    work_order = workorder_get(request.member, pk, "work.complete")
    workorder_cancel(member=request.member, work_order=work_order)
    return redirect("job_detail", work_order.job_id)


def _page(request: MemberRequest, job: Job, refused: DecisionForm | None = None) -> HttpResponse:
    work_order = job_order(job)
    page = work_page(work_order, at=timezone.now()) if work_order else None
    context = {
        "job": job,
        "boat_block": hull_block(job.hull),
        "page": page,
        "waiting": _waiting(page, refused) if page else [],
        "acts": job_acts(request.member, job, page),
        "papers": _papers(request.member, job),
        "quotes": job.quotes.order_by("-version"),
        "lift": ReasonForm(),
    }
    if refused is not None:
        return form_page(request, "jobs/detail.html", refused, **context)
    return render(request, "jobs/detail.html", context)


def _papers(member: Member, job: Job) -> list[Document]:
    """The job's papers that the member may read, in the order of the job, oldest first."""
    kinds = [kind for kind in PAPERS if kind not in MONEY or may(member, "invoice.read")]
    rows = Document.objects.filter(job=job, kind__in=kinds).order_by("issued_at", "pk")
    return sorted(rows, key=lambda paper: PAPERS.index(DocumentKind(paper.kind)))


def _waiting(
    page: WorkPage, refused: DecisionForm | None
) -> list[tuple[Review | Event, DecisionForm]]:
    """Everything that a lead decides, each with its form."""
    folded = page.folded
    waiting: list[tuple[Review | Event, str]] = [
        *((review, " ".join(sorted(review.keys))) for review in folded.reviews),
        *((event, event.key) for event in folded.held),
    ]
    return [(item, _decision(keys, refused)) for item, keys in waiting]


def _decision(keys: str, refused: DecisionForm | None) -> DecisionForm:
    if refused is not None and refused.data.get("events") == keys:
        return refused
    return DecisionForm(initial={"events": keys, "accept": "yes"}, auto_id=f"id_{keys}_%s")
