"""Work that counts, against the make-safe list as it stood when the work was received."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.models import JobEvent, WorkOrder
from shop.verify.model import Fault, Look, named
from shop.work.safe import READS_LEL, STEP_KEYS

STOP_PCT = Decimal(10)  # 29 CFR 1926.152(e)(1) as copied in 8 CCR 1934(a) (secondary source)
WORK = ("start", "tick", "fuel", "reading")
MOVERS = ("step", "untick", "decide")


def made_safe_first(look: Look) -> Iterator[Fault]:
    """What opens, moves fuel or tests counts only if the whole list had come before it.

    The order is the server's. What was kept apart is passed over: it counts by a lead's decision
    or not at all. Steps taken back or stopped later do not reach back to work that came before.
    """
    for work_order in WorkOrder.objects.order_by("pk"):
        so_far: list[JobEvent] = []
        missing = missing_steps(so_far)
        rows = JobEvent.objects.filter(work_order=work_order, kind__in=(*WORK, *MOVERS))
        for row in rows.order_by("receipt"):
            if row.kind in MOVERS:
                so_far.append(row)
                missing = missing_steps(so_far)
            elif not row.quarantine_reason:
                look.at()
                if missing:
                    yield Fault(named(row), f"counts without {', '.join(missing)}", "made safe")


def missing_steps(so_far: list[JobEvent]) -> list[str]:
    """The steps that nothing confirms among the events that have come."""
    counted = [row for row in so_far if not row.quarantine_reason or _key(row) in _taken(so_far)]
    gone = {(name, *_on(row)) for row in counted if row.kind == "untick" for name in _named(row)}
    steps = [row for row in counted if row.kind == "step"]
    standing = [row for row in steps if _is_stop(row) or (_key(row), *_on(row)) not in gone]
    return sorted(key for key in STEP_KEYS if not _confirmed(key, standing))


def _confirmed(key: str, standing: list[JobEvent]) -> bool:
    """Somebody did the step, and has seen every reading of it at which the work stopped."""
    rows = [row for row in standing if row.payload.get("step") == key]
    stops = {_key(row) for row in rows if _is_stop(row)}
    done = [row for row in rows if not _is_stop(row)]
    seen = {name for row in done for name in row.payload.get("after", ())}
    return bool(done) and stops <= seen


def _is_stop(row: JobEvent) -> bool:
    read = row.payload.get("lel_pct")
    if row.kind != "step" or read is None or row.payload.get("step") not in READS_LEL:
        return False
    return Decimal(str(read)) >= STOP_PCT


def _taken(so_far: list[JobEvent]) -> set[str]:
    """What a lead took into the record, of what was kept apart."""
    return {
        name
        for row in so_far
        if row.kind == "decide" and not row.quarantine_reason and row.payload.get("accept") is True
        for name in _named(row)
    }


def _named(row: JobEvent) -> list[str]:
    """Keys of the events that one takes back or decides, under whichever word it has them."""
    return [key for word in ("names", "replaces", "events") for key in row.payload.get(word, ())]


def _on(row: JobEvent) -> tuple[str, str]:
    """What an event is about: nothing takes back what stands on another segment or test."""
    return row.segment_ident, str(row.payload.get("test", ""))


def _key(row: JobEvent) -> str:
    return f"{row.device_id}:{row.event_id.hex}"
