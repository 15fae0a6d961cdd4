"""A shop with the scenario's price list and one boat, ready to be quoted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal

from shop.demo.boats import load_boat
from shop.demo.prices import load_prices
from shop.demo.scenario import scenario
from shop.models import Hull, Member, Quote, SystemState
from shop.services import quotes
from shop.services.accounts import Person, yard_bootstrap

ISSUED = datetime(2026, 10, 7, 15, 40, tzinfo=UTC)
REQUIRED = ["S1", "S3", "S4", "S6"]
VALVE = {"sku": "F-ASV-031", "quantity": "1", "note": "generator pickup"}
FILTER = {"sku": "F-ELEM-10", "quantity": "1", "note": ""}


@dataclass
class Shop:
    members: dict[str, Member]
    lead: Member
    writer: Member
    hull: Hull
    proposed: SystemState


def make_shop() -> Shop:
    data = scenario()
    made = yard_bootstrap(
        fields={"name": "Test Yard", "time_zone": "America/New_York", "currency": "USD"},
        people=tuple(Person(p["username"], p["name"], p["role"]) for p in data["members"]),
    )
    load_prices(made.members["ingrid"], data)
    entry = next(boat for boat in data["boats"] if boat["key"] == "B2")
    hull, proposed = load_boat(made.members, entry)
    return Shop(made.members, made.members["ingrid"], made.members["marisol"], hull, proposed)


def make_draft(shop: Shop) -> Quote:
    quote = quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    option = quote.options.get()
    quotes.option_change(
        member=shop.writer,
        option=option,
        title="Required items",
        summary="",
        recommended=False,
        segments=REQUIRED,
        extras=[VALVE],
    )
    quotes.option_add(
        member=shop.writer,
        quote=quote,
        title="Full re-hose",
        recommended=True,
        extras=[VALVE, FILTER],
    )
    return quotes.quote_change(
        member=shop.writer,
        quote=quote,
        fuel_aboard_gal=Decimal(44),
        waste_gal=Decimal(3),
        style="line",
        note="",
    )


def with_type_b(proposed: SystemState) -> None:
    """Propose B1 hose for S3, which lets 8.78 fl oz out where 5 are allowed."""
    row = proposed.segments.get(ident="S3")
    row.facts["hose"]["class"] = "B1"
    row.save()
