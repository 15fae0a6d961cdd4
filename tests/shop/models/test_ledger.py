"""The triggers that keep recorded and issued rows, met by raw SQL and by every way of the ORM."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.migrations.state import ProjectState
from django.db.models.deletion import ProtectedError

from shop.ledger import drop_sql, lift_triggers, set_triggers, triggers
from shop.models import (
    AuditEntry,
    ChangeLine,
    ChangeOrder,
    Device,
    Document,
    EventText,
    JobEvent,
    Member,
    Override,
    Quote,
    QuoteLine,
    QuoteOption,
    ServerEpoch,
    WorkOrder,
)
from shop.services.accounts import epoch_ensure
from tests import factories as make

pytestmark = pytest.mark.django_db

CHANGES = ("shop_changeorder", "shop_changeline")
changeorder_triggers = import_module("shop.migrations.0005_changeorder_triggers").Migration


@pytest.fixture
def lead() -> Member:
    """A yard with an issued quote and document, an event, an epoch and audit entries."""
    lead = make.make_member()
    hull = make.make_hull(lead.yard)
    quote = make.make_quote(hull)
    option = QuoteOption.objects.create(quote=quote, letter="A", title="Test work")
    _line(option)
    Override.objects.create(
        quote=quote, subject="S1", rule="r", regime="x", reason="y", member=lead, at=make.NOON
    )
    Quote.objects.filter(pk=quote.pk).update(
        number="Q-2609-014", issued_on=make.DAY, valid_to=make.DAY, status="issued"
    )
    make.make_document(lead, hull)
    order = WorkOrder.objects.create(
        yard=lead.yard, job=make.make_job(hull), option=option, proposed=quote.proposed
    )
    JobEvent.objects.create(
        yard=lead.yard,
        work_order=order,
        device=Device.objects.create(yard=lead.yard, name="Tablet"),
        device_seq=1,
        author=lead,
        uploader=lead,
        kind="note",
        content_sha256="0" * 64,
        claimed_at=make.NOON,
        received_at=make.NOON,
    )
    change = _change(lead, order)
    _line(change)
    ChangeOrder.objects.update(status="offered")
    ChangeOrder.objects.update(status="consented")
    epoch_ensure()
    return lead


def _change(lead: Member, order: WorkOrder, number: int = 1) -> ChangeOrder:
    return ChangeOrder.objects.create(
        yard=lead.yard, job=order.job, work_order=order, number=number, reason="Found.",
        created_by=lead,
    )  # fmt: skip


def _line(of: QuoteOption | ChangeOrder, no: int = 1) -> QuoteLine | ChangeLine:
    return of.lines.create(
        no=no, kind="part", ref="X", description="X", quantity=1, unit="ea", price=1, amount=1,
        taxable=True,
    )  # fmt: skip


FROZEN = {
    "shop_auditentry": "action",
    "shop_jobevent": "content_sha256",
    "shop_serverepoch": "reason",
    "shop_document": "snapshot",
    "shop_quote": "note",
    "shop_quoteoption": "title",
    "shop_quoteline": "description",
    "shop_override": "reason",
    "shop_changeorder": "reason",
    "shop_changeline": "description",
}


def _sql(statement: str) -> int:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
        return int(cursor.rowcount)


@pytest.mark.parametrize("table", FROZEN)
@pytest.mark.usefixtures("lead")
def test_raw_sql_is_refused(table: str) -> None:
    for statement in (
        f"UPDATE {table} SET {FROZEN[table]} = 'forged'",
        f"DELETE FROM {table}",
    ):
        with pytest.raises(IntegrityError, match=r"append-only|cannot be|frozen"):
            _sql(statement)


@pytest.mark.parametrize("table", FROZEN)
@pytest.mark.usefixtures("lead")
def test_the_check_finds_a_dropped_trigger(table: str) -> None:
    """The twin: without the triggers the same statement goes through."""
    lift_triggers(connection)
    assert _sql(f"UPDATE {table} SET {FROZEN[table]} = 'forged'") >= 1
    set_triggers(connection)


@pytest.mark.parametrize("name", [field.attname for field in Document._meta.concrete_fields])
@pytest.mark.usefixtures("lead")
def test_every_column_of_a_document_is_frozen_once_the_pdf_is_there(name: str) -> None:
    Document.objects.update(pdf_sha256="ab" * 32, pdf_size=10)
    other = {
        "version": 2,
        "pdf_size": 11,
        "document_date": "2026-09-12",
        "issued_at": make.NOON.replace(year=2027),
        "public_id": "0" * 32,
    }
    field = Document._meta.get_field(name)
    value = other.get(name, 987654 if field.is_relation or name == "id" else "forged")
    if name == "kind":
        value = "invoice"
    if name == "currency":
        value = "EUR"
    with pytest.raises(DatabaseError, match="issued document"), transaction.atomic():
        Document.objects.update(**{name: value})


@pytest.mark.usefixtures("lead")
def test_the_pdf_of_a_document_is_set_once() -> None:
    assert Document.objects.update(pdf_sha256="ab" * 32, pdf_size=10) == 1
    for again in ({"pdf_sha256": "cd" * 32}, {"pdf_sha256": "", "pdf_size": None}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Document.objects.update(**again)
    assert Document.objects.update(pdf_sha256="ab" * 32, pdf_size=10) == 1  # the same again


def test_an_issued_quote_changes_its_status_and_nothing_else(lead: Member) -> None:
    quote = Quote.objects.get()
    assert Quote.objects.update(status="accepted") == 1
    with pytest.raises(IntegrityError, match="cannot be changed"), transaction.atomic():
        Quote.objects.update(status="draft")
    with pytest.raises(IntegrityError, match="cannot be changed"), transaction.atomic():
        Quote.objects.update(status="accepted", style="fixed")
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        _line(quote.options.get(), no=2)
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        quote.options.create(letter="B", title="One more")


def test_nothing_is_moved_into_or_out_of_an_issued_quote(lead: Member) -> None:
    issued = Quote.objects.get()
    draft = make.make_quote(issued.hull)
    option = draft.options.create(letter="A", title="Draft work")
    line = _line(option)
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        QuoteLine.objects.filter(pk=line.pk).update(option=issued.options.get(), no=9)
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        QuoteOption.objects.filter(quote=issued).update(quote=draft, letter="B")


@pytest.mark.parametrize("decided", ["consented", "declined"])
def test_an_offered_change_order_is_decided_as_it_is(lead: Member, decided: str) -> None:
    change = _change(lead, WorkOrder.objects.get(), number=2)
    rows = ChangeOrder.objects.filter(pk=change.pk)
    line = _line(change)
    rows.update(status="offered", reason="Found open.")
    for forged in ({"total": 1, "net": 1, "parts": 1}, {"status": "draft", "reason": "Other."}):
        with pytest.raises(IntegrityError, match="cannot be changed"), transaction.atomic():
            rows.update(**forged)
    for act in (lambda: _line(change, no=2), line.delete, lambda: change.lines.update(price=2)):
        with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
            act()
    rows.update(status=decided)
    for status in {"draft", "offered", "consented", "declined"} - {decided}:
        with pytest.raises(IntegrityError, match="cannot be changed"), transaction.atomic():
            rows.update(status=status)


def test_an_offer_taken_back_is_a_draft_again(lead: Member) -> None:
    change = _change(lead, WorkOrder.objects.get(), number=2)
    rows = ChangeOrder.objects.filter(pk=change.pk)
    line = _line(change)
    for status in ("offered", "draft"):
        rows.update(status=status)
    assert rows.update(reason="Other.") == 1
    line.delete()
    assert not change.lines.exists()


def test_no_line_is_moved_between_change_orders(lead: Member) -> None:
    change = _change(lead, WorkOrder.objects.get(), number=2)
    line = _line(change)
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        ChangeLine.objects.filter(pk=line.pk).update(change_order=ChangeOrder.objects.get(number=1))
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        ChangeLine.objects.filter(change_order__number=1).update(change_order=change, no=9)


def test_what_was_offered_once_is_not_thrown_away(lead: Member) -> None:
    change = _change(lead, WorkOrder.objects.get(), number=2)
    drawn = _change(lead, WorkOrder.objects.get(), number=3)
    drawn.delete()
    ChangeOrder.objects.filter(pk=change.pk).update(document=Document.objects.get())
    with pytest.raises(IntegrityError, match="cannot be deleted"), transaction.atomic():
        change.delete()


def test_a_database_of_before_gets_the_triggers_of_change_orders(lead: Member) -> None:
    """The migration, on a database that holds all but theirs."""
    from_before = [each for each in triggers(connection) if each.table in CHANGES]
    with connection.cursor() as cursor:
        for each in from_before:
            for statement in drop_sql(connection, each):
                cursor.execute(statement)
    assert ChangeOrder.objects.update(reason="Other.") == 1
    state, editor = ProjectState(), connection.schema_editor()  # not begun: all is in one already
    for operation in changeorder_triggers.operations:
        operation.database_forwards("shop", editor, state, state)
    with pytest.raises(IntegrityError, match="cannot be changed"), transaction.atomic():
        ChangeOrder.objects.update(reason="Another.")


def test_a_draft_can_be_changed_and_thrown_away() -> None:
    quote = make.make_quote(make.make_hull(make.make_yard()))
    option = quote.options.create(letter="A", title="Draft work")
    _line(option)
    option.title = "Other work"
    option.save()
    quote.delete()
    assert not QuoteLine.objects.exists()


def _save_entry() -> None:
    entry = AuditEntry.objects.all()[0]
    entry.action = "forged"
    entry.save()


def _bulk_update() -> None:
    lines = list(QuoteLine.objects.all())
    lines[0].amount = 2
    QuoteLine.objects.bulk_update(lines, ["amount"])


WAYS: dict[str, Callable[[], object]] = {
    "save": _save_entry,
    "instance delete": lambda: JobEvent.objects.get().delete(),
    "queryset update": lambda: Document.objects.update(number="Q-1"),
    "queryset delete": lambda: QuoteLine.objects.all().delete(),
    "bulk_update": _bulk_update,
    "raw delete": lambda: AuditEntry.objects.all()._raw_delete("default"),
    "epoch": lambda: ServerEpoch.objects.update(reason="forged"),
}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.usefixtures("lead")
def test_no_way_of_the_orm_gets_past(way: str) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        WAYS[way]()


@pytest.mark.usefixtures("lead")
def test_deleting_a_customer_or_boat_does_not_cascade_into_documents() -> None:
    hull = Document.objects.get().hull
    with pytest.raises(ProtectedError):
        hull.delete()
    with pytest.raises(ProtectedError):
        hull.customer.delete()


@pytest.mark.usefixtures("lead")
def test_the_text_of_an_event_can_be_erased_and_the_event_stays() -> None:
    text = EventText.objects.create(event=JobEvent.objects.get(), text="Call Ada Test")
    text.text, text.erased_at = "", make.NOON
    text.save()
    assert JobEvent.objects.count() == 1


@pytest.mark.usefixtures("db")
def test_the_migrated_database_holds_every_trigger() -> None:
    expected = {trigger.name for trigger in triggers(connection)}
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled = 'O'"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        found = {row[0] for row in cursor.fetchall()}
    assert len(expected) == 40
    assert expected <= found
