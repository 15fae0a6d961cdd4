"""Which waiver of a test holds: one after which nothing was read, worked on or authorized."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from fuelsys.text import Text
from shop.work.model import Event
from shop.work.precedence import in_sequence, is_after

LAPSED = Text("Its waiver is older than the owner's consent to {parts}.")
OVERTAKEN = Text("Its waiver is older than what was read or worked on since.")

Lapsed = tuple[Event, Text]


@dataclass(frozen=True)
class Consented:
    """When the owner gave a consent, and the last event that the server had as it was recorded.

    Someone types the time at which it was given; the order in which the server had things nobody
    types. It is unknown of a consent that was recorded before it was noted.
    """

    at: datetime
    last_receipt: int | None = None

    def is_known_to(self, waiver: Event) -> bool:
        if self.last_receipt is not None:
            return waiver.receipt > self.last_receipt
        return waiver.received_at is not None and self.at <= waiver.received_at


def waiver_standing(
    waivers: Collection[Event],
    read: Collection[Event],
    work: Collection[Event],
    consented: Mapping[str, Consented],
) -> tuple[Event | None, Lapsed | None]:
    """The waiver that holds; or, where none does, the last one and why not.

    `read` is every reading of the test, those that were taken back among them: whoever read it
    after a waiver did not do without it. Where nothing was ever read, a waiver holds for the work
    that was authorized when it was given, and not for what was added since.
    """
    waivers = in_sequence(waivers)
    against = {waiver.key: _against(waiver, read, work, consented) for waiver in waivers}
    holding = next((waiver for waiver in waivers if against[waiver.key] is None), None)
    if holding is not None:
        return holding, None
    why = [(waiver, words) for waiver in waivers if (words := against[waiver.key]) is not None]
    return None, why[-1] if why else None


def _against(
    waiver: Event,
    read: Collection[Event],
    work: Collection[Event],
    consented: Mapping[str, Consented],
) -> Text | None:
    parts = dict.fromkeys(event.segment for event in work if event.segment in consented)
    beyond = [part for part in parts if not consented[part].is_known_to(waiver)]
    if beyond:
        return Text(LAPSED.msgid, {"parts": ", ".join(beyond)})
    since = (*read, *work) if read else ()
    return OVERTAKEN if any(is_after(event, waiver) for event in since) else None
