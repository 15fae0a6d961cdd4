"""Issued documents: a copy, its hash, its promise of a PDF, all in one transaction."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from shop.models import AuditEntry, Document, DocumentKind, OutboxRow
from shop.services.documents import document_issue, snapshot_intact, snapshot_text
from tests import factories as make

pytestmark = pytest.mark.django_db


def test_a_document_keeps_a_copy_and_the_zone_of_its_yard() -> None:
    lead = make.make_member(make.make_yard(time_zone="Europe/London", currency="EUR"))
    document = make.make_document(lead)
    document.refresh_from_db()
    assert json.loads(document.snapshot) == {"number": "Q-2609-014", "total": "2436.05"}
    assert document.snapshot_sha256 == hashlib.sha256(document.snapshot.encode()).hexdigest()
    assert (document.time_zone, document.currency) == ("Europe/London", "EUR")
    assert (document.pdf_sha256, document.pdf_size) == ("", None)
    assert snapshot_intact(document)
    document.snapshot = document.snapshot.replace("2436.05", "2436.06")
    assert not snapshot_intact(document)


def test_the_pdf_is_promised_and_the_log_has_the_hash() -> None:
    lead = make.make_member()
    document = make.make_document(lead)
    row = OutboxRow.objects.get()
    assert (row.topic, row.payload) == ("document.pdf", {"document": document.pk})
    entry = AuditEntry.objects.get(action="document.issue")
    assert entry.fields["values"]["snapshot_sha256"] == document.snapshot_sha256


def test_nothing_stays_of_an_issue_that_is_rolled_back() -> None:
    lead = make.make_member()
    hull = make.make_hull(lead.yard)
    with transaction.atomic():
        make.make_document(lead, hull)
        transaction.set_rollback(True)
    assert not Document.objects.exists()
    assert not OutboxRow.objects.exists()
    assert not AuditEntry.objects.exists()


def test_the_worker_is_rung_after_the_commit_only(
    django_capture_on_commit_callbacks: pytest.FixtureRequest,
) -> None:
    with django_capture_on_commit_callbacks() as callbacks:  # type: ignore[operator]
        make.make_document(make.make_member())
    assert [callback.__name__ for callback in callbacks] == ["ring"]


def test_a_number_is_issued_once_and_a_version_is_another_document() -> None:
    lead = make.make_member()
    hull = make.make_hull(lead.yard)
    first = make.make_document(lead, hull)
    with pytest.raises(ValidationError), transaction.atomic():
        make.make_document(lead, hull)
    second = make.make_document(lead, hull, version=2, corrects=first)
    assert (second.number, second.version, second.corrects) == ("Q-2609-014", 2, first)


def test_the_same_content_has_the_same_bytes() -> None:
    one = snapshot_text({"b": ["2.00", None], "a": {"y": 1.5, "x": True}})
    other = snapshot_text({"a": {"x": True, "y": 1.5}, "b": ["2.00", None]})
    assert one == other == '{"a":{"x":true,"y":1.5},"b":["2.00",null]}'


def test_money_in_a_snapshot_is_text() -> None:
    lead = make.make_member()
    with pytest.raises(TypeError):
        document_issue(
            member=lead,
            kind=DocumentKind.QUOTE,
            number="Q-2609-014",
            hull=make.make_hull(lead.yard),
            document_date=make.DAY,
            issued_at=make.NOON,
            snapshot={"total": Decimal("2436.05")},
            template_version="1",
        )
