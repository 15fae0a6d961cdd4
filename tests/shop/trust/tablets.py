"""Three tablets, a faulty network and the real receiving service: one schedule of R01.

The tablets are models of a queue that keeps each event until the shop has answered for it. What
the schedule did to them is checked against the database by `verify`, which shares no code with
the fold that it checks. `bugs` plants faults, each by the letter of the recipe.
"""

from __future__ import annotations

import json
import uuid
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from django.db import connection, transaction

from shop.models import Cut, Device, JobEvent, Lot, Reel, WorkOrder, WorkOrderStatus
from shop.selectors.folding import work_events, work_folded
from shop.services.events import EventResult, events_receive
from shop.work.fold import fold
from shop.work.safe import STEPS
from tests.shop.trust.ticks_oracle import fitted
from tests.shop.working import Yard

SEGMENTS = ("S3", "S4")
PIECE_IN = "65"  # no shorter than the runs of both segments
NOON = datetime(2026, 10, 20, 16, 0, tzinfo=UTC)
BATCH = 12
MOST_ROUNDS = 30

Event = dict[str, Any]


class Killed(Exception):
    """The server is gone before its transaction ended."""


@dataclass
class Packet:
    """A request or an answer on its way: text, as it would be on the wire."""

    tablet: int
    body: str
    sent: list[Event]


@dataclass
class Tablet:
    device: Device
    seq: int = 0
    clock: timedelta = timedelta()
    queue: dict[str, Event] = field(default_factory=dict)
    acked: set[str] = field(default_factory=set)  # marks that were answered for
    rejected: dict[str, str] = field(default_factory=dict)  # mark: reason, kept in sight
    tried: set[str] = field(default_factory=set)
    recorded: dict[str, Event] = field(default_factory=dict)  # mark: the event as recorded


class World:
    """One schedule: what is recorded, sent, lost, doubled, late, and what the database says."""

    def __init__(self, yard: Yard, bugs: Iterable[str] = ()) -> None:
        self.yard, self.bugs = yard, frozenset(bugs)
        self.tablets: list[Tablet] = []
        self.requests: list[Packet] = []
        self.answers: list[Packet] = []
        self.faults: Counter[str] = Counter()
        self.now = NOON
        with transaction.atomic():
            self._prepare()

    def _prepare(self) -> None:
        """A work order, a reel and three tablets of this schedule's own."""
        order = self.yard.work_order
        self.order = WorkOrder.objects.create(
            yard=order.yard, job=order.job, option=order.option, proposed=order.proposed
        )
        number = self.order.pk
        lot = Lot.objects.get(code="LOT-3")
        self.reel = Reel.objects.create(
            yard=order.yard,
            lot=lot,
            ident=f"RL-T{number}",
            received_on=NOON.date(),
            received_in=Decimal(99_999),
        )
        rows = [Device(yard=order.yard, name=f"Tablet {number}-{n}") for n in range(3)]
        self.tablets = [Tablet(row) for row in Device.objects.bulk_create(rows)]
        self._make_safe()

    def _make_safe(self) -> None:
        """The make-safe list, from a tablet that no schedule touches: work waits for none of it."""
        device = Device.objects.create(yard=self.order.yard, name=f"Safe {self.order.pk}")
        steps = [
            {
                "id": uuid.uuid4().hex,
                "seq": seq,
                "work_order": self.order.pk,
                "kind": "step",
                "author": self.yard.tech.pk,
                "claimed_at": self.now.isoformat(),
                "payload": {"step": step.key, **({"lel_pct": "0"} if step.reads_lel else {})},
            }
            for seq, step in enumerate(STEPS, start=1)
        ]
        stored = events_receive(device=device, uploader=self.yard.tech, batch=steps, now=self.now)
        assert {each.result for each in stored} == {"stored"}

    # What people do.

    def record(self, number: int, kinds: Iterable[str], chance: Random) -> None:
        """Record events; each is in the tablet's own store before it is said to be saved."""
        tablet = self.tablets[number]
        for kind in kinds:
            event = self._event(tablet, kind, chance)
            tablet.queue[event["id"]] = event
            tablet.recorded[event["payload"]["mark"]] = event

    def _event(self, tablet: Tablet, kind: str, chance: Random) -> Event:
        tablet.seq += 1
        segment = chance.choice(SEGMENTS)
        payload: dict[str, Any] = {"mark": f"{tablet.device.pk}-{tablet.seq}"}
        text = ""
        if kind == "tick":
            payload |= {"reel": self.reel.ident, "cut_in": PIECE_IN}
            text = "Shorter than the run, so that the reel lasts."
        elif kind in ("untick", "resume"):
            taken = "tick" if kind == "untick" else "defer"
            payload["names"] = self._known(taken, segment, chance)
        elif kind in ("note", "defer"):
            text = f"{kind} {tablet.seq}"
        return {
            "id": _id(tablet),
            "seq": tablet.seq,
            "work_order": self.order.pk,
            "kind": kind,
            "segment": segment,
            "author": self.yard.tech.pk,
            "claimed_at": (self.now + tablet.clock + timedelta(seconds=tablet.seq)).isoformat(),
            "payload": payload,
            "text": text,
        }

    def _known(self, kind: str, segment: str, chance: Random) -> list[str]:
        """Keys of one or two events of a kind on any tablet, or of none that exists."""
        keys = [
            f"{tablet.device.pk}:{event['id']}"
            for tablet in self.tablets
            for event in tablet.recorded.values()
            if event["kind"] == kind and event["segment"] == segment
        ]
        return chance.sample(keys, min(len(keys), 2)) or [f"1:{'0' * 32}"]

    # What the tablet's uploader and the network do.

    def send(self, number: int) -> Packet | None:
        tablet = self.tablets[number]
        batch = list(tablet.queue.values())[:BATCH]
        if not batch:
            return None
        if "g" in self.bugs:
            batch = [self._renamed(tablet, event) for event in batch]
        tablet.tried |= {event["id"] for event in batch}
        if "b" in self.bugs:
            for event in batch:
                tablet.queue.pop(event["id"])
                tablet.acked.add(event["payload"]["mark"])
        packet = Packet(number, json.dumps({"events": batch}), batch)
        self.requests.append(packet)
        return packet

    def _renamed(self, tablet: Tablet, event: Event) -> Event:
        """Planted fault g: what was tried before goes out under a fresh id and number."""
        if event["id"] not in tablet.tried:
            return event
        tablet.seq += 1
        fresh = {**event, "id": _id(tablet), "seq": tablet.seq}
        tablet.queue = {
            (fresh["id"] if key == event["id"] else key): (fresh if key == event["id"] else held)
            for key, held in tablet.queue.items()
        }
        return fresh

    def deliver(self, packet: Packet, *, killed: str = "") -> None:
        """Give one request to the server, which may be killed before or after its commit."""
        self.requests.remove(packet)
        self.now += timedelta(seconds=1)
        answer = self._serve(packet, killed)
        if answer is not None:
            self.answers.append(replace(packet, body=answer))

    def _serve(self, packet: Packet, killed: str) -> str | None:
        device = self.tablets[packet.tablet].device
        results: list[EventResult] = []
        try:
            with transaction.atomic():
                results = events_receive(
                    device=device,
                    uploader=self.yard.tech,
                    batch=json.loads(packet.body)["events"],
                    now=self.now,
                )
                if "e" in self.bugs and any(each.result == "rejected" for each in results):
                    raise Killed
                if killed == "before":
                    raise Killed
        except Killed:
            return _said(results) if killed == "before" and "c" in self.bugs else None
        return None if killed == "after" else _said(results)

    def receive(self, packet: Packet) -> None:
        """Let the tablet read one answer; what is no answer to its events changes nothing."""
        self.answers.remove(packet)
        tablet = self.tablets[packet.tablet]
        if "h" in self.bugs:
            for event in packet.sent:
                self._let_go(tablet, event["id"])
            return
        results = _read(packet.body)
        if "f" in self.bugs and results:
            highest = max(event["seq"] for event in packet.sent)
            for event in [e for e in tablet.queue.values() if e["seq"] <= highest]:
                self._let_go(tablet, event["id"])
            return
        for result in results:
            if result["result"] == "rejected":
                if result["id"] in tablet.queue:
                    event = tablet.queue.pop(result["id"])
                    tablet.rejected[event["payload"]["mark"]] = result["reason"]
            else:
                self._let_go(tablet, result["id"])

    def _let_go(self, tablet: Tablet, event_id: str) -> None:
        if event_id in tablet.queue:
            tablet.acked.add(tablet.queue.pop(event_id)["payload"]["mark"])

    # Faults of the schedule.

    def close(self, status: WorkOrderStatus) -> None:
        WorkOrder.objects.filter(pk=self.order.pk).update(status=status)
        self.faults["late"] += 1

    def revoke(self, number: int) -> None:
        device = self.tablets[number].device
        Device.objects.filter(pk=device.pk).update(revoked_at=self.now)
        self.faults["revoke"] += 1

    def restart(self) -> None:
        """The server starts anew with what is on its way; its connections are new ones."""
        if not connection.in_atomic_block:
            connection.close()
        self.faults["restart"] += 1

    def heal(self) -> None:
        """From now on everything arrives. A device that was revoked is heard no more."""
        for _ in range(MOST_ROUNDS):
            for number in range(len(self.tablets)):
                self.send(number)
            for packet in list(self.requests):
                self.deliver(packet)
            for packet in list(self.answers):
                self.receive(packet)
            if not any(tablet.queue for tablet in self.tablets):
                return

    # What has come of it.

    def verify(self) -> dict[str, int]:
        """What went wrong, counted by kind; all zero when nothing did."""
        rows = list(
            JobEvent.objects.filter(work_order=self.order).exclude(kind="step").order_by("receipt")
        )
        stored = Counter(row.payload["mark"] for row in rows)
        recorded = {
            mark: event for tablet in self.tablets for mark, event in tablet.recorded.items()
        }
        acked = {mark for tablet in self.tablets for mark in tablet.acked}
        rejected = {mark for tablet in self.tablets for mark in tablet.rejected}
        in_sight = set(stored) | rejected
        return {
            "lost": len((acked - set(stored)) | (set(recorded) - in_sight)),
            "doubled": sum(count - 1 for count in stored.values()),
            "unexpected": sum(not _as_recorded(row, recorded) for row in rows),
            "stuck": sum(len(tablet.queue) for tablet in self.tablets),
            "folded_wrong": self._folded_wrong(rows),
            "ledger_wrong": self._ledger_wrong(rows),
        }

    def _folded_wrong(self, rows: list[JobEvent]) -> int:
        folded = _by_clock(self.order) if "d" in self.bugs else work_folded(self.order)
        active = {ident: bool(ticks) for ident, ticks in fitted(rows).items()}
        said = {ident: folded.segment(ident).state == "fitted" for ident in SEGMENTS}
        return sum(said[ident] != active.get(ident, False) for ident in SEGMENTS)

    def _ledger_wrong(self, rows: list[JobEvent]) -> int:
        """One piece for each segment with a tick that counts, none for the others."""
        cuts: Counter[str] = Counter()
        for cut in Cut.objects.filter(work_order=self.order):
            cuts[cut.segment_ident] += int(cut.length_in)
        wanted = {ident: int(PIECE_IN) if ticks else 0 for ident, ticks in fitted(rows).items()}
        return sum(cuts[ident] != wanted.get(ident, 0) for ident in SEGMENTS)


def _id(tablet: Tablet) -> str:
    """128 bits that no other event has; made from the count, so that a schedule repeats."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"{tablet.device.pk}/{tablet.seq}").hex


def _by_clock(order: WorkOrder) -> Any:
    """Planted fault d: of tick and untick the one with the later tablet clock wins."""
    last: dict[str, Any] = {}
    for event in work_events(order):
        if event.kind in ("tick", "untick") and not event.held:
            held = last.get(event.segment)
            if held is None or event.claimed_at > held.claimed_at:
                last[event.segment] = event
    return fold([event for event in last.values() if event.kind == "tick"], SEGMENTS)


def _said(results: list[EventResult]) -> str:
    said = [{"id": r.event_id, "result": r.result, "reason": r.reason} for r in results]
    return json.dumps({"results": said})


def _read(body: str) -> list[dict[str, str]]:
    """An authentic answer lists results by id; a web page or cut JSON is none."""
    try:
        results = json.loads(body)["results"]
    except (ValueError, KeyError, TypeError):
        return []
    return results if isinstance(results, list) else []


def _as_recorded(row: JobEvent, recorded: dict[str, Event]) -> bool:
    event = recorded.get(row.payload["mark"])
    return event is not None and (row.kind, row.segment_ident, row.payload) == (
        event["kind"],
        event["segment"],
        event["payload"],
    )
