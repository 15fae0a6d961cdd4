"""The events of a work order as the pure fold reads them."""

from __future__ import annotations

from collections.abc import Iterable

from shop.models import JobEvent, WorkOrder
from shop.selectors.authorized import planned_work
from shop.work.fold import fold
from shop.work.model import Event, Folded


def work_folded(work_order: WorkOrder) -> Folded:
    """What all events of a work order say, its authorized segments first."""
    return fold(work_events(work_order), list(planned_work(work_order)))


def work_events(work_order: WorkOrder) -> list[Event]:
    """The events of a work order, by the server's order."""
    rows = JobEvent.objects.filter(work_order=work_order)
    rows = rows.select_related("author__user", "text").order_by("receipt")
    return [event_read(row) for row in rows]


def bare_events(work_order: WorkOrder, *, kinds: Iterable[str]) -> list[Event]:
    """Events of some kinds without author and text: enough to tell which count, and in order."""
    rows = JobEvent.objects.filter(work_order=work_order, kind__in=list(kinds))
    names = ("device_id", "event_id", "kind", "segment_ident", "payload", "quarantine_reason")
    order = ("claimed_at", "receipt", "device_seq")
    return [
        Event(
            key=f"{device}:{event_id.hex}",
            kind=kind,
            author="",
            claimed_at=at,
            receipt=receipt,
            device_seq=seq,
            segment=segment,
            payload=payload,
            held=held,
        )
        for device, event_id, kind, segment, payload, held, at, receipt, seq in rows.values_list(
            *names, *order
        )
    ]


def event_read(row: JobEvent) -> Event:
    text = row.text.text if row.text_sha256 else ""
    return Event(
        key=event_key(row),
        kind=row.kind,
        author=row.author.user.name,
        claimed_at=row.claimed_at,
        receipt=row.receipt,
        device_seq=row.device_seq,
        segment=row.segment_ident,
        payload=row.payload,
        text=text,
        received_at=row.received_at,
        held=row.quarantine_reason,
    )


def event_key(row: JobEvent) -> str:
    """The name of an event: its id is unique within its device only."""
    return f"{row.device_id}:{row.event_id.hex}"
