"""The work order on paper: as the work stands when somebody prints it, each print a version."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from shop.models import Document, DocumentKind, Member, WorkOrder
from shop.numbering import local_day
from shop.selectors.work_page import work_page
from shop.selectors.workorder_snapshot import WORKORDER_TEMPLATE_VERSION, workorder_snapshot
from shop.services.documents import document_issue
from shop.services.locks import workorder_lock

# What differs between two prints of the same work.
OF_THE_PRINT = ("printed_at", "printed_by")


@transaction.atomic
def workorder_print(
    *, member: Member, work_order: WorkOrder, at: datetime | None = None
) -> Document:
    """Issue the work order's paper, or return the last one where nothing has changed since."""
    work_order = workorder_lock(work_order)
    at = at or timezone.now()
    page = work_page(work_order, at=at)
    snapshot = workorder_snapshot(page, printed_by=member, at=at)
    job = work_order.job
    # By number: a job whose work order was cancelled may have a second one, printed under it.
    printed = Document.objects.filter(
        yard=work_order.yard, kind=DocumentKind.WORK_ORDER, number=job.number
    ).order_by("version")
    last = printed.last()
    if last is not None and _work(json.loads(last.snapshot)) == _work(snapshot):
        return last
    return document_issue(
        member=member,
        kind=DocumentKind.WORK_ORDER,
        number=job.number,
        version=last.version + 1 if last else 1,
        hull=job.hull,
        job=job,
        document_date=local_day(at, work_order.yard.time_zone),
        issued_at=at,
        snapshot=snapshot,
        template_version=WORKORDER_TEMPLATE_VERSION,
    )


def _work(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    return {name: said for name, said in snapshot.items() if name not in OF_THE_PRINT}
