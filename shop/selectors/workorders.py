"""Jobs as their list shows them: how far each is, and what waits."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.models import Job, WorkOrder, WorkOrderStatus, Yard
from shop.selectors.authorized import planned_work
from shop.selectors.blockers import DONE
from shop.selectors.folding import work_folded
from shop.selectors.items import item_idents
from shop.work.safe import steps_left


@dataclass(frozen=True)
class JobRow:
    job: Job
    work_order: WorkOrder | None
    words: str
    waits: str  # what a lead has to decide


def job_list(*, yard: Yard, words: str = "") -> QuerySet[Job]:
    """Jobs, newest first; every word must occur in number, boat or owner."""
    rows = Job.objects.filter(yard=yard).select_related("hull__customer")
    for word in words.split():
        rows = rows.filter(
            Q(number__icontains=word)
            | Q(hull__name__icontains=word)
            | Q(hull__customer__name__icontains=word)
        )
    return rows.order_by("-opened_on", "-number")


def job_row(job: Job) -> JobRow:
    work_order = job_order(job)
    if work_order is None:
        return JobRow(job, None, _("Not authorized yet"), "")
    if work_order.status != WorkOrderStatus.OPEN:
        return JobRow(job, work_order, str(work_order.get_status_display()), "")
    folded = work_folded(work_order)
    idents = [*planned_work(work_order), *item_idents(work_order)]
    done = sum(folded.segment(ident).state in DONE for ident in idents)
    counted = {"done": done, "all": len(idents)}
    progress = _("%(done)s of %(all)s done or put off") % counted
    if steps_left(folded.steps):
        progress = _("Not made safe yet")
    waiting = len(folded.held) + len(folded.reviews)
    waits = ngettext("%(n)s decision waits", "%(n)s decisions wait", waiting) % {"n": waiting}
    return JobRow(job, work_order, progress, waits if waiting else "")


def job_order(job: Job) -> WorkOrder | None:
    """The job's work order: the open one, else the newest."""
    rows = WorkOrder.objects.filter(job=job).select_related(
        "job__hull__customer", "proposed__hull__yard", "option__quote", "yard"
    )
    return rows.filter(status=WorkOrderStatus.OPEN).first() or rows.order_by("-pk").first()
