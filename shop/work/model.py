"""An event of a job, and what all of them together say.

`key` names an event everywhere: device and event id, since an id is unique within its device.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from fuelsys.text import Text

TO_DO, STARTED, FITTED, DEFERRED = "to_do", "started", "fitted", "deferred"


@dataclass(frozen=True)
class Event:
    """One act as it was recorded. `held` says why it waits for a person; blank when it counts."""

    key: str
    kind: str
    author: str
    claimed_at: datetime
    receipt: int = 0
    device_seq: int = 0
    segment: str = ""
    payload: Mapping[str, Any] = field(default_factory=dict, hash=False)
    text: str = ""
    received_at: datetime | None = None
    held: str = ""

    @property
    def named(self) -> frozenset[str]:
        """Keys of the events that this one takes back, replaces or decides."""
        listed = [*_keys(self.payload, "names"), *_keys(self.payload, "replaces")]
        return frozenset([*listed, *_keys(self.payload, "events")])

    @property
    def after(self) -> frozenset[str]:
        """Keys of the events that its author had before their eyes."""
        return frozenset(_keys(self.payload, "after"))


def _keys(payload: Mapping[str, Any], name: str) -> list[str]:
    listed = payload.get(name)
    return [key for key in listed if isinstance(key, str)] if isinstance(listed, list) else []


@dataclass(frozen=True)
class Review:
    """Two acts that do not go together. Both are kept; a person decides."""

    segment: str
    events: tuple[Event, ...]
    message: Text

    @property
    def keys(self) -> frozenset[str]:
        return frozenset(event.key for event in self.events)


@dataclass(frozen=True)
class SegmentWork:
    """One segment: every active tick and deferral, every note and photo ever taken."""

    ident: str
    ticks: tuple[Event, ...] = ()
    taken_back: tuple[Event, ...] = ()  # ticks that an untick names
    unticks: tuple[Event, ...] = ()
    deferrals: tuple[Event, ...] = ()
    starts: tuple[Event, ...] = ()
    notes: tuple[Event, ...] = ()
    photos: tuple[Event, ...] = ()

    @property
    def state(self) -> str:
        if self.ticks:
            return FITTED
        if self.deferrals:
            return DEFERRED
        return STARTED if self.starts else TO_DO

    @property
    def tick(self) -> Event | None:
        """The tick that is shown: the first `in_sequence`. All authors are kept."""
        return self.ticks[0] if self.ticks else None

    @property
    def authors(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(tick.author for tick in self.ticks))

    @property
    def last_note(self) -> Event | None:
        return self.notes[-1] if self.notes else None

    @property
    def seen(self) -> tuple[str, ...]:
        """What a page of this segment shows: a tick made from it names these as known."""
        shown = (*self.ticks, *self.unticks, *self.deferrals)
        return tuple(sorted(event.key for event in shown))


@dataclass(frozen=True)
class Folded:
    """What all events of a work order say.

    What counts is independent of the order in which it came; each group stands `in_sequence`.
    """

    segments: Mapping[str, SegmentWork]
    steps: Mapping[str, tuple[Event, ...]]
    fuel: tuple[Event, ...]
    readings: Mapping[str, tuple[Event, ...]]
    replaced: Mapping[str, tuple[Event, ...]]  # readings that a later one names
    waivers: Mapping[str, tuple[Event, ...]]
    notes: tuple[Event, ...]  # of the job as a whole
    reviews: tuple[Review, ...]
    held: tuple[Event, ...]  # kept apart, not decided
    set_aside: tuple[Event, ...]  # kept apart for good, by decision

    def segment(self, ident: str) -> SegmentWork:
        return self.segments.get(ident) or SegmentWork(ident)
