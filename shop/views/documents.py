"""Issued papers: how far a PDF is, the PDF itself, another try for one that failed."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from shop.access import document_get, renderjob_get
from shop.files import file_read
from shop.http import MemberRequest
from shop.models import Document, DocumentKind
from shop.services.rendering import renderjob_retry
from shop.views.idempotent import idempotent

OF_THE_JOB = (
    DocumentKind.WORK_ORDER,
    DocumentKind.COMPLETION,
    DocumentKind.TAGS,
    DocumentKind.ADDENDUM,
)


@require_GET
def document_status(request: MemberRequest, pk: int) -> HttpResponse:
    """The line under an issued paper; it asks again by itself until the PDF is there."""
    document = document_get(request.member, pk)
    return render(request, "documents/_status.html", status_context(document))


@require_GET
def document_pdf(request: MemberRequest, pk: int) -> HttpResponse:
    """The stored bytes; never made anew."""
    document = document_get(request.member, pk)
    if not document.pdf_sha256:
        raise Http404("The PDF is not there yet.")
    response = HttpResponse(
        file_read(settings.FILES_DIR, document.pdf_sha256), content_type="application/pdf"
    )
    name = f"{document.number}-v{document.version}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
@idempotent
def document_again(request: MemberRequest, pk: int) -> HttpResponse:
    """Another try for a paper whose PDF failed."""
    job = renderjob_get(request.member, pk, "document.render")
    renderjob_retry(job=job, member=request.member)
    return redirect(page_of_document(job.document))


def page_of_document(document: Document) -> str:
    """The page on which a paper stands: its invoice's, its quote's, else its boat's."""
    if document.kind in (DocumentKind.INVOICE, DocumentKind.CREDIT_NOTE):
        return reverse("invoice_detail", args=[document.invoice.pk])
    if document.kind == DocumentKind.QUOTE:
        return reverse("quote_detail", args=[document.quote_id])
    if document.kind in OF_THE_JOB:
        return reverse("job_detail", args=[document.job_id])
    if document.kind == DocumentKind.LETTER:
        return reverse("recall_detail", args=[document.recall_notice.recall_id])
    return reverse("boat_detail", args=[document.hull_id])


def status_context(document: Document) -> dict[str, object]:
    return {"document": document, "job": document.render_jobs.order_by("revision").last()}
