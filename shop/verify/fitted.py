"""What a record prints as fitted, against the ticks that stand in the events of its work order."""

from __future__ import annotations

import json
from collections.abc import Iterator

from shop.models import Completion, JobEvent, WorkOrder
from shop.verify.model import Fault, Look, named


def ticked(look: Look) -> Iterator[Fault]:
    """Each segment, part and piece of work that a signed record prints has a tick that counts.

    A record prints no part without the id under which it was ticked.
    """
    rows = Completion.objects.select_related("document", "work_order").order_by("pk")
    for completion in rows:
        said = json.loads(completion.document.snapshot)
        known = standing_ticks(completion.work_order)
        for row in [*said["done"], *said.get("items", [])]:
            look.at()
            if row["ident"] not in known:
                yield Fault(named(completion), f"{row['ident']} printed as fitted", "a tick of it")
        for _words in said.get("parts", []):
            look.at()
            yield Fault(named(completion), "a part printed as fitted", "the id of its tick")


def standing_ticks(work_order: WorkOrder) -> set[str]:
    """What the ticks name that no untick took back; kept apart ones count once a lead says so."""
    rows = JobEvent.objects.filter(work_order=work_order, kind__in=("tick", "untick", "decide"))
    rows = rows.order_by("receipt")
    accepted: set[str] = set()
    for row in rows:
        if row.kind == "decide" and not row.quarantine_reason and row.payload["accept"]:
            accepted |= set(row.payload["events"])
    standing: set[tuple[str, str]] = set()
    gone: set[tuple[str, str]] = set()
    for row in rows:
        key = f"{row.device_id}:{row.event_id.hex}"
        if row.quarantine_reason and key not in accepted:
            continue
        if row.kind == "tick":
            standing.add((row.segment_ident, key))
        elif row.kind == "untick":
            gone |= {(row.segment_ident, name) for name in row.payload["names"]}
    return {ident for ident, _key in standing - gone}
