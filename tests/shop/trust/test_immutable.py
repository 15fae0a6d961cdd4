"""R09: what was issued or recorded is not changed by any way of the ORM or of SQL, and a single
bit that changes below the database is found."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
from django.conf import settings
from django.db import DatabaseError, connection, models, transaction
from django.db.models.deletion import ProtectedError

from shop.files import file_keep, file_path
from shop.ledger import lift_triggers, set_triggers
from shop.models import (
    AuditEntry,
    Consent,
    Document,
    Invoice,
    InvoiceLine,
    Member,
    Payment,
    Quote,
    QuoteLine,
    QuoteOption,
    RenderJob,
)
from shop.services.documents import document_intact
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.payments import payment_record
from shop.verify import papers
from shop.verify.model import Check, Look
from tests.shop.billing import make_billable, make_bookkeeper, make_change
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20260924
ATTEMPTS, FLIPS = 1_000, 500
MODELS: tuple[type[models.Model], ...] = (
    Invoice, InvoiceLine, Payment, Consent, Document, Quote, QuoteOption, QuoteLine, AuditEntry,
)  # fmt: skip
LATER_DAY = date(2027, 1, 1)
# What may still change: the PDF of a document, once; the status of a quote.
LATER = {("shop_document", "pdf_sha256"), ("shop_document", "pdf_size"), ("shop_quote", "status")}


@dataclass(frozen=True)
class Attempt:
    model: type[models.Model]
    pk: int
    field: models.Field[Any, Any]
    forged: Any

    @property
    def rows(self) -> models.QuerySet[models.Model]:
        return self.model._default_manager.filter(pk=self.pk)


def update(attempt: Attempt) -> int:
    return attempt.rows.update(**{attempt.field.attname: attempt.forged})


def bulk_update(attempt: Attempt) -> int:
    row = attempt.rows.get()
    setattr(row, attempt.field.attname, attempt.forged)
    return attempt.model._default_manager.bulk_update([row], [attempt.field.name])


def save(attempt: Attempt) -> int:
    row = attempt.rows.get()
    setattr(row, attempt.field.attname, attempt.forged)
    row.save(force_update=True)
    return 1


def delete(attempt: Attempt) -> int:
    return attempt.rows.get().delete()[0]


def raw_delete(attempt: Attempt) -> int:
    return attempt.rows._raw_delete("default")  # no public way


def cascade(attempt: Attempt) -> int:
    """Delete what the row refers to, as when a customer is removed."""
    row: Any = attempt.rows.get()
    parents = [f for f in row._meta.concrete_fields if f.is_relation and getattr(row, f.attname)]
    return sum(getattr(row, parent.name).delete()[0] for parent in parents[:1])


def sql_update(attempt: Attempt) -> int:
    table, column = attempt.model._meta.db_table, connection.ops.quote_name(attempt.field.attname)
    value = attempt.field.get_db_prep_save(attempt.forged, connection)
    return _sql(f"UPDATE {table} SET {column} = %s WHERE id = %s", [value, attempt.pk])


def sql_delete(attempt: Attempt) -> int:
    return _sql(f"DELETE FROM {attempt.model._meta.db_table} WHERE id = %s", [attempt.pk])


def _sql(statement: str, values: list[Any]) -> int:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return int(cursor.rowcount)


WAYS: tuple[Callable[[Attempt], int], ...] = (
    update, bulk_update, save, delete, raw_delete, cascade, sql_update, sql_delete,
)  # fmt: skip


@pytest.fixture
def books() -> Member:
    """A yard with an issued quote, consents, an invoice, a credit note and payments."""
    books = make_bookkeeper()
    job = make_billable(books)
    make_change(books, job, [("part", "1", "24.50")])
    invoice = invoice_issue(member=books, job=job)
    creditnote_issue(member=books, invoice=invoice, quantities={2: Decimal(1)}, why="Unused.")
    for kind in ("deposit", "payment"):
        payment_record(
            member=books, job=job, kind=kind, means="card", amount=Decimal(5),
            received_on=date(2026, 9, 12),
        )  # fmt: skip
    Document.objects.update(pdf_sha256="ab" * 32, pdf_size=10)
    return books


def forged_value(field: models.Field[Any, Any], held: Any) -> Any:
    """Another value of the field's own kind."""
    if field.is_relation:
        return (held or 0) + 100_000
    if isinstance(field, models.BooleanField):
        return not held
    if isinstance(field, models.DecimalField | models.IntegerField):
        return (held or 0) + 1
    if isinstance(field, models.DateField):
        return (held or LATER_DAY) + timedelta(days=1)
    if isinstance(field, models.JSONField):
        return {"forged": True}
    return UUID(int=1) if isinstance(field, models.UUIDField) else "forged"


def attempts(chance: random.Random) -> list[tuple[Callable[[Attempt], int], Attempt]]:
    """Every way on every column of a row of every kind, over and over, up to the number."""
    every = []
    for model in MODELS:
        row = model._default_manager.order_by("pk").first()
        assert row is not None, model
        for field in model._meta.concrete_fields:
            if (model._meta.db_table, field.column) not in LATER and not field.primary_key:
                forged = forged_value(field, getattr(row, field.attname))
                every += [(way, Attempt(model, row.pk, field, forged)) for way in WAYS]
    chance.shuffle(every)
    return (every * (ATTEMPTS // len(every) + 1))[:ATTEMPTS]


def succeeded(way: Callable[[Attempt], int], attempt: Attempt) -> bool:
    """Whether a row was changed or removed; whatever was, is put back."""
    done = 0
    try:
        with transaction.atomic():
            done = way(attempt)
            transaction.set_rollback(True)
    except (DatabaseError, ProtectedError):
        return False
    return done > 0


def stored() -> dict[str, list[Any]]:
    return {
        model.__name__: list(model._default_manager.order_by("pk").values()) for model in MODELS
    }


@pytest.mark.usefixtures("books")
def test_1000_attempts_on_issued_rows_change_nothing() -> None:
    with measured("R09-rows", seed=SEED, db=connection.vendor) as counted:
        before = stored()
        tried = attempts(random.Random(SEED))
        assert {way for way, _attempt in tried} == set(WAYS)
        assert {attempt.model for _way, attempt in tried} == set(MODELS)
        through = [(way.__name__, a.model.__name__) for way, a in tried if succeeded(way, a)]
        assert through == []
        assert stored() == before
        lift_triggers(connection)
        got = {a.model for way, a in tried if way in (update, sql_update) and succeeded(way, a)}
        set_triggers(connection)
        assert got == set(MODELS)  # the twin: each kind of row gives way without its triggers
        counted.update(n=len(tried), succeeded=0, twin=f"{len(got)}/{len(MODELS)}")


@pytest.fixture
def issued(books: Member) -> list[Document]:
    """The documents of the yard, each with the bytes of a PDF in the store."""
    chance = random.Random(SEED)
    lift_triggers(connection)
    for document in Document.objects.all():
        kept = file_keep(settings.FILES_DIR, b"%PDF-1.7\n" + chance.randbytes(4_000))
        Document.objects.filter(pk=document.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
        RenderJob.objects.create(document=document, state="done", pdf_sha256=kept.sha256)
    set_triggers(connection)
    return list(Document.objects.order_by("pk"))


def flipped(data: bytes, chance: random.Random) -> bytes:
    """The same bytes with one bit the other way; in a text it stays one that can be stored."""
    at = chance.randrange(len(data))
    changed = bytearray(data)
    changed[at] ^= 1 << chance.randrange(7 if data[at] < 0x80 else 8)
    return bytes(changed)


def flipped_text(text: str, chance: random.Random) -> str:
    while True:
        try:
            found = flipped(text.encode(), chance).decode()
        except UnicodeDecodeError:
            continue
        if "\0" not in found:
            return found


def test_each_of_1000_flipped_bits_is_found(issued: list[Document]) -> None:
    chance = random.Random(SEED)
    with measured("R09-bits", seed=SEED, db=connection.vendor) as counted:
        assert all(document_intact(document) for document in issued)
        found = sum(copy_flip_found(chance.choice(issued), chance) for _ in range(FLIPS))
        found += sum(pdf_flip_found(chance.choice(issued), chance) for _ in range(FLIPS))
        assert found == 2 * FLIPS
        assert all(document_intact(document) for document in Document.objects.all())
        assert named_by(papers.copies) == named_by(papers.pdfs) == set()
        counted.update(n=2 * FLIPS, found=found, documents=len(issued))


def copy_flip_found(document: Document, chance: random.Random) -> bool:
    """Change one bit of the stored copy below the triggers, read it back, and put it right."""
    text = flipped_text(document.snapshot, chance)
    with transaction.atomic():
        lift_trigger_of_documents()
        Document.objects.filter(pk=document.pk).update(snapshot=text)
        found = named_by(papers.copies) == {f"document {document.pk}"}
        transaction.set_rollback(True)
    return found


def lift_trigger_of_documents() -> None:
    with connection.cursor() as cursor:
        on = " ON shop_document" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER shop_document_keep_update{on}")


def pdf_flip_found(document: Document, chance: random.Random) -> bool:
    path = file_path(settings.FILES_DIR, document.pdf_sha256)
    whole = path.read_bytes()
    path.write_bytes(flipped(whole, chance))
    found = named_by(papers.pdfs) == {f"document {document.pk}"}
    path.write_bytes(whole)
    return found


def named_by(check: Check) -> set[str]:
    """The documents that a check of `manage.py verify` names."""
    return {fault.subject for fault in check(Look())}


def test_a_missing_and_a_shortened_pdf_are_found(issued: list[Document]) -> None:
    path = file_path(settings.FILES_DIR, issued[0].pdf_sha256)
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    assert not document_intact(issued[0])
    path.unlink()
    assert not document_intact(issued[0])
    path.write_bytes(whole)
    assert document_intact(issued[0])
