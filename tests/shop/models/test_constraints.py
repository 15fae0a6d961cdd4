"""What the database itself refuses, whoever writes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from shop.models import (
    AccessClass,
    AuditEntry,
    Device,
    Document,
    EventText,
    Hull,
    IdempotencyRecord,
    Job,
    JobEvent,
    LaborOp,
    Member,
    NumberSeries,
    Override,
    PracticeSetting,
    Product,
    Quote,
    QuoteOption,
    RenderJob,
    User,
    WorkOrder,
)
from tests import factories as make

pytestmark = pytest.mark.django_db

Write = Callable[[Member], object]


def _hull(lead: Member) -> Hull:
    return lead.yard.hulls.first() or make.make_hull(lead.yard)


def _document(lead: Member, **fields: object) -> Document:
    base = Document.objects.first() or make.make_document(lead, _hull(lead), number="Q-2609-001")
    values = {
        field.attname: getattr(base, field.attname)
        for field in Document._meta.fields
        if field.attname not in ("id", "public_id")
    }
    return Document.objects.create(**{**values, "number": "Q-2609-002", **fields})


def _option(lead: Member, **fields: object) -> QuoteOption:
    quote = Quote.objects.first() or make.make_quote(_hull(lead))
    return QuoteOption.objects.create(**{"quote": quote, "letter": "A", "title": "X", **fields})


def _entry(lead: Member, **fields: object) -> AuditEntry:
    base = {"yard": lead.yard, "seq": 1, "at": make.NOON, "action": "x", "subject_kind": "x"}
    return AuditEntry.objects.create(
        **{**base, "previous_hash": "0" * 64, "hash": "1" * 64, **fields}
    )


def _event(lead: Member, **fields: object) -> JobEvent:
    quote = Quote.objects.first() or make.make_quote(_hull(lead))
    job = Job.objects.first() or make.make_job(_hull(lead))
    order = WorkOrder.objects.first() or WorkOrder.objects.create(
        yard=lead.yard, job=job, proposed=quote.proposed
    )
    device = Device.objects.first() or Device.objects.create(yard=lead.yard, name="Tablet")
    base = {
        "yard": lead.yard,
        "work_order": order,
        "device": device,
        "device_seq": 1,
        "author": lead,
        "uploader": lead,
        "kind": "tick",
        "content_sha256": "0" * 64,
        "claimed_at": make.NOON,
        "received_at": make.NOON,
    }
    return JobEvent.objects.create(**{**base, **fields})


def _twice(write: Write) -> Write:
    def both(lead: Member) -> None:
        write(lead)
        write(lead)

    return both


def _same_event_id(lead: Member) -> None:
    first = _event(lead)
    _event(lead, event_id=first.event_id, device_seq=2)


def _record(lead: Member, **fields: object) -> IdempotencyRecord:
    base = {"yard": lead.yard, "member": lead, "key": "k", "method": "POST", "path": "/"}
    return IdempotencyRecord.objects.create(
        **{**base, "body_sha256": "0" * 64, "status": 200, "created_at": make.NOON, **fields}
    )


def _render(lead: Member, **fields: object) -> RenderJob:
    document = Document.objects.first() or make.make_document(lead, _hull(lead))
    return RenderJob.objects.create(**{"document": document, **fields})


def _override(lead: Member, **fields: object) -> Override:
    quote = Quote.objects.first() or make.make_quote(_hull(lead))
    base = {"quote": quote, "subject": "S1", "rule": "r", "regime": "x", "reason": "y"}
    return Override.objects.create(**{**base, "member": lead, "at": make.NOON, **fields})


REFUSED: dict[str, Write] = {
    "a sign-in name in other capitals": lambda lead: User.objects.create(
        username=lead.user.username.upper(), name="X"
    ),
    "one person twice in a yard": lambda lead: Member.objects.create(
        yard=lead.yard, user=lead.user, role="writer"
    ),
    "a role that is none": lambda lead: Member.objects.filter(pk=lead.pk).update(role="captain"),
    "a document number twice": _twice(_document),
    "a document without a snapshot": lambda lead: _document(lead, snapshot=""),
    "a PDF hash without a size": lambda lead: _document(lead, pdf_sha256="ab" * 32),
    "a job number twice": _twice(lambda lead: make.make_job(_hull(lead))),
    "a series twice": _twice(
        lambda lead: NumberSeries.objects.create(yard=lead.yard, kind="invoice", period="26")
    ),
    "a series that begins at zero": lambda lead: NumberSeries.objects.create(
        yard=lead.yard, kind="invoice", period="26", first_number=0, next_number=0
    ),
    "a series that runs backward": lambda lead: NumberSeries.objects.create(
        yard=lead.yard, kind="invoice", period="26", first_number=5, next_number=4
    ),
    "an issued quote without a number": lambda lead: make.make_quote(
        _hull(lead), status="issued", issued_on=make.DAY, valid_to=make.DAY
    ),
    "an issued quote without a date": lambda lead: make.make_quote(
        _hull(lead), status="issued", number="Q-2609-001"
    ),
    "a quote that ends before it begins": lambda lead: make.make_quote(
        _hull(lead), status="issued", number="Q", issued_on=make.DAY, valid_to=date(2026, 9, 10)
    ),
    "an option whose net does not add up": lambda lead: _option(
        lead, labor="10.00", parts="5.00", net="15.01", total="15.01"
    ),
    "an option whose total does not add up": lambda lead: _option(
        lead, labor="10.00", net="10.00", tax="0.65", total="10.64"
    ),
    "an option with a small letter": lambda lead: _option(lead, letter="a"),
    "two recommended options": lambda lead: (
        _option(lead, recommended=True),
        _option(lead, letter="B", recommended=True),
    ),
    "an override twice": _twice(_override),
    "an override without a reason": lambda lead: _override(lead, reason=""),
    "an audit number twice": lambda lead: (_entry(lead), _entry(lead, previous_hash="1" * 64)),
    "a fork of the audit chain": lambda lead: (_entry(lead), _entry(lead, seq=2)),
    "an event id twice on one device": _same_event_id,
    "a device sequence twice": _twice(_event),
    "an erased text that is still there": lambda lead: EventText.objects.create(
        event=_event(lead), text="still here", erased_at=make.NOON
    ),
    "two desks in one yard": _twice(
        lambda lead: Device.objects.create(yard=lead.yard, kind="desk", name="Desk")
    ),
    "an idempotency key twice": _twice(_record),
    "an empty idempotency key": lambda lead: _record(lead, key=""),
    "a render job twice": _twice(_render),
    "a finished render without a hash": lambda lead: _render(lead, state="done"),
    "a dead render without a reason": lambda lead: _render(lead, state="dead"),
    "a leased render without an end": lambda lead: _render(lead, state="leased"),
    "a product number twice": _twice(
        lambda lead: Product.objects.create(
            yard=lead.yard, sku="X-1", kind="part", description="X", price=1
        )
    ),
    "a negative price": lambda lead: Product.objects.create(
        yard=lead.yard, sku="X-1", kind="part", description="X", price=-1
    ),
    "an operation by the hour and flat": lambda lead: LaborOp.objects.create(
        yard=lead.yard, code="X", text="X", hours=1, flat=1
    ),
    "an operation without a price": lambda lead: LaborOp.objects.create(
        yard=lead.yard, code="X", text="X"
    ),
    "negative hours": lambda lead: AccessClass.objects.create(
        yard=lead.yard, code="open", text="X", hours=-1
    ),
    "a switch on a rule of law": lambda lead: PracticeSetting.objects.create(
        yard=lead.yard, rule_id="cfr-33-183-558-a", setting="off"
    ),
    "a number of the shop's own that is none": lambda lead: PracticeSetting.objects.create(
        yard=lead.yard, rule_id="practice-fill-bore", setting="count", number=0
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_the_database_refuses(what: str) -> None:
    lead = make.make_member()
    with pytest.raises(IntegrityError), transaction.atomic():
        REFUSED[what](lead)


def test_what_differs_only_in_its_scope_is_accepted() -> None:
    """The same keys in another yard, device or member are other keys."""
    one, other = make.make_member(), make.make_member()
    for lead in (one, other):
        NumberSeries.objects.create(yard=lead.yard, kind="invoice", period="26")
        _record(lead)
        _entry(lead)
    first = _event(one)
    tablet = Device.objects.create(yard=one.yard, name="Second tablet")
    again = _event(one, event_id=first.event_id, device=tablet)
    assert again.receipt > first.receipt


def test_totals_of_the_demo_add_up_in_binary_too() -> None:
    """Option B of the first demo quote: SQLite adds decimals as floats."""
    _option(
        make.make_member(),
        labor="1793.76",
        parts="523.84",
        supplies="60.00",
        fees="20.50",
        net="2398.10",
        tax="37.95",
        total="2436.05",
    )
    assert QuoteOption.objects.get().total == Decimal("2436.05")


def test_drafts_have_no_number_and_do_not_collide() -> None:
    hull = make.make_hull(make.make_yard())
    assert make.make_quote(hull).number == make.make_quote(hull).number == ""


def test_ids_of_events_use_all_128_bits() -> None:
    """A version 4 UUID fixes six of its bits; over 64 ids each bit is seen both ways."""
    from shop.models.workorders import random_id

    ids = [random_id().int for _ in range(64)]
    ones = zeros = 0
    for value in ids:
        ones |= value
        zeros |= ~value
    everything = (1 << 128) - 1
    assert ones & everything == everything
    assert zeros & everything == everything
