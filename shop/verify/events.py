"""The list of events of each job: each once, each as it came."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC

from django.db.models import Count

from fuelsys.document.canonical import canonical_bytes
from shop.models import EventText, JobEvent
from shop.verify.model import Fault, Look, named


def once(look: Look) -> Iterator[Fault]:
    """No device has two events under one id, or under one number of one uploader."""
    look.at(JobEvent.objects.count())
    for name, among in (("event_id", ()), ("device_seq", ("uploader",))):
        doubled = JobEvent.objects.values("device", name, *among).annotate(rows=Count("pk"))
        for row in doubled.filter(rows__gt=1).order_by("device", name):
            yield Fault(f"device {row['device']}, {name} {row[name]}", f"{row['rows']} rows", "1")


def content(look: Look) -> Iterator[Fault]:
    """Each event has the hash of what it says."""
    for event in JobEvent.objects.order_by("pk").iterator():
        look.at()
        if content_sha256(event) != event.content_sha256:
            yield Fault(named(event), "other content than its hash", event.content_sha256)


def text(look: Look) -> Iterator[Fault]:
    """A text that was not erased is the one its event names; an event with words has a row."""
    for row in EventText.objects.select_related("event").order_by("pk").iterator():
        look.at()
        held = hashlib.sha256(row.text.encode()).hexdigest()
        if row.erased_at is None and held != row.event.text_sha256:
            yield Fault(named(row.event), "other words than its hash", row.event.text_sha256)
    for event in JobEvent.objects.exclude(text_sha256="").filter(text__isnull=True):
        yield Fault(named(event), "no row for its words", "a row, erased or not")


def content_sha256(event: JobEvent) -> str:
    """The hash of an event's content, worked out from its row."""
    said = {
        "id": event.event_id.hex,
        "seq": event.device_seq,
        "work_order": event.work_order_id,
        "kind": event.kind,
        "segment": event.segment_ident,
        "author": event.author_id,
        "claimed_at": event.claimed_at.astimezone(UTC).isoformat(),
        "payload": event.payload,
        "text_sha256": event.text_sha256,
    }
    return hashlib.sha256(canonical_bytes(said)).hexdigest()
