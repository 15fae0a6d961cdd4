"""Work orders: opened by the owner's consent, cancelled by the shop."""

from __future__ import annotations

from django.db import transaction
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import Member, Quote, QuoteOption, WorkOrder, WorkOrderStatus
from shop.services.audit import audit_append
from shop.services.locks import quote_lock, workorder_lock


@transaction.atomic
def workorder_open(*, member: Member | None, quote: Quote, option: QuoteOption) -> WorkOrder:
    """Open the work order of the option that was authorized.

    `member` is None where the owner authorized by the link. A job has one open work order.
    """
    quote = quote_lock(quote)
    if quote.job is None or option.quote_id != quote.pk:
        raise Refused(_("This option belongs to no issued quote. Issue the quote first."))
    if quote.job.work_orders.filter(status=WorkOrderStatus.OPEN).exists():
        raise Refused(_("%(job)s has an open work order already.") % {"job": quote.job.number})
    work_order = WorkOrder(yard=quote.yard, job=quote.job, option=option, proposed=quote.proposed)
    work_order.full_clean()
    work_order.save()
    audit_append(
        yard=quote.yard,
        member=member,
        action="workorder.open",
        subject=work_order,
        values={"job": quote.job.number, "quote": quote.number, "option": option.letter},
    )
    return work_order


@transaction.atomic
def workorder_cancel(*, member: Member, work_order: WorkOrder) -> WorkOrder:
    """Cancel an open work order. What was done stays on record; later events are set apart."""
    failpoint_on_commit("cancel.committed")
    work_order = workorder_lock(work_order)
    if work_order.status != WorkOrderStatus.OPEN:
        raise Refused(_("This work order is closed already."))
    work_order.status = WorkOrderStatus.CANCELLED
    work_order.full_clean()
    work_order.save(update_fields=["status"])
    failpoint("cancel.stored")
    audit_append(
        yard=work_order.yard,
        member=member,
        action="workorder.cancel",
        subject=work_order,
        values={"job": work_order.job.number},
    )
    failpoint("cancel.before commit")
    return work_order
