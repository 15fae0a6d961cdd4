"""Which segments are fitted, worked out a second time and by another way.

It reads rows, not the fold's events: a tick counts unless an untick of its segment names it, and
what is kept apart does not count at all.
"""

from __future__ import annotations

from collections.abc import Iterable

from shop.models import JobEvent


def fitted(rows: Iterable[JobEvent]) -> dict[str, set[str]]:
    """The ticks that count, by segment."""
    counted = [row for row in rows if not row.quarantine_reason]
    named = {
        (row.segment_ident, name)
        for row in counted
        if row.kind == "untick"
        for name in row.payload["names"]
    }
    ticks: dict[str, set[str]] = {}
    for row in counted:
        if row.kind == "tick":
            key = f"{row.device_id}:{row.event_id.hex}"
            standing = ticks.setdefault(row.segment_ident, set())
            if (row.segment_ident, key) not in named:
                standing.add(key)
    return ticks
