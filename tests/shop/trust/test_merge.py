"""R03: one history, one projection, whatever the order in which its events arrive.

50 random histories of up to 40 events by three devices, each folded in 100 orders of arrival.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from shop.work.fold import fold, projection
from shop.work.model import Event, Folded
from tests.shop.trust.report import measured

pytestmark = pytest.mark.trust

SEED, HISTORIES, ORDERS = 20261103, 50, 100
NOON = datetime(2026, 10, 20, 16, 0, tzinfo=UTC)
SEGMENTS = ("S1", "S2", "S3")
KINDS = ("tick", "tick", "untick", "note", "photo", "reading", "step", "fuel", "defer", "resume",
         "waive", "start", "decide")  # fmt: skip

Fold = Callable[[Iterable[Event], Sequence[str]], Folded]


def history(chance: Random) -> list[Event]:
    """Events that name what came before them, some of it kept apart, some named by nobody."""
    made: list[Event] = []
    for number in range(chance.randint(10, 40)):
        made.append(_event(chance, number, made))
    return made


def _event(chance: Random, number: int, made: list[Event]) -> Event:
    kind = chance.choice(KINDS)
    keys = [event.key for event in made]
    some = chance.sample(keys, min(len(keys), chance.randint(0, 3)))
    payload = {
        "names": some,
        "replaces": some,
        "events": some,
        "after": chance.sample(keys, min(len(keys), 4)),
        "accept": chance.random() < 0.5,
        "reel": chance.choice(("RL-1", "RL-2")),
        "cut_in": "65",
        "test": chance.choice(("leak:T1", "ground:FILL")),
        "step": chance.choice(("place", "air")),
    }
    return Event(
        key=f"{chance.randint(1, 3)}:{number:032x}",
        kind=kind,
        author=f"Person {number % 3}",
        claimed_at=NOON + timedelta(minutes=chance.randint(-10_000, 10_000)),
        device_seq=number,
        segment=chance.choice(SEGMENTS),
        payload=payload,
        held="Late." if chance.random() < 0.15 else "",
    )


def arrivals(events: Sequence[Event], chance: Random) -> list[Event]:
    """The same events as the server would number them had they come in another order."""
    order = list(events)
    chance.shuffle(order)
    return [replace(event, receipt=number) for number, event in enumerate(order, start=1)]


def differing(folding: Fold) -> int:
    """In how many of all arrivals the projection is not that of the first one."""
    chance = Random(SEED)
    wrong = 0
    for _ in range(HISTORIES):
        events = history(chance)
        seen = [projection(folding(arrivals(events, chance), SEGMENTS)) for _ in range(ORDERS)]
        wrong += sum(each != seen[0] for each in seen[1:])
    return wrong


def test_every_order_of_arrival_gives_one_projection() -> None:
    with measured("R03", seed=SEED) as said:
        found = differing(fold)
        said |= {"n": HISTORIES * ORDERS, "differing": found, "twin": _twins()}
        assert found == 0


def _twins() -> str:
    faults = {"last tick wins": last_wins, "untick takes back what came before it": by_receipt}
    found = [name for name, folding in faults.items() if differing(folding)]
    assert found == list(faults)
    return f"{len(found)}/{len(faults)}"


def last_wins(events: Iterable[Event], idents: Sequence[str]) -> Folded:
    """Planted fault: of several ticks of a segment the one that came last is kept."""
    ordered = sorted(events, key=lambda event: event.receipt)
    last = {event.segment: event.key for event in ordered if event.kind == "tick"}
    return fold([e for e in ordered if e.kind != "tick" or last[e.segment] == e.key], idents)


def by_receipt(events: Iterable[Event], idents: Sequence[str]) -> Folded:
    """Planted fault: an untick clears the segment as it stands when it comes."""
    kept: list[Event] = []
    for event in sorted(events, key=lambda each: each.receipt):
        if event.kind == "untick":
            kept = [e for e in kept if e.kind != "tick" or e.segment != event.segment]
        kept.append(event)
    return fold(kept, idents)
