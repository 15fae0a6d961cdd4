"""Rows that tests need, with names that cannot be taken for real ones."""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime
from typing import Any

from shop.models import (
    Customer,
    Document,
    DocumentKind,
    Hull,
    Job,
    Member,
    Quote,
    QuoteOption,
    QuoteStatus,
    Role,
    StateKind,
    SystemState,
    User,
    Yard,
)
from shop.services.documents import document_issue
from shop.services.systems import proposal_start, system_store

NOON = datetime(2026, 9, 11, 16, 0, tzinfo=UTC)
DAY = date(2026, 9, 11)

# A tank, its withdrawal, one feed hose to the engine: the smallest system worth judging.
TINY: dict[str, Any] = {
    "format": "fuel-system/1",
    "boat": {"kind": "motorboat", "hin": "QZX04217D819", "built": "2018-04", "model_year": 2019},
    "fuel": {"ethanol_pct": 10},
    "engines": [{"id": "OBM", "mount": "outboard", "fuel": "gasoline", "use": "propulsion"}],
    "compartments": [{"id": "CHASE", "kind": "other", "sun": False}],
    "tanks": [{"id": "T1", "fuel": "gasoline", "capacity_gal": 40, "top_in": 8, "bottom_in": -4}],
    "components": [
        {"id": "T1-P", "kind": "withdrawal", "tank": "T1", "height_in": 9, "anti_siphon": "none"},
        {"id": "ENG", "kind": "engine_inlet", "height_in": 20},
    ],
    "segments": [
        {
            "id": "S1",
            "service": "feed",
            "from": "T1-P",
            "to": "ENG",
            "length_in": 96.5,
            "compartments": ["CHASE"],
            "engine": "OBM",
            "hose": {"class": "B1", "inside_diameter_in": "3/8", "condition": "replace_now"},
            "to_end": {"shape": "bead", "clamps": [{"kind": "worm_drive"}, {"kind": "ear"}]},
        }
    ],
}


def tiny_document() -> dict[str, Any]:
    return copy.deepcopy(TINY)


def make_yard(name: str = "Test Yard", **fields: Any) -> Yard:
    return Yard.objects.create(name=name, **fields)


def make_member(
    yard: Yard | None = None, role: str = Role.LEAD, username: str | None = None
) -> Member:
    username = username or f"{role}-{User.objects.count()}"
    user = User.objects.create_user(username, "correct horse battery", name=f"Test {role}")
    return Member.objects.create(yard=yard or make_yard(), user=user, role=role)


def make_customer(yard: Yard, name: str = "Test Owner") -> Customer:
    return Customer.objects.create(yard=yard, name=name)


def make_hull(yard: Yard, name: str = "Test Boat") -> Hull:
    return Hull.objects.create(yard=yard, customer=make_customer(yard), name=name)


def make_found(hull: Hull, document: dict[str, Any] | None = None) -> SystemState:
    return system_store(hull=hull, kind=StateKind.FOUND, document=document or tiny_document())


def make_quote(hull: Hull, **fields: Any) -> Quote:
    found = make_found(hull)
    proposed = proposal_start(found=found)
    return Quote.objects.create(yard=hull.yard, hull=hull, found=found, proposed=proposed, **fields)


def make_issued_quote(hull: Hull, number: str = "Q-2609-014") -> Quote:
    """A quote with one option and one line, set to issued as the last step."""
    quote = make_quote(hull)
    option = QuoteOption.objects.create(quote=quote, letter="A", title="Test work")
    option.lines.create(
        no=1,
        kind="part",
        ref="X-1",
        description="Test part",
        quantity=1,
        unit="ea",
        price="1.00",
        amount="1.00",
        taxable=True,
    )
    quote.number, quote.issued_on, quote.valid_to = number, DAY, date(2026, 10, 11)
    quote.status = QuoteStatus.ISSUED
    quote.save()
    return quote


def make_job(hull: Hull, number: str = "J-2609-014") -> Job:
    return Job.objects.create(yard=hull.yard, hull=hull, number=number, opened_on=DAY)


def make_document(
    member: Member,
    hull: Hull | None = None,
    number: str = "Q-2609-014",
    kind: DocumentKind = DocumentKind.QUOTE,
    **fields: Any,
) -> Document:
    return document_issue(
        member=member,
        kind=kind,
        number=number,
        hull=hull or make_hull(member.yard),
        document_date=DAY,
        issued_at=NOON,
        snapshot={"number": number, "total": "2436.05"},
        template_version="1",
        **fields,
    )
