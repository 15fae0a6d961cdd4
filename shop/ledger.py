"""Triggers that keep what was issued or recorded, on SQLite and PostgreSQL alike.

They refuse to change or delete audit entries, job events and epochs, issued documents,
quotes with their options, lines and overrides once the quote has left the draft, and change
orders with their lines while they are offered and once they are decided.

A later migration that alters one of these tables on SQLite rebuilds the table, and its
triggers go with the old one. Such a migration starts with `LiftTriggers()` and ends with
`SetTriggers()`; a test reads the trigger list of the migrated database.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import RunPython
from django.db.migrations.state import StateApps

APPEND_ONLY = (
    "shop_auditentry",
    "shop_jobevent",
    "shop_serverepoch",
    "shop_consent",
    "shop_linkview",
    "shop_invoice",
    "shop_invoiceline",
    "shop_payment",
    "shop_cut",
    "shop_completion",
    "shop_addendum",
)

# What may still change on a row that is otherwise frozen.
DOCUMENT_LATER = ("pdf_sha256", "pdf_size")
QUOTE_LATER = ("status",)

CHANGE_LATER = ("status",)

# Where a row of the table leads to its quote, or to its change order: table, words and id.
PART_OF = {
    "shop_quoteoption": ("shop_quote", "the quote is issued", "{row}.quote_id"),
    "shop_override": ("shop_quote", "the quote is issued", "{row}.quote_id"),
    "shop_quoteline": (
        "shop_quote",
        "the quote is issued",
        "(SELECT quote_id FROM shop_quoteoption WHERE id = {row}.option_id)",
    ),
    "shop_changeline": (
        "shop_changeorder",
        "the change order is offered or decided",
        "{row}.change_order_id",
    ),
}


@dataclass(frozen=True, slots=True)
class Trigger:
    table: str
    act: str  # INSERT, UPDATE or DELETE
    when: str  # SQL condition on OLD and NEW
    message: str

    @property
    def name(self) -> str:
        return f"{self.table}_keep_{self.act.lower()}"


def triggers(connection: BaseDatabaseWrapper) -> Iterator[Trigger]:
    for table in APPEND_ONLY:
        for act in ("UPDATE", "DELETE"):
            yield Trigger(table, act, "1 = 1", f"{table} is append-only: {act} refused")
    yield from _document_triggers(connection)
    yield from _quote_triggers(connection)
    yield from _change_triggers(connection)
    for table in PART_OF:
        yield from _part_triggers(table)


def _document_triggers(connection: BaseDatabaseWrapper) -> Iterator[Trigger]:
    table = "shop_document"
    changed = _changed(connection, table, DOCUMENT_LATER)
    again = " OR ".join(_differs(connection, column) for column in DOCUMENT_LATER)
    when = f"{changed} OR (OLD.pdf_sha256 <> '' AND ({again}))"
    yield Trigger(table, "UPDATE", when, "an issued document cannot be changed")
    yield Trigger(table, "DELETE", "1 = 1", "an issued document cannot be deleted")


def _quote_triggers(connection: BaseDatabaseWrapper) -> Iterator[Trigger]:
    table = "shop_quote"
    changed = _changed(connection, table, QUOTE_LATER)
    when = f"OLD.status <> 'draft' AND (NEW.status = 'draft' OR {changed})"
    yield Trigger(table, "UPDATE", when, "an issued quote cannot be changed")
    yield Trigger(table, "DELETE", "OLD.status <> 'draft'", "an issued quote cannot be deleted")


def _change_triggers(connection: BaseDatabaseWrapper) -> Iterator[Trigger]:
    """One that waits is decided as it is, or taken back to the draft; one that is decided stays."""
    table = "shop_changeorder"
    changed = _changed(connection, table, CHANGE_LATER)
    decided = f"OLD.status <> 'offered' AND {_differs(connection, 'status')}"
    when = f"OLD.status <> 'draft' AND ({changed} OR ({decided}))"
    yield Trigger(table, "UPDATE", when, "an offered or decided change order cannot be changed")
    gone = "OLD.status <> 'draft' OR OLD.document_id IS NOT NULL"
    yield Trigger(table, "DELETE", gone, "a change order that was offered cannot be deleted")


def _part_triggers(table: str) -> Iterator[Trigger]:
    whole, why, whole_id = PART_OF[table]
    old, new = (_left_draft(whole, whole_id.format(row=row)) for row in ("OLD", "NEW"))
    message = f"{why}: its {table.removeprefix('shop_')} rows are frozen"
    yield Trigger(table, "INSERT", new, message)
    yield Trigger(table, "UPDATE", f"{old} OR {new}", message)
    yield Trigger(table, "DELETE", old, message)


def _left_draft(whole: str, whole_id: str) -> str:
    found = f"SELECT 1 FROM {whole} WHERE id = {whole_id}"  # noqa: S608  # names set above
    return f"EXISTS ({found} AND status <> 'draft')"


def _changed(connection: BaseDatabaseWrapper, table: str, except_for: tuple[str, ...]) -> str:
    with connection.cursor() as cursor:
        description = connection.introspection.get_table_description(cursor, table)
    columns = [row.name for row in description if row.name not in except_for]
    return "(" + " OR ".join(_differs(connection, column) for column in columns) + ")"


def _differs(connection: BaseDatabaseWrapper, column: str) -> str:
    operator = "IS NOT" if connection.vendor == "sqlite" else "IS DISTINCT FROM"
    name = connection.ops.quote_name(column)
    return f"OLD.{name} {operator} NEW.{name}"


def set_triggers(connection: BaseDatabaseWrapper) -> None:
    for trigger in triggers(connection):
        _run(connection, _create(connection, trigger))


def lift_triggers(connection: BaseDatabaseWrapper) -> None:
    for trigger in triggers(connection):
        _run(connection, drop_sql(connection, trigger))


def _create(connection: BaseDatabaseWrapper, trigger: Trigger) -> list[str]:
    if connection.vendor == "sqlite":
        return [
            f"CREATE TRIGGER {trigger.name} BEFORE {trigger.act} ON {trigger.table} "
            f"WHEN {trigger.when} BEGIN SELECT RAISE(ABORT, '{trigger.message}'); END"
        ]
    # PostgreSQL allows no subquery in WHEN, so the condition stands in the function.
    row = "OLD" if trigger.act == "DELETE" else "NEW"
    return [
        f"CREATE FUNCTION {trigger.name}() RETURNS trigger LANGUAGE plpgsql AS $body$ BEGIN "
        f"IF {trigger.when} THEN RAISE EXCEPTION '{trigger.message}' "
        f"USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN {row}; END $body$",
        f"CREATE TRIGGER {trigger.name} BEFORE {trigger.act} ON {trigger.table} "
        f"FOR EACH ROW EXECUTE FUNCTION {trigger.name}()",
    ]


def drop_sql(connection: BaseDatabaseWrapper, trigger: Trigger) -> list[str]:
    if connection.vendor == "sqlite":
        return [f"DROP TRIGGER IF EXISTS {trigger.name}"]
    return [
        f"DROP TRIGGER IF EXISTS {trigger.name} ON {trigger.table}",
        f"DROP FUNCTION IF EXISTS {trigger.name}()",
    ]


def _run(connection: BaseDatabaseWrapper, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def _set(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    set_triggers(schema_editor.connection)


def _lift(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    lift_triggers(schema_editor.connection)


class SetTriggers(RunPython):
    """Migration operation: put the triggers of this module in force."""

    def __init__(self) -> None:
        super().__init__(_set, _lift)


class LiftTriggers(RunPython):
    """Migration operation: take the triggers away until `SetTriggers` runs."""

    def __init__(self) -> None:
        super().__init__(_lift, _set)
