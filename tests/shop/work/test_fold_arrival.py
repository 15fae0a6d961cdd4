"""Late, early, out of order: what one tablet recorded reads the same however it arrives."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, datetime
from itertools import permutations
from random import Random
from typing import Any

import pytest

from shop.work.fold import fold
from shop.work.model import Event, Folded
from shop.work.precedence import is_after

NOON = datetime(2026, 10, 20, 16, 0, tzinfo=UTC)
SEED, HISTORIES, LENGTH = 20261130, 60, 5
KINDS = ("tick", "tick", "untick", "note", "photo", "reading", "step", "fuel", "defer", "resume",
         "waive", "start", "decide")  # fmt: skip
ONE_PIECE: dict[str, Any] = {"reel": "RL-1", "cut_in": "65"}
OTHER_PIECE: dict[str, Any] = {"reel": "RL-2", "cut_in": "66"}


def made(seq: int, kind: str, segment: str = "S3", device: int = 1, **payload: Any) -> Event:
    """An event by its device's count, under an id that says nothing of it."""
    text, held = payload.pop("text", f"{kind} {seq}"), payload.pop("held", "")
    return Event(
        key=key(seq, device),
        kind=kind,
        author=f"Person {seq}",
        claimed_at=NOON,
        device_seq=seq,
        segment=segment,
        payload=payload,
        text=text,
        held=held,
    )


def key(seq: int, device: int = 1) -> str:
    return f"{device}:{seq * 7 % 11:032x}"


def received(events: Iterable[Event]) -> list[Event]:
    """The events as the server numbers them in this order of arrival."""
    return [replace(event, receipt=number) for number, event in enumerate(events, start=1)]


def shown(folded: Folded) -> dict[str, object]:
    """All that is folded, in the order in which pages and papers show it."""
    works = {
        ident: (work.state, _read(work.tick), _read(work.last_note), work.authors, work.seen)
        for ident, work in folded.segments.items()
    }
    return {
        "works": works,
        **{part.name: _read(getattr(folded, part.name)) for part in fields(folded)},
    }


def _read(held: object) -> object:
    if isinstance(held, Event):
        return held.key
    if isinstance(held, Mapping):
        return [(name, _read(each)) for name, each in held.items()]
    if isinstance(held, tuple):
        return [_read(each) for each in held]
    if is_dataclass(held):
        return [_read(getattr(held, part.name)) for part in fields(held)]
    return str(held)


ONE_TABLET: dict[str, list[Event]] = {
    "fitted and taken back": [made(5, "tick", **ONE_PIECE), made(6, "untick", names=[key(5)])],
    "taken back twice, then fitted": [
        made(1, "tick", **ONE_PIECE),
        made(2, "untick", names=[key(1)]),
        made(3, "tick", **OTHER_PIECE, after=[key(2)]),
        made(4, "untick", names=[key(3)]),
        made(5, "tick", **ONE_PIECE, after=[key(2), key(4)]),
    ],
    "two pieces": [made(5, "tick", **ONE_PIECE), made(6, "tick", **OTHER_PIECE)],
    "two notes": [made(5, "note"), made(6, "note")],
    "notes of the job": [made(5, "note", ""), made(6, "note", ""), made(7, "note", "")],
    "fuel counted twice and once again": [
        made(3, "fuel", "", moved_gal="44", kept_gal="41", wasted_gal="3"),
        made(4, "fuel", "", moved_gal="2", kept_gal="2", wasted_gal="0"),
        made(5, "untick", "", names=[key(3)]),
        made(6, "fuel", "", moved_gal="43", kept_gal="41", wasted_gal="2"),
    ],
    "put off, then fitted": [made(5, "defer"), made(6, "tick", **ONE_PIECE)],
    "put off twice, taken up, fitted": [
        made(2, "defer"),
        made(3, "defer"),
        made(4, "resume", names=[key(2)]),
        made(5, "start"),
        made(6, "start"),
        made(7, "tick", **ONE_PIECE, after=[key(3)]),
    ],
    "vapor too high, then below": [
        made(2, "step", "", step="air", lel_pct="12"),
        made(3, "step", "", step="air", lel_pct="3", after=[key(2)]),
        made(4, "step", "", step="air", lel_pct="1", after=[key(2)]),
    ],
    "read, read again, waived twice": [
        made(2, "reading", "", test="ground:FILL", ohm="120"),
        made(3, "reading", "", test="ground:FILL", ohm="110", replaces=[key(2)]),
        made(4, "reading", "", test="ground:FILL", ohm="0.5", replaces=[key(3)]),
        made(5, "reading", "", test="ground:FILL", ohm="0.4"),
        made(6, "waive", "", test="ground:FILL"),
        made(7, "waive", "", test="ground:FILL"),
    ],
    "kept apart, decided both ways": [
        made(2, "tick", **ONE_PIECE, held="Late."),
        made(3, "tick", **OTHER_PIECE, held="Late."),
        made(4, "note", held="Late."),
        made(5, "decide", "", events=[key(2), key(4)], accept=False),
        made(6, "decide", "", events=[key(2)], accept=True),
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", ONE_TABLET)
def test_one_tablet_s_events_read_the_same_in_every_order_of_arrival(name: str) -> None:
    history = ONE_TABLET[name]
    as_recorded = shown(fold(received(history), ["S3"]))
    for arrival in permutations(history):
        assert shown(fold(received(arrival), ["S3"])) == as_recorded


def test_so_do_histories_drawn_at_random() -> None:
    """Every order of arrival of each, 120 of them."""
    chance = Random(SEED)
    for _ in range(HISTORIES):
        history = drawn(chance)
        as_recorded = shown(fold(received(history), ["S3"]))
        for arrival in permutations(history):
            assert shown(fold(received(arrival), ["S3"])) == as_recorded, history


def drawn(chance: Random) -> list[Event]:
    """What one tablet may record: some of it names what came before, some is kept apart."""
    history: list[Event] = []
    for seq in range(1, LENGTH + 1):
        before = [event.key for event in history]
        some = chance.sample(before, min(len(before), chance.randint(0, 2)))
        payload: dict[str, Any] = {
            **chance.choice((ONE_PIECE, OTHER_PIECE)),
            "names": some,
            "replaces": some,
            "events": some,
            "after": chance.sample(before, min(len(before), 2)),
            "accept": chance.random() < 0.5,
            "test": chance.choice(("leak:T1", "ground:FILL")),
            "step": "place",
            "held": "Late." if chance.random() < 0.15 else "",
        }
        segment = chance.choice(("S3", "S3", "S4"))
        history.append(made(seq, chance.choice(KINDS), segment, **payload))
    return history


def test_the_piece_that_is_shown_is_the_one_ticked_first_and_the_note_the_last_one_written() -> (
    None
):
    first, second = made(5, "tick", **ONE_PIECE), made(6, "tick", **OTHER_PIECE)
    early, late = made(7, "note"), made(8, "note")
    work = fold(received([late, second, early, first])).segment("S3")
    assert work.tick is not None
    assert work.tick.payload["reel"] == "RL-1"
    assert work.last_note is not None
    assert work.last_note.text == "note 8"


def test_between_two_tablets_the_server_s_order_decides() -> None:
    """Whatever each has counted: one may have recorded much before the other its first."""
    one, other = made(9, "tick", **ONE_PIECE), made(1, "tick", device=2, **OTHER_PIECE)
    noted, noted_too = made(10, "note"), made(2, "note", device=2)
    for arrival in permutations([one, other, noted, noted_too]):
        events = received(arrival)
        work = fold(events).segment("S3")
        came = [event.key for event in events]
        assert [tick.key for tick in work.ticks] == sorted((one.key, other.key), key=came.index)
        assert [note.key for note in work.notes] == sorted(
            (noted.key, noted_too.key), key=came.index
        )


def test_what_stands_side_by_side_is_placed_by_itself() -> None:
    """A tick that came late moves no note: B was noted after what A had said by then."""
    said, other, tick = made(4, "note"), made(1, "note", device=2), made(3, "tick", **ONE_PIECE)
    events = received([said, other, tick])
    work = fold(events).segment("S3")
    assert is_after(events[1], events[0])
    assert [note.key for note in work.notes] == [said.key, other.key]
    alone = fold(event for event in events if event.kind == "note").segment("S3")
    assert alone.notes == work.notes


def test_a_fold_is_total_where_no_order_of_all_exists() -> None:
    """Each came after the one before it, in a ring: every one is there once, given in any order."""
    late, other, first = received([made(2, "note"), made(1, "note", device=2), made(1, "note")])
    assert is_after(other, late)
    assert is_after(first, other)
    assert is_after(late, first)
    seen = {_notes(fold(given)) for given in permutations([late, other, first])}
    assert seen == {(first.key, other.key, late.key)}


def _notes(folded: Folded) -> Sequence[str]:
    return tuple(note.key for note in folded.segment("S3").notes)
