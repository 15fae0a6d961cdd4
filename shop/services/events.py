"""Events received: each stored once, or answered with the reason why not.

The answer to a batch is built inside its transaction and given back when that has ended, so
that "stored" is never said of something that is not. One bad event blocks no other.

Whose numbers they are. A tablet is shared, and works on while nobody is signed in; so a device is
bound to no one, and its events may come through any session that may work. What keeps one member
from stopping another's device: an id is random and taken once on a device, whoever sends it; a
number is taken only among what one member has sent of that device, so that numbers used up
under another session stand in nobody's way; a number far ahead of all that came is refused, and
a high one that came keeps no lower one out. The desk is written by pages alone, and counts its
events itself.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, transaction
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import (
    Device,
    DeviceKind,
    EventText,
    JobEvent,
    Member,
    WorkOrder,
    Yard,
)
from shop.models.workorders import random_id
from shop.services.audit import audit_append
from shop.services.auditseals import batch_seal
from shop.services.eventread import EventIn, event_id_of, event_parse
from shop.services.holding import Bench, NotHere, held_reason
from shop.services.locks import hull_lock, workorder_lock
from shop.services.pieces import pieces_settle
from shop.services.stops import stop_for_fuel
from shop.work.judging import RUN
from shop.work.payloads import PayloadError, kind_of_test

logger = logging.getLogger(__name__)

STORED, DUPLICATE, QUARANTINED, REJECTED = "stored", "duplicate", "quarantined", "rejected"
LARGEST_BATCH = 500
FURTHEST_AHEAD = 100_000  # numbers that a device may be ahead of what came from it; our choice


@dataclass(frozen=True)
class EventResult:
    """What became of one event. `reason` says why it was kept apart or refused."""

    event_id: str
    result: str
    reason: str = ""

    @property
    def is_kept(self) -> bool:
        """Whether the event is in the database: the device may stop offering it."""
        return self.result != REJECTED

    @property
    def is_new(self) -> bool:
        return self.result in (STORED, QUARANTINED)


def events_receive(
    *, device: Device, uploader: Member, batch: Sequence[object], now: datetime
) -> list[EventResult]:
    """Receive a batch of events from a tablet. Raises Refused for the desk and too large a batch.

    1. The work orders named are locked in one order: their events come one after another.
    2. Each event is stored by itself. Uniqueness is the database's: an id that is known with the
       same content is a duplicate, with other content a conflict.
    3. What may not count yet is kept with its reason: late, not authorized, a reel that lacks it.
    4. The results are in the order of the batch, and given back after the commit.
    """
    if device.kind == DeviceKind.DESK:
        raise Refused(_("What is done at the desk is entered on its pages. Send from a tablet."))
    if len(batch) > LARGEST_BATCH:
        raise Refused(_("More than %(most)s events at once.") % {"most": LARGEST_BATCH})
    return _receive_all(device, uploader, batch, now)


def _receive_all(
    device: Device, uploader: Member, batch: Sequence[object], now: datetime
) -> list[EventResult]:
    parsed = [_parsed(data) for data in batch]
    with transaction.atomic():
        failpoint_on_commit("events.committed")
        bench = _bench(device, uploader, parsed, now)
        order = sorted(range(len(parsed)), key=lambda place: _place(parsed[place]))
        results = {place: _receive(bench, parsed[place]) for place in order}
        answer = [results[place] for place in range(len(parsed))]
        _stop_for_fuel(bench, [parsed[place] for place in order if results[place].is_new])
        _log(bench, answer)
        failpoint("events.before commit")
    return answer


def desk_event(
    *,
    member: Member,
    work_order: WorkOrder,
    kind: str,
    now: datetime,
    segment: str = "",
    payload: Mapping[str, Any] | None = None,
    text: str = "",
) -> str:
    """Record one act made in the browser, as an event of the yard's desk; returns its key.

    Raises Refused when the event would not count: at the desk the person is there to be told.
    """
    with transaction.atomic():
        desk = desk_device(member.yard)
        event_id = random_id()
        event = {
            "id": event_id.hex,
            "seq": JobEvent.objects.filter(device=desk).count() + 1,
            "work_order": work_order.pk,
            "kind": kind,
            "segment": segment,
            "author": member.pk,
            "claimed_at": now.isoformat(),
            "payload": dict(payload or {}),
            "text": text,
        }
        result = _receive_all(desk, member, [event], now)[0]
        if result.result != STORED:
            raise Refused(result.reason)
        return f"{desk.pk}:{event_id.hex}"


def desk_device(yard: Yard) -> Device:
    """The yard's desk, locked, so that its events are numbered one after another."""
    Device.objects.get_or_create(yard=yard, kind=DeviceKind.DESK, defaults={"name": "Desk"})
    rows = Device.objects.select_for_update(no_key=True)
    return rows.get(yard=yard, kind=DeviceKind.DESK)


def _parsed(data: object) -> EventIn | EventResult:
    try:
        return event_parse(data)
    except PayloadError as error:
        return EventResult(event_id_of(data), REJECTED, str(error))


def _place(event: EventIn | EventResult) -> tuple[int, int]:
    """A device's events are taken in its own order, whatever the order of the batch."""
    return (1, event.seq) if isinstance(event, EventIn) else (0, 0)


def _bench(
    device: Device, uploader: Member, parsed: Sequence[EventIn | EventResult], now: datetime
) -> Bench:
    wanted = {event.work_order for event in parsed if isinstance(event, EventIn)}
    rows = WorkOrder.objects.filter(yard=device.yard_id, pk__in=wanted).order_by("pk")
    locked = {row.pk: workorder_lock(row) for row in rows.only("pk")}
    return Bench(Device.objects.select_related("yard").get(pk=device.pk), uploader, now, locked)


def _receive(bench: Bench, event: EventIn | EventResult) -> EventResult:
    if isinstance(event, EventResult):
        return event
    try:
        with transaction.atomic():
            return _store(bench, event)
    except IntegrityError:
        return _known(bench, event)
    except (NotHere, Refused) as error:
        return EventResult(event.event_id.hex, REJECTED, str(error))
    except (ValidationError, DataError):
        logger.exception("Event %s of device %s cannot be stored", event.event_id, bench.device.pk)
        return EventResult(event.event_id.hex, REJECTED, _("The event cannot be stored as it is."))


def _store(bench: Bench, event: EventIn) -> EventResult:
    if bench.device.revoked_at is not None:
        raise NotHere(_("This device was revoked. Hand in what it still holds."))
    _number_check(bench.device, event.seq)
    work_order = bench.work_order(event)
    author = bench.author(event)
    reason = held_reason(bench, event, work_order, author)
    row = JobEvent(
        event_id=event.event_id,
        yard_id=work_order.yard_id,
        work_order=work_order,
        device=bench.device,
        device_seq=event.seq,
        author=author,
        uploader=bench.uploader,
        kind=event.kind,
        segment_ident=event.segment,
        payload=event.payload,
        content_sha256=event.content_sha256,
        text_sha256=event.text_sha256,
        quarantine_reason=reason,
        claimed_at=event.claimed_at,
        received_at=bench.now,
    )
    row.clean_fields(exclude=["yard", "work_order", "device", "author", "uploader"])
    row.save(force_insert=True)
    bench.stored(event)
    failpoint("events.event stored")
    if event.text:
        EventText.objects.create(event=row, text=event.text)
    if not reason:
        pieces_settle(member=author, work_order=work_order, cause=event, at=bench.now)
    failpoint("events.pieces settled")
    return EventResult(event.event_id.hex, QUARANTINED if reason else STORED, reason)


def _number_check(device: Device, seq: int) -> None:
    """Refuse a number that the device cannot have counted to since it was last heard."""
    near = JobEvent.objects.filter(device=device, device_seq__gte=seq - FURTHEST_AHEAD)
    if seq > FURTHEST_AHEAD and not near.exists():
        said = {"seq": seq, "most": FURTHEST_AHEAD}
        raise Refused(
            _("Number %(seq)s is more than %(most)s ahead of what came from this device.") % said
        )


def _known(bench: Bench, event: EventIn) -> EventResult:
    """What the database refused: the same event again, or another one under its id or number."""
    held = JobEvent.objects.filter(device=bench.device, event_id=event.event_id).first()
    if held is None:
        words = _("Number %(seq)s of this device is another event's.") % {"seq": event.seq}
        return EventResult(event.event_id.hex, REJECTED, words)
    if held.content_sha256 != event.content_sha256:
        words = _("An event with this id is on file with other content. Both need a look.")
        return EventResult(event.event_id.hex, REJECTED, words)
    return EventResult(event.event_id.hex, DUPLICATE, held.quarantine_reason)


def _stop_for_fuel(bench: Bench, kept: Sequence[EventIn | EventResult]) -> None:
    """Fuel that showed while running marks the boat, whether the record counts or waits.

    Last of all, and every boat is held before the first is marked: the log is locked by then.
    """
    wet = [event for event in kept if isinstance(event, EventIn) and _is_wet_run(event)]
    boats = {bench.work_order(event).job.hull: event for event in reversed(wet)}
    hulls = sorted(boats, key=lambda hull: hull.pk)
    for hull in hulls:
        hull_lock(hull)
    for hull in hulls:
        words = _(
            "Fuel showed at the run test of %(engine)s. Do not start, do not switch anything "
            "aboard; people off."
        )
        said = {"engine": str(boats[hull].payload["test"]).partition(":")[2]}
        stop_for_fuel(hull=hull, reason=words % said, member=bench.author(boats[hull]))


def _is_wet_run(event: EventIn) -> bool:
    is_run = event.kind == "reading" and kind_of_test(event.payload) == RUN
    return is_run and event.payload.get("dry") is not True


def _log(bench: Bench, answer: Sequence[EventResult]) -> None:
    counts = dict.fromkeys((STORED, QUARANTINED, REJECTED), 0)
    for result in answer:
        if result.result in counts:
            counts[result.result] += 1
    # A refusal stays with the device, which may try it again and again.
    if counts[STORED] or counts[QUARANTINED]:
        kept = [row.event_id for row in answer if row.result in (STORED, QUARANTINED)]
        rows = JobEvent.objects.filter(device=bench.device, event_id__in=kept)
        audit_append(
            yard=bench.device.yard,
            member=bench.uploader,
            action="events.receive",
            subject=bench.device,
            values={**counts, **batch_seal(rows)},
        )
