"""A small shop with one issued quote, quick to make, and the acts of its owner.

Rates are round so that every figure can be worked out by hand: 100.00 an hour, hose at 2.00 a
foot, supplies 6 % of labor (8.00 to 60.00), waste 18.00, tax 6.5 % on parts and supplies.
Option A renews S1: safe 0.50, S1 0.40, test 1.00, run 0.50, record 0.30 = 2.70 h = 270.00;
(96.5 + 4) / 12 in half feet = 8.5 ft = 17.00; supplies 16.20; waste 18.00; tax 6.5 % of 33.20 =
2.16; 323.36 in all. Option B renews S2 as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from shop.demo.load import demo_base
from shop.models import (
    AccessClass,
    Consent,
    Customer,
    Decision,
    Document,
    DocumentKind,
    Hull,
    Job,
    LaborOp,
    Means,
    Member,
    OwnerLink,
    Product,
    Quote,
    RateCard,
    Role,
    StateKind,
    TaxProfile,
    WorkOrder,
    Yard,
)
from shop.selectors.quotes import quote_blockers
from shop.services import quotes
from shop.services.consents import Evidence, consent_record
from shop.services.systems import system_store
from tests.factories import make_member, make_yard, tiny_document

SOON = datetime(2026, 10, 13, 14, 0, tzinfo=UTC)
TOTAL_A = Decimal("323.36")


@dataclass
class Scenario:
    """Issued quotes by the key of their boat, nothing decided."""

    members: dict[str, Member]
    quotes: dict[str, Quote]

    @property
    def writer(self) -> Member:
        return self.members["marisol"]


@dataclass
class Small:
    yard: Yard
    lead: Member
    writer: Member
    hull: Hull
    quote: Quote

    @property
    def job(self) -> Job:
        assert self.quote.job is not None
        return self.quote.job

    @property
    def document(self) -> Document:
        return paper_of(self.quote)

    @property
    def link(self) -> OwnerLink:
        return link_of(self.quote)


def make_scenario(*boats: str) -> Scenario:
    made, issued = demo_base(only=boats)
    return Scenario(made.members, issued)


def make_small(name: str = "Test Yard", at: datetime | None = None) -> Small:
    """The small shop with its quote issued an hour ago, or at a time."""
    yard = make_yard(name, phone="+1 555 0110", email="desk@yard.example", address="1 Test Lane")
    lead = make_member(yard, Role.LEAD)
    writer = make_member(yard, Role.WRITER)
    _prices(yard)
    owner = Customer.objects.create(
        yard=yard, name="Ada Test", email="ada@owner.example", phone="+1 555 0199"
    )
    hull = Hull.objects.create(yard=yard, customer=owner, name="Test Boat")
    quote = _draft(lead, hull)
    at = at or timezone.now() - timedelta(hours=1)
    quotes.quote_issue(member=writer, quote=quote, at=at)
    quote.refresh_from_db()
    return Small(yard, lead, writer, hull, quote)


def two_hoses(condition: str) -> dict[str, Any]:
    document = tiny_document()
    document["components"].append({"id": "FLT", "kind": "filter", "height_in": 12})
    first = document["segments"][0]
    first |= {"to": "FLT", "hose": {"class": "A1", "condition": condition}}
    first.pop("to_end")
    second = {**first, "id": "S2", "from": "FLT", "to": "ENG", "length_in": 20}
    document["segments"].append(second)
    return document


def _draft(lead: Member, hull: Hull) -> Quote:
    found = system_store(hull=hull, kind=StateKind.FOUND, document=two_hoses("replace_now"))
    proposed = system_store(
        hull=hull, kind=StateKind.PROPOSED, document=two_hoses("good"), parent=found
    )
    proposed.segments.update(product_sku="H-TEST", access="open", kept=False)
    quote = quotes.quote_start(member=lead, hull=hull, proposed=proposed)
    no_fuel = {"fuel_aboard_gal": Decimal(0), "waste_gal": Decimal(0)}
    quotes.quote_change(member=lead, quote=quote, style="line", note="", **no_fuel)
    quotes.option_add(member=lead, quote=quote, title="Both hoses", recommended=True)
    quotes.option_change(
        member=lead,
        option=quote.options.get(letter="A"),
        title="One hose",
        summary="Renews S1.",
        recommended=False,
        segments=["S1"],
        extras=[],
    )
    for blocker in quote_blockers(quote, on=date(2026, 10, 7)):
        subject, rule, regime = blocker.key
        quotes.override_add(
            member=lead, quote=quote, subject=subject, rule=rule, regime=regime, reason="Test."
        )
    return quote


def _prices(yard: Yard) -> None:
    day = date(2026, 1, 1)
    RateCard.objects.create(
        yard=yard, starts_on=day, labor_rate=100, supplies_pct="0.06", supplies_floor=8,
        supplies_cap=60, waste_flat=18, waste_per_gal="1.25", deposit_pct="0.4", deposit_step=5,
        hose_add_in=4, hose_step_ft="0.5", fill_extra_hours="0.75",
    )  # fmt: skip
    TaxProfile.objects.create(
        yard=yard, starts_on=day, name="Test tax", rate="0.065",
        taxable_kinds=["part", "supplies"], method="document",
    )  # fmt: skip
    AccessClass.objects.create(yard=yard, code="open", text="Open", hours="0.40")
    hours = {"LAB-SAFE": "0.50", "LAB-PTEST": "1.00", "LAB-RUN": "0.50", "LAB-DOC": "0.30"}
    for code, figure in hours.items():
        LaborOp.objects.create(yard=yard, code=code, text=code, hours=figure)
    for sku, kind, unit, price in (
        ("H-TEST", "hose", "ft", "2.00"),
        ("F-TEST", "part", "ea", "24.50"),
    ):
        Product.objects.create(
            yard=yard, sku=sku, kind=kind, description=f"Test {kind}", unit=unit, price=price
        )


def authorized(small: Small, letter: str = "A") -> WorkOrder:
    """The work order of an option that the owner authorized just now."""
    decide(small.quote, by_link(small.quote, timezone.now()), letter)
    return WorkOrder.objects.get(job=small.job)


def paper_of(quote: Quote) -> Document:
    return quote.documents.filter(kind=DocumentKind.QUOTE).latest("version")


def link_of(quote: Quote) -> OwnerLink:
    return OwnerLink.objects.get(job=quote.job)


def by_link(quote: Quote, at: datetime, person: str = "Test Owner") -> Evidence:
    return Evidence(Means.LINK, person, at, link=link_of(quote), address="owner@owner.example")


def decide(quote: Quote, evidence: Evidence, letter: str | None = "A", sha256: str = "") -> Consent:
    document = paper_of(quote)
    return consent_record(
        document=document,
        shown_sha256=sha256 or document.snapshot_sha256,
        decision=Decision.AUTHORIZED if letter else Decision.DECLINED,
        evidence=evidence,
        option=quote.options.get(letter=letter) if letter else None,
    )
