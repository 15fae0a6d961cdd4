"""Make the PDF of an issued document: the table of render jobs decides, the worker only asks it.

1. A job is leased by a conditional update; of two workers exactly one changes the row.
2. The PDF is written to the file store and synced.
3. One transaction marks the job done, if the lease still holds, and puts the PDF's hash on the
   document. Without that transaction the file is nobody's and is thrown away.
"""

from __future__ import annotations

import logging
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from shop.bell import ring_on_commit
from shop.documents.registry import PaperUnknown, paper_html
from shop.failpoints import failpoint, failpoint_on_commit
from shop.files import KeptFile, file_discard, file_keep, file_read
from shop.models import Document, Member, RenderJob, RenderState, StoredFile
from shop.rendering.pdf import PaperRefused, Pdf, pdf_make
from shop.services.audit import audit_append

logger = logging.getLogger(__name__)

MOST_ATTEMPTS = 3
# Beyond the child's own time limit: what it may take to start, sync the file and commit.
LEASE_MARGIN_SECONDS = 15
REASON_LENGTH = 500


@dataclass(frozen=True)
class Lease:
    job_id: int
    document_id: int
    lease_id: uuid.UUID


def renderjob_ensure(*, document: Document) -> RenderJob:
    """Return the document's render job; an issued document has exactly one revision to render."""
    job, _ = RenderJob.objects.get_or_create(document=document, revision=1)
    return job


def renderjob_lease(*, now: datetime) -> Lease | None:
    """Lease the next queued job, or return nothing when none is queued."""
    until = now + timedelta(seconds=settings.RENDER_SECONDS + LEASE_MARGIN_SECONDS)
    queued = RenderJob.objects.filter(state=RenderState.QUEUED)
    # A job that already failed waits behind those that have not been tried.
    while (job := queued.order_by("attempt", "pk").first()) is not None:
        lease = Lease(job.pk, job.document_id, uuid.uuid4())
        changed = queued.filter(pk=job.pk).update(
            state=RenderState.LEASED,
            leased_until=until,
            lease_id=lease.lease_id,
            attempt=F("attempt") + 1,
        )
        if changed == 1:
            failpoint("render.leased")
            return lease
    return None


def renderjob_run(*, lease: Lease) -> None:
    """Render one leased job to its end: done, queued again, or dead with the reason."""
    try:
        document = Document.objects.get(pk=lease.document_id)
        pdf = document_pdf(document)
    except (PaperRefused, PaperUnknown) as error:
        renderjob_fail(lease=lease, reason=str(error), final=True)
        return
    failpoint("render.made")
    kept = file_keep(settings.FILES_DIR, pdf.data)
    failpoint("render.file kept")
    if not renderjob_finish(lease=lease, kept=kept, pages=pdf.pages, now=timezone.now()):
        discard_unless_used(kept, lease.document_id)


def document_pdf(document: Document) -> Pdf:
    from shop.rendering.fetcher import PaperFetcher

    def stored(file_id: int) -> tuple[str, bytes] | None:
        row = StoredFile.objects.filter(pk=file_id, yard_id=document.yard_id).first()
        if row is None:
            return None
        return row.content_type, file_read(settings.FILES_DIR, row.sha256)

    return pdf_make(paper_html(document), PaperFetcher(list(static_roots()), stored))


def static_roots() -> tuple[Path, ...]:
    """Where packaged assets lie: collected under hashed names, or as they were written."""
    return (settings.STATIC_ROOT, *settings.STATICFILES_DIRS)


def renderjob_finish(*, lease: Lease, kept: KeptFile, pages: int, now: datetime) -> bool:
    """Publish the PDF, or return False when the lease was lost to another worker meanwhile."""
    with transaction.atomic():
        failpoint_on_commit("render.committed")
        changed = held(lease).update(
            state=RenderState.DONE,
            leased_until=None,
            pdf_sha256=kept.sha256,
            pages_done=pages,
            pages_total=pages,
            finished_at=now,
            reason="",
        )
        if changed != 1:
            return False
        unset = Document.objects.filter(pk=lease.document_id, pdf_sha256="")
        unset.update(pdf_sha256=kept.sha256, pdf_size=kept.size)
        failpoint("render.before commit")
    return True


def renderjob_fail(*, lease: Lease, reason: str, final: bool = False) -> None:
    """Queue the job again, or give it up: at once when `final`, else after the last attempt."""
    job = held(lease).first()
    if job is None:
        return
    dead = final or job.attempt >= MOST_ATTEMPTS
    held(lease).update(
        state=RenderState.DEAD if dead else RenderState.QUEUED,
        leased_until=None,
        reason=(reason or "It failed without a message.")[:REASON_LENGTH],
    )
    logger.warning("Render job %d, attempt %d: %s", job.pk, job.attempt, reason)


@transaction.atomic
def renderjob_retry(*, job: RenderJob, member: Member) -> bool:
    """Queue a dead job once more, on a person's word; True when it was dead."""
    dead = RenderJob.objects.filter(pk=job.pk, state=RenderState.DEAD)
    if dead.update(state=RenderState.QUEUED, attempt=0, reason="") != 1:
        return False
    audit_append(
        yard=job.document.yard, member=member, action="document.render", subject=job.document
    )
    ring_on_commit()
    return True


def renderjobs_requeue_expired(*, now: datetime) -> int:
    """Free every job whose worker has not been heard of since its lease ran out."""
    expired = RenderJob.objects.filter(state=RenderState.LEASED, leased_until__lt=now)
    leases = [Lease(job.pk, job.document_id, job.lease_id or uuid.uuid4()) for job in expired]
    for lease in leases:
        renderjob_fail(lease=lease, reason="Its worker stopped before it was done.")
    return len(leases)


def held(lease: Lease) -> QuerySet[RenderJob]:
    return RenderJob.objects.filter(
        pk=lease.job_id, state=RenderState.LEASED, lease_id=lease.lease_id
    )


def discard_unless_used(kept: KeptFile, document_id: int) -> None:
    """Throw a second finisher's file away, once the document has one of other bytes.

    While it has none, whoever holds the lease now may be about to name the very same file:
    two renders of one document make the same bytes.
    """
    given = Document.objects.filter(pk=document_id).exclude(pdf_sha256="").exists()
    if given and not Document.objects.filter(pdf_sha256=kept.sha256).exists():
        file_discard(settings.FILES_DIR, kept.sha256)
