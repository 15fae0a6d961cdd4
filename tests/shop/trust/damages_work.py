"""Damage to events, hose and the work they tell of, and which checks must report it."""

from __future__ import annotations

import hashlib
import json
from datetime import timedelta
from decimal import Decimal

from django.db import connection

from shop.models import Cut, Document, EventText, JobEvent, Member, WorkOrder
from shop.models.workorders import random_id
from shop.services.documents import snapshot_text
from shop.verify.events import content_sha256
from tests.shop.trust.damaging import Damage, first, write


def event_payload() -> None:
    write(first(JobEvent, kind="start"), payload={"mark": "another"})


def event_of_another_segment() -> None:
    write(first(JobEvent, kind="tick", segment_ident="S1"), segment_ident="S2")


def event_twice() -> None:
    """The constraint refuses it, so the events are read from a table that has none."""
    with connection.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE shop_jobevent AS SELECT * FROM shop_jobevent")
    again = first(JobEvent, kind="start")
    again.pk = 1_000_000
    again.save(force_insert=True)


def event_gone() -> None:
    first(JobEvent, kind="start").delete()


def event_words() -> None:
    write(first(EventText), text="Other words.")


def event_words_gone() -> None:
    first(EventText).delete()


def step_gone() -> None:
    """A step of the make-safe list that nobody did, and work that counts all the same."""
    first(JobEvent, kind="step", payload__step="isolate").delete()


def vapor_too_high() -> None:
    """A reading at which the work should have stopped, with its right hash."""
    reading = first(JobEvent, kind="step", payload__step="air")
    reading.payload = {**reading.payload, "lel_pct": "10"}
    write(reading, payload=reading.payload, content_sha256=content_sha256(reading))


def reading_without_its_figure() -> None:
    """A leak test that does not say by how much it fell, with its right hash."""
    reading = first(JobEvent, kind="reading", payload__test="leak:T1")
    del reading.payload["drop_psi"]
    write(reading, payload=reading.payload, content_sha256=content_sha256(reading))


def cut_gone() -> None:
    Cut.objects.filter(pk=first(Cut).pk)._raw_delete("default")


def cut_made_up() -> None:
    taken = first(Cut)
    taken.pk, taken.segment_ident = None, "S9"
    taken.save(force_insert=True)


def cut_of_another_length() -> None:
    taken = first(Cut)
    write(taken, length_in=taken.length_in + 1)


def reel_shorter() -> None:
    reel = first(Cut).reel
    write(reel, received_in=Decimal(1))


def put_back_elsewhere() -> None:
    taken = first(Cut)
    back = Cut(
        yard=taken.yard, reel=taken.reel, work_order=taken.work_order, segment_ident="S9",
        length_in=-taken.length_in, puts_back=taken, member=taken.member, at=taken.at,
    )  # fmt: skip
    back.save(force_insert=True)


def work_opened_again() -> None:
    write(first(WorkOrder, status="completed"), status="open")


def event_sent_by_who_may_not_work() -> None:
    write(first(JobEvent, kind="tick"), uploader=first(Member, role="bookkeeper"))


def waiver_sent_by_another() -> None:
    """As an upload in a lead's name would have left it, with its right hash."""
    waiver = first(JobEvent, kind="reading")
    waiver.pk, waiver.event_id, waiver.device_seq = None, random_id(), 1_000_000
    waiver.kind, waiver.author = "waive", first(Member, role="lead")
    waiver.payload = {"test": waiver.payload["test"]}
    waiver.content_sha256 = content_sha256(waiver)
    waiver.save(force_insert=True)


def part_printed_unticked() -> None:
    """As if the technician had taken the tick back, with its right hash; signed all the same."""
    tick = first(JobEvent, kind="tick", segment_ident="CO-1.1")
    untick = JobEvent.objects.get(pk=tick.pk)
    untick.pk, untick.event_id, untick.device_seq = None, random_id(), 1_000_000
    untick.kind, untick.payload = "untick", {"names": [f"{tick.device_id}:{tick.event_id.hex}"]}
    untick.content_sha256 = content_sha256(untick)
    untick.save(force_insert=True)


def part_made_up() -> None:
    """A record that prints a part of which no event says a word, under its right hash."""
    paper = first(Document, kind="completion")
    said = json.loads(paper.snapshot)
    text = snapshot_text({**said, "items": [*said["items"], {**said["items"][0], "ident": "Q.9"}]})
    write(paper, snapshot=text, snapshot_sha256=hashlib.sha256(text.encode()).hexdigest())


def event_sent_by_another() -> None:
    event = first(JobEvent, kind="tick")
    write(event, uploader=first(Member, role="lead"))


def event_come_earlier() -> None:
    event = first(JobEvent, kind="start")
    write(event, received_at=event.received_at - timedelta(seconds=1))


def event_kept_apart_by_hand() -> None:
    write(first(JobEvent, kind="start"), quarantine_reason="Planted.")


WORK: dict[str, tuple[Damage, set[str]]] = {
    "an event's payload": (event_payload, {"events.content"}),
    "an event's segment": (
        event_of_another_segment,
        {"events.content", "work.pieces", "work.ticked"},
    ),
    "an event twice": (event_twice, {"events.once", "events.counted"}),
    "an event gone": (event_gone, {"events.counted", "events.received"}),
    "an event's words": (event_words, {"events.text"}),
    "an event's words gone": (event_words_gone, {"events.text"}),
    "a make-safe step gone": (step_gone, {"work.made_safe", "events.counted", "events.received"}),
    "a vapor reading too high": (vapor_too_high, {"work.made_safe", "events.received"}),
    "a reading without its figure": (
        reading_without_its_figure,
        {"work.judged", "events.received"},
    ),
    "a cut gone": (cut_gone, {"work.pieces"}),
    "a cut made up": (cut_made_up, {"work.pieces"}),
    "a cut of another length": (cut_of_another_length, {"work.pieces"}),
    "a reel shorter than its cuts": (reel_shorter, {"hose.reels", "audit.told"}),
    "a piece put back elsewhere": (put_back_elsewhere, {"hose.put_back"}),
    "work opened again": (work_opened_again, {"work.closed"}),
    "an event sent by who may not work": (
        event_sent_by_who_may_not_work,
        {"events.sent", "events.received"},
    ),
    "a waiver sent by another": (waiver_sent_by_another, {"events.sent", "events.counted"}),
    "a part printed whose tick was taken back": (
        part_printed_unticked,
        {"work.ticked", "events.counted"},
    ),
    "a part printed of which no event says": (part_made_up, {"work.ticked", "audit.told"}),
    "an event sent by another": (event_sent_by_another, {"events.received"}),
    "an event come earlier": (event_come_earlier, {"events.received"}),
    "an event kept apart by hand": (event_kept_apart_by_hand, {"events.received"}),
}
