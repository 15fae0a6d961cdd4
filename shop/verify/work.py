"""Work orders and the records that close them."""

from __future__ import annotations

from collections.abc import Iterator

from shop.models import Completion, StateKind, WorkOrder, WorkOrderStatus
from shop.verify.model import Fault, Look, named


def closed(look: Look) -> Iterator[Fault]:
    """A work order is completed if, and only if, a signed record says so, of its own boat."""
    signed = {row.work_order_id: row for row in Completion.objects.select_related("installed")}
    for order in WorkOrder.objects.select_related("job").order_by("pk"):
        look.at()
        record = signed.get(order.pk)
        if (record is not None) != (order.status == WorkOrderStatus.COMPLETED):
            yield Fault(named(order), f"status {order.status}", "as its record says")
        if record is None:
            continue
        state = record.installed
        if (state.hull_id, state.kind) != (order.job.hull_id, StateKind.INSTALLED):
            yield Fault(named(record), "not this boat as installed", f"hull {order.job.hull_id}")
