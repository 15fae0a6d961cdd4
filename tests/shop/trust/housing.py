"""What the yard of `house` holds, by name, and a quote and an order of hers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils import timezone

from shop.models import Customer, Hull, Member, OwnerLink, Quote, StateKind, WorkOrder, Yard
from shop.selectors.quotes import quote_blockers
from shop.services import quotes
from shop.services.systems import system_store
from tests.shop.owning import Small, by_link, decide, two_hoses

ABSENT = 2_000_000_001
PDF = b"%PDF-1.7 test"
ROLES = ("lead", "writer", "technician", "bookkeeper")

Arguments = list[Any]


@dataclass
class House:
    """People, tokens and links by name; what addresses are built of, own and of elsewhere."""

    small: Small
    people: dict[str, Member]
    strangers: dict[str, Member]
    tokens: dict[str, str]
    visits: dict[str, OwnerLink]
    args: dict[str, Arguments]
    foreign: dict[str, Arguments]
    things: dict[str, Any] = field(default_factory=dict)
    forms: dict[str, dict[str, Any]] = field(default_factory=dict)  # drawn once, sent by many

    @property
    def yard(self) -> Yard:
        return self.small.yard


def absent(args: Arguments) -> Arguments:
    """The same address for an object that there is not."""
    return [_absent(value) for value in args]


def _absent(value: Any) -> Any:
    if isinstance(value, UUID):
        return UUID(int=1)
    return ABSENT if isinstance(value, int) else value


def draft_of(house: House, name: str, condition: str = "good") -> Quote:
    lead, yard = house.people["lead"], house.yard
    owner = Customer.objects.create(yard=yard, name="Ada Test", email="ada@owner.example")
    hull = Hull.objects.create(yard=yard, customer=owner, name=name)
    found = system_store(hull=hull, kind=StateKind.FOUND, document=two_hoses("replace_now"))
    document = two_hoses(condition)
    proposed = system_store(hull=hull, kind=StateKind.PROPOSED, document=document, parent=found)
    proposed.segments.update(product_sku="H-TEST", access="open", kept=False)
    quote = quotes.quote_start(member=lead, hull=hull, proposed=proposed)
    return quotes.quote_change(
        member=lead, quote=quote, style="line", note="", fuel_aboard_gal=Decimal(0),
        waste_gal=Decimal(0),
    )  # fmt: skip


def decided(house: House, quote: Quote) -> None:
    """Everything that the rules say of it taken on by the lead."""
    for blocker in quote_blockers(quote, on=timezone.now().date()):
        subject, rule, regime = blocker.key
        quotes.override_add(
            member=house.people["lead"], quote=quote, subject=subject, rule=rule, regime=regime,
            reason="Test.",
        )  # fmt: skip


def issued_of(house: House, name: str) -> Quote:
    quote = draft_of(house, name)
    decided(house, quote)
    hour_ago = timezone.now() - timedelta(hours=1)
    quotes.quote_issue(member=house.people["lead"], quote=quote, at=hour_ago)
    return Quote.objects.select_related("job", "yard", "hull__customer").get(pk=quote.pk)


def order_of(house: House, name: str) -> WorkOrder:
    quote = issued_of(house, name)
    decide(quote, by_link(quote, timezone.now()), "A")
    return WorkOrder.objects.select_related("job", "yard").get(job=quote.job)
