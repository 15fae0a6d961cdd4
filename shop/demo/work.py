"""The work of the scenario: hose on the shelf, job 1 done and signed, job 3 in progress.

Hours of job 3's make-safe list, of job 1's parts beside the segments, and of the note that S4 was
begun, are ours; the scenario gives none. The fuel of job 3 is not counted yet.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from shop.demo.scenario import work
from shop.models import Completion, Device, DeviceKind, Member, Product, Quote, Reel, WorkOrder
from shop.models.workorders import random_id
from shop.services.completions import completion_sign
from shop.services.events import EventResult, events_receive
from shop.services.lots import reel_receive
from shop.services.workpapers import workorder_print

INCHES_A_FOOT = 12


def load_work(members: Mapping[str, Member], quotes: Mapping[str, Quote]) -> None:
    """Sections 4, 7, 9 and 10 of the scenario, as far as the yard works."""
    load_reels(members)
    tablet = Device.objects.create(
        yard=members["dov"].yard, kind=DeviceKind.TABLET, name="Tablet of Dov"
    )
    for entry in work()["jobs"]:
        quote = quotes.get(entry["boat"])
        if quote is not None:
            work_order = WorkOrder.objects.get(job=quote.job)
            load_job(members, work_order, tablet, entry)


def load_reels(members: Mapping[str, Member]) -> list[Reel]:
    """The six reels, with the markings as they were read."""
    products = {row.sku: row for row in Product.objects.filter(yard=members["dov"].yard)}
    return [
        reel_receive(
            member=members[entry["by"]],
            product=products[entry["sku"]],
            ident=entry["ident"],
            lot_code=entry["lot"],
            marking=entry["marking"],
            length_in=Decimal(entry["received_ft"]) * INCHES_A_FOOT,
            received_on=date.fromisoformat(entry["received_on"]),
        )
        for entry in work()["reels"]
    ]


def load_job(
    members: Mapping[str, Member],
    work_order: WorkOrder,
    tablet: Device,
    entry: Mapping[str, Any],
) -> Completion | None:
    """One job's events by the tablet, each received when it was sent, then its signature.

    The work order that is still open was printed before its first step.
    """
    zone = ZoneInfo(work_order.yard.time_zone)
    if "signed" not in entry:
        begun = _local(entry["events"][0]["at"], zone)
        workorder_print(member=members["ingrid"], work_order=work_order, at=begun)
    for event in entry["events"]:
        _receive(members, work_order, tablet, event, zone)
    if "signed" not in entry:
        return None
    signed = entry["signed"]
    at = _local(signed["at"], zone)
    return completion_sign(member=members[signed["by"]], work_order=work_order, at=at)


def _receive(
    members: Mapping[str, Member],
    work_order: WorkOrder,
    tablet: Device,
    event: Mapping[str, Any],
    zone: ZoneInfo,
) -> None:
    author = members[event["who"]]
    sent = {
        "id": random_id().hex,
        "seq": tablet.events.count() + 1,
        "work_order": work_order.pk,
        "kind": event["kind"],
        "segment": event.get("segment", ""),
        "author": author.pk,
        "claimed_at": _local(event["at"], zone).isoformat(),
        "payload": event.get("payload", {}),
        "text": event.get("text", ""),
    }
    now = _local(event.get("received", event["at"]), zone)
    result = events_receive(device=tablet, uploader=author, batch=[sent], now=now)[0]
    _stored(result, sent)


def _stored(result: EventResult, sent: Mapping[str, Any]) -> None:
    if result.result != "stored":
        raise ValueError(f"The demonstration's {sent['kind']} is {result.result}: {result.reason}")


def _local(text: str, zone: ZoneInfo) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=zone)
