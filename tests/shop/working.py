"""Second Helping at work: her quote issued, her work order open, hose on the shelf."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from shop.models import Device, Member, Product, Quote, Reel, WorkOrder
from shop.services import quotes
from shop.services.events import EventResult, events_receive
from shop.services.lots import reel_receive
from shop.services.workorders import workorder_open
from tests.shop.quoting import ISSUED, Shop, make_draft

NOW = datetime(2026, 10, 20, 14, 25, tzinfo=UTC)
# Markings as the scenario prints them, section 4.
REELS = {
    "RL-1": ("H-A2-150", "LOT-1", "USCG TYPE A2 2026 SAE J1527", 150),
    "RL-2": ("H-A1-062", "LOT-2", "USCG TYPE A1-15 2026 SAE J1527", 600),
    "RL-3": ("H-A1-038", "LOT-3", "USCG TYPE A1-15 2026 SAE J1527", 600),
    "RL-4": ("H-A1-031", "LOT-4", "USCG TYPE A1-15 2025 SAE J1527", 600),
    "RL-5": ("H-A1-025", "LOT-5", "USCG TYPE A1-15 2026 SAE J1527", 600),
}


@dataclass
class Yard:
    """A shop with a work order, a tablet and its technician."""

    shop: Shop
    quote: Quote
    work_order: WorkOrder
    tablet: Device
    tech: Member
    reels: dict[str, Reel]
    seq: int = 0

    def event(self, kind: str, segment: str = "", **fields: Any) -> dict[str, Any]:
        """An event of the tablet, as it goes over the wire."""
        self.seq += 1
        payload = {k: v for k, v in fields.items() if k not in ("text", "author", "id", "seq")}
        return {
            "id": fields.get("id", uuid.uuid4().hex),
            "seq": fields.get("seq", self.seq),
            "work_order": self.work_order.pk,
            "kind": kind,
            "segment": segment,
            "author": fields.get("author", self.tech.pk),
            "claimed_at": NOW.isoformat(),
            "payload": payload,
            "text": fields.get("text", ""),
        }

    def tick(self, segment: str, reel: str, cut_in: str, **fields: Any) -> dict[str, Any]:
        return self.event("tick", segment, reel=reel, cut_in=cut_in, **fields)

    def send(self, *events: object, device: Device | None = None) -> list[EventResult]:
        return events_receive(
            device=device or self.tablet, uploader=self.tech, batch=events, now=NOW
        )

    def key(self, event: dict[str, Any], device: Device | None = None) -> str:
        return f"{(device or self.tablet).pk}:{event['id']}"


def make_yard_at_work(shop: Shop, letter: str = "B") -> Yard:
    quote = make_draft(shop)
    quotes.quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    quote.refresh_from_db()
    option = quote.options.get(letter=letter)
    work_order = workorder_open(member=shop.writer, quote=quote, option=option)
    tablet = Device.objects.create(yard=shop.lead.yard, name="Tablet 1")
    reels = {ident: make_reel(shop.writer, ident) for ident in REELS}
    return Yard(shop, quote, work_order, tablet, shop.members["dov"], reels)


def make_reel(member: Member, ident: str) -> Reel:
    sku, lot, marking, length_in = REELS[ident]
    return reel_receive(
        member=member,
        product=Product.objects.get(yard=member.yard, sku=sku),
        ident=ident,
        lot_code=lot,
        marking=marking,
        length_in=Decimal(length_in),
        received_on=date(2026, 8, 3),
    )
