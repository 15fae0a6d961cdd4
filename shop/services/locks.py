"""Row locks, taken in one order so that no two services wait for each other.

The order: first the object worked on (quote, job, change order, render job; state, then its
hull; hull, then its survey; the desk, then a work order, then the reels it takes from and its
hull), then the yard, then a number series. The yard's lock is what serializes numbers and the
audit log. On SQLite the transaction is IMMEDIATE and holds the whole file: the queries below
only read.
"""

from __future__ import annotations

from collections.abc import Iterable

from shop.models import ChangeOrder, Hull, Job, Quote, Reel, Survey, SystemState, WorkOrder, Yard


def yard_lock(yard: Yard) -> None:
    # NO KEY: rows that refer to the yard may be inserted meanwhile. A plain FOR UPDATE
    # would deadlock two transactions that have both inserted such a row.
    Yard.objects.select_for_update(no_key=True).only("pk").get(pk=yard.pk)


def hull_lock(hull: Hull) -> Hull:
    """The boat as it is now, held until the transaction ends."""
    rows = Hull.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("yard").get(pk=hull.pk)


def state_lock(state: SystemState) -> SystemState:
    """The state and its boat as they are now, held until the transaction ends."""
    rows = SystemState.objects.select_for_update(no_key=True, of=("self",))
    locked = rows.get(pk=state.pk)
    locked.hull = hull_lock(locked.hull)
    return locked


def states_lock(states: Iterable[SystemState]) -> None:
    """Hold several states of a boat, before the boat: one who holds one of them waits for none."""
    keys = {state.pk for state in states}
    rows = SystemState.objects.select_for_update(no_key=True, of=("self",))
    list(rows.filter(pk__in=keys).order_by("pk").only("pk"))


def survey_lock(survey: Survey) -> Survey:
    """The survey as it is now, held until the transaction ends: it is answered once."""
    rows = Survey.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("hull__yard", "yard", "state").get(pk=survey.pk)


def quote_lock(quote: Quote) -> Quote:
    """The quote as it is now, held until the transaction ends."""
    rows = Quote.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("hull", "yard").get(pk=quote.pk)


def workorder_lock(work_order: WorkOrder) -> WorkOrder:
    """The work order as it is now, held until the transaction ends: its events come in order."""
    rows = WorkOrder.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("yard", "option").get(pk=work_order.pk)


def reel_lock(reel: Reel) -> Reel:
    """The reel as it is now, held until the transaction ends: nobody else cuts from it."""
    rows = Reel.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("lot__product", "yard").get(pk=reel.pk)


def job_lock(job: Job) -> Job:
    """The job as it is now, held until the transaction ends: its money is counted once."""
    rows = Job.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("yard", "hull__customer").get(pk=job.pk)


def changeorder_lock(change: ChangeOrder) -> ChangeOrder:
    """The change order as it is now, held until the transaction ends: it is decided once."""
    rows = ChangeOrder.objects.select_for_update(no_key=True, of=("self",))
    names = ("yard", "job__hull__customer", "work_order", "document")
    return rows.select_related(*names).get(pk=change.pk)
