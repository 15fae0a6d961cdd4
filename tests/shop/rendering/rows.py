"""An issued document as plain rows: these tests are about its PDF, not about how it is issued."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime

from shop.models import Customer, Document, Hull, Member, Role, User, Yard

ISSUED_AT = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


def make_member(name: str = "writer") -> Member:
    yard = Yard.objects.create(name="Test Yard")
    user = User.objects.create(username=name, name="Test Writer")
    return Member.objects.create(yard=yard, user=user, role=Role.WRITER)


def make_document(member: Member, *, number: str = "S-1", text: str = "{}") -> Document:
    customer = Customer.objects.create(yard=member.yard, name="Test Owner")
    hull = Hull.objects.create(yard=member.yard, customer=customer, name="Test Boat")
    return Document.objects.create(
        yard=member.yard,
        kind="survey",
        number=number,
        hull=hull,
        document_date=date(2026, 11, 25),
        time_zone="America/New_York",
        currency="USD",
        issued_at=ISSUED_AT,
        issued_by=member,
        snapshot=text,
        snapshot_sha256=hashlib.sha256(text.encode()).hexdigest(),
        template_version="1",
    )
