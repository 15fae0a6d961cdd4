"""R09: what was issued or recorded is not changed by any way of the ORM or of SQL, and a single
bit that changes below the database is found."""

from __future__ import annotations

import io
import json
import math
import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from django.conf import settings
from django.core import serializers
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction
from django.db.models.deletion import ProtectedError
from django.test import Client
from django.urls import reverse

from shop.files import file_keep, file_path
from shop.ledger import lift_triggers, set_triggers
from shop.models import (
    Addendum,
    AuditEntry,
    ChangeLine,
    ChangeOrder,
    Completion,
    Consent,
    Cut,
    Device,
    Document,
    Invoice,
    InvoiceLine,
    Job,
    JobEvent,
    LinkView,
    Member,
    Override,
    OwnerLink,
    Payment,
    Product,
    Quote,
    QuoteLine,
    QuoteOption,
    RenderJob,
    Role,
    ServerEpoch,
    WorkOrder,
)
from shop.services.accounts import epoch_ensure
from shop.services.documents import document_intact
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.payments import payment_record
from shop.services.tokens import token_create
from shop.verify import papers
from shop.verify.model import Check, Fault, Look
from tests import factories as make
from tests.shop.billing import make_billable, make_bookkeeper, make_change
from tests.shop.trust.report import measured, planted

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20260924
ATTEMPTS, FLIPS = 1_000, 500
MODELS: tuple[type[models.Model], ...] = (
    Invoice, InvoiceLine, Payment, Consent, Document, Quote, QuoteOption, QuoteLine, AuditEntry,
    ChangeOrder, ChangeLine, Override, Completion, Addendum, Cut, JobEvent, ServerEpoch, LinkView,
)  # fmt: skip
LATER_DAY = date(2027, 1, 1)
# What may still change: the PDF of a document, once; the status of a quote.
LATER = {("shop_document", "pdf_sha256"), ("shop_document", "pdf_size"), ("shop_quote", "status")}


class Unheeded:
    """What SQLite's REPLACE puts aside, it takes past every trigger while this is off."""

    def __enter__(self) -> None:
        self.set("OFF")

    def __exit__(self, *_: object) -> None:
        self.set("ON")

    def set(self, value: str) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA recursive_triggers = {value}")


@dataclass(frozen=True)
class Attempt:
    model: type[models.Model]
    pk: int
    field: models.Field[Any, Any]
    forged: Any

    @property
    def rows(self) -> models.QuerySet[models.Model]:
        return self.model._default_manager.filter(pk=self.pk).order_by()


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


def delete_rows(attempt: Attempt) -> int:
    """Many at once, as a bulk action does."""
    return attempt.rows.delete()[0]


def upsert(attempt: Attempt) -> int:
    """Insert the row once more; the one that is there is to give way."""
    row = attempt.rows.get()
    setattr(row, attempt.field.attname, attempt.forged)
    key = attempt.model._meta.pk
    attempt.model._default_manager.bulk_create(
        [row], update_conflicts=True, unique_fields=[key.name], update_fields=[attempt.field.name]
    )
    return 1


def loaddata(attempt: Attempt) -> int:
    """A file of rows, read in by the command for it."""
    row = attempt.rows.get()
    (said,) = json.loads(serializers.serialize("json", [row]))
    said["fields"][attempt.field.name] = attempt.field.value_to_string(forged_row(attempt, row))
    if not isinstance(attempt.field, models.JSONField) and attempt.forged is None:
        said["fields"][attempt.field.name] = None
    file = Path(settings.DATA_DIR) / "forged.json"
    file.write_text(json.dumps([said]))
    try:
        call_command("loaddata", str(file), stdout=io.StringIO())
    finally:
        file.unlink()
    return 1


def forged_row(attempt: Attempt, row: models.Model) -> models.Model:
    setattr(row, attempt.field.attname, attempt.forged)
    return row


def sql_update(attempt: Attempt) -> int:
    table, column = attempt.model._meta.db_table, quoted(attempt.field.column)
    return _sql(
        f"UPDATE {table} SET {column} = %s WHERE {key_of(attempt)} = %s",
        [prepared(attempt), attempt.pk],
    )


def sql_replace(attempt: Attempt) -> int:
    """Insert another row of the same key: SQLite puts the old one aside, PostgreSQL updates it."""
    table, key = attempt.model._meta.db_table, key_of(attempt)
    names = [field.column for field in attempt.model._meta.concrete_fields]
    columns = ", ".join(map(quoted, names))
    values = ", ".join("%s" if name == attempt.field.column else quoted(name) for name in names)
    word, end = "INSERT OR REPLACE", ""
    if connection.vendor == "postgresql":
        column = quoted(attempt.field.column)
        word, end = "INSERT", f" ON CONFLICT ({key}) DO UPDATE SET {column} = EXCLUDED.{column}"
        values = values.replace("%s", f"%s::{attempt.field.db_type(connection)}")
    return _sql(
        f"{word} INTO {table} ({columns}) SELECT {values} FROM {table} WHERE {key} = %s{end}",
        [prepared(attempt), attempt.pk],
    )


def sql_delete(attempt: Attempt) -> int:
    table = attempt.model._meta.db_table
    return _sql(f"DELETE FROM {table} WHERE {key_of(attempt)} = %s", [attempt.pk])


def key_of(attempt: Attempt) -> str:
    return quoted(attempt.model._meta.pk.column)


def quoted(column: str | None) -> str:
    assert column is not None  # every field that is kept has a column
    return connection.ops.quote_name(column)


def prepared(attempt: Attempt) -> Any:
    return attempt.field.get_db_prep_save(attempt.forged, connection)


def _sql(statement: str, values: list[Any]) -> int:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return int(cursor.rowcount)


WAYS: tuple[Callable[[Attempt], int], ...] = (
    update, bulk_update, save, delete, delete_rows, raw_delete, cascade, upsert, loaddata,
    sql_update, sql_replace, sql_delete,
)  # fmt: skip


@pytest.fixture
def books() -> Member:
    """A yard with an issued quote, consents, an invoice, a credit note and payments, and with a
    row of every other kind that is kept as it was recorded."""
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
    recorded(books, job)
    overridden(books)
    Document.objects.update(pdf_sha256="ab" * 32, pdf_size=10)
    return books


def recorded(books: Member, job: Job) -> None:
    """Work, hose cut, the signed record with an addendum, an opened link."""
    order, yard = job.work_orders.get(), books.yard
    JobEvent.objects.create(
        yard=yard, work_order=order, device=Device.objects.create(yard=yard, name="Tablet"),
        device_seq=1, author=books, uploader=books, kind="note", content_sha256="0" * 64,
        claimed_at=make.NOON, received_at=make.NOON,
    )  # fmt: skip
    hose = Product.objects.create(yard=yard, sku="H-1", kind="hose", description="Hose", price=1)
    lot = yard.lots.create(product=hose, code="LOT-1")
    reel = lot.reels.create(yard=yard, ident="RL-1", received_on=make.DAY, received_in=600)
    Cut.objects.create(
        yard=yard, reel=reel, work_order=order, segment_ident="S1", length_in=10, member=books,
        at=make.NOON,
    )  # fmt: skip
    signed(books, order)
    link = OwnerLink.objects.create(yard=yard, job=job, expires_at=make.NOON)
    LinkView.objects.create(link=link, seen_at=make.NOON)
    epoch_ensure()


def signed(books: Member, order: WorkOrder) -> None:
    hull = order.job.hull
    completion = Completion.objects.create(
        yard=books.yard, work_order=order, installed=order.proposed,
        document=make.make_document(books, hull, number="R-1"), signed_by=books,
        signed_at=make.NOON, completed_on=make.DAY, next_inspection_on=make.DAY,
        warranty_until=make.DAY,
    )  # fmt: skip
    Addendum.objects.create(
        completion=completion, text="Test.", member=books, at=make.NOON,
        document=make.make_document(books, hull, number="R-1 A-1"),
    )  # fmt: skip


def overridden(books: Member) -> None:
    """Another quote, which a lead decided on before it was issued."""
    quote = make.make_quote(make.make_hull(books.yard, "Other Boat"))
    Override.objects.create(
        quote=quote, subject="S1", rule="r", regime="x", reason="y", member=books, at=make.NOON
    )
    Quote.objects.filter(pk=quote.pk).update(
        number="Q-2609-999", issued_on=make.DAY, valid_to=make.DAY, status="issued"
    )


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
    """Every way on every column of a row of every kind: all of them, and the number at least."""
    every = []
    for model in MODELS:
        row = model._default_manager.order_by("pk").first()
        assert row is not None, model
        for field in model._meta.concrete_fields:
            if (model._meta.db_table, field.column) not in LATER and not field.primary_key:
                forged = forged_value(field, getattr(row, field.attname))
                every += [(way, Attempt(model, row.pk, field, forged)) for way in WAYS]
    chance.shuffle(every)
    return every * math.ceil(ATTEMPTS / len(every))


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
        if connection.vendor == "sqlite":
            with Unheeded():
                assert any(way is sql_replace and succeeded(way, a) for way, a in tried)
        lift_triggers(connection)
        got = {a.model for way, a in tried if way in (update, sql_update) and succeeded(way, a)}
        set_triggers(connection)
        assert got == set(MODELS)  # the twin: each kind of row gives way without its triggers
        counted.update(
            n=len(tried), ways=len(WAYS), models=len(MODELS), succeeded=0,
            twin=f"{len(got)}/{len(MODELS)}",
        )  # fmt: skip


def api_addresses() -> list[str]:
    """Where the interface for programs shows an issued row."""
    names = {"api_quote": Quote, "api_document": Document, "api_workorder": WorkOrder}
    names |= {"api_document_pdf": Document, "api_boat": Quote}
    shown = [
        reverse(name, args=[row.pk])
        for name, of in names.items()
        for row in of._default_manager.all()
    ]
    return [*shown, reverse("api_quotes"), reverse("api_documents"), reverse("api_workorders")]


def forged_event(event: JobEvent) -> dict[str, Any]:
    """The event once more, under its own id, with other words."""
    return {
        "id": event.event_id.hex, "seq": event.device_seq, "work_order": event.work_order_id,
        "kind": "note", "segment": "S1", "author": event.author_id,
        "claimed_at": make.NOON.isoformat(), "payload": {}, "text": "forged",
    }  # fmt: skip


def test_the_interface_for_programs_changes_no_issued_row(books: Member) -> None:
    """No address of one takes a method that writes; an event's id is taken once."""
    _token, text = token_create(member=make.make_member(books.yard, Role.LEAD), name="test")
    lead = Client(headers={"authorization": f"Bearer {text}"})
    with measured("R09-api", db=connection.vendor) as counted:
        before = stored()
        statuses = Counter[int]()
        for address in api_addresses():
            for method in ("post", "put", "patch", "delete"):
                body = json.dumps({"number": "forged", "status": "draft", "total": "0.01"})
                answer = getattr(lead, method)(address, body, "application/json")
                statuses[answer.status_code] += 1
        assert set(statuses) == {405}
        event = JobEvent.objects.get()
        batch = {"device": event.device_id, "events": [forged_event(event)] * 2}
        answer = lead.post(reverse("api_events"), batch, "application/json")
        results = [each["result"] for each in answer.json()["results"]]
        assert results == ["rejected", "rejected"]
        assert stored() == before | {"AuditEntry": stored()["AuditEntry"]}
        assert stored()["AuditEntry"][: len(before["AuditEntry"])] == before["AuditEntry"]
        counted.update(n=statuses.total() + len(results), succeeded=0)


@planted("R09-api", "an issued row changed below its triggers")
def test_an_issued_row_that_changed_is_seen(books: Member) -> None:
    before = stored()
    lift_triggers(connection)
    Document.objects.filter(yard=books.yard).update(template_version="forged")
    set_triggers(connection)
    after = stored()
    assert {name for name in before if after[name] != before[name]} == {"Document"}


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


@planted("R09-bits", "no hash compared")
def test_a_flip_goes_unseen_where_no_hash_is_compared(
    issued: list[Document], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The planted fault: checks that look whether copy and file are there, and not at what is."""

    def there(look: Look) -> Iterator[Fault]:
        for document in Document.objects.filter(snapshot=""):
            yield Fault(f"document {document.pk}", "no copy", "a copy")

    for name in ("copies", "pdfs"):
        monkeypatch.setattr(papers, name, there)
    chance = random.Random(SEED)
    assert not copy_flip_found(issued[0], chance)
    assert not pdf_flip_found(issued[0], chance)


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
