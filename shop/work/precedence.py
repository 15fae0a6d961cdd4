"""Which of two events came first, and in which order many are shown.

`is_after` answers for two. Over devices it is no order of all: of A1 and A2 of one tablet and B of
another, received A2, B, A1, each came after the one before it, and A2 after A1. So what is judged
asks it of two events at a time, and what is shown stands by `in_sequence`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from shop.work.model import Event


def is_after(one: Event, other: Event) -> bool:
    """Whether one event came after another.

    A device counts what it records, so that its own events keep their order however they are
    sent; between devices the order of the server decides, since their clocks do not agree.
    """
    if _device(one) == _device(other) and one.device_seq != other.device_seq:
        return one.device_seq > other.device_seq
    return one.receipt > other.receipt


def in_sequence(events: Iterable[Event]) -> tuple[Event, ...]:
    """Every event once, in an order to be shown.

    The places of each device are those at which the server had something of it; in them its
    events stand by its own count.
    """
    places = sorted(events, key=lambda event: (event.receipt, event.device_seq, event.key))
    own: dict[str, list[Event]] = {}
    for event in places:
        own.setdefault(_device(event), []).append(event)
    counted: dict[str, Iterator[Event]] = {
        device: iter(sorted(held, key=lambda event: event.device_seq))
        for device, held in own.items()
    }
    return tuple(next(counted[_device(event)]) for event in places)


def _device(event: Event) -> str:
    return event.key.partition(":")[0]
