"""Ways to change or remove a row that is kept as it was recorded, by the ORM and below it."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core import serializers
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction
from django.db.models.deletion import ProtectedError

from shop.models import (
    Addendum,
    AuditEntry,
    ChangeLine,
    ChangeOrder,
    Completion,
    Consent,
    Cut,
    Document,
    Invoice,
    InvoiceLine,
    JobEvent,
    LinkView,
    Override,
    Payment,
    Quote,
    QuoteLine,
    QuoteOption,
    ServerEpoch,
)

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
