"""The database itself: its pages, its references, its triggers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db import connection

from shop.ledger import triggers
from shop.verify.model import Fault, Look

# An index of PostgreSQL is read by amcheck where the extension is installed; nothing installs it.
AMCHECK = """
SELECT c.relname, bt_index_check(index => c.oid, heapallindexed => true)
FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
JOIN pg_am a ON a.oid = c.relam JOIN pg_class t ON t.oid = i.indrelid
WHERE a.amname = 'btree' AND t.relname LIKE 'shop\\_%' AND i.indisvalid AND c.oid = %s
"""


def _rows(statement: str, values: list[int] | None = None) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return list(cursor.fetchall())


def integrity(look: Look) -> Iterator[Fault]:
    """SQLite: every page. PostgreSQL: every index valid, and whole where amcheck can read it."""
    if connection.vendor == "sqlite":
        look.at()
        for (said,) in _rows("PRAGMA integrity_check"):
            if said != "ok":
                yield Fault("database", str(said), "ok")
        return
    indexes = _rows(
        "SELECT i.indexrelid, c.relname, i.indisvalid FROM pg_index i "
        "JOIN pg_class c ON c.oid = i.indexrelid JOIN pg_class t ON t.oid = i.indrelid "
        "WHERE t.relname LIKE 'shop\\_%%'",
        [],
    )
    readable = bool(_rows("SELECT 1 FROM pg_extension WHERE extname = 'amcheck'"))
    for oid, name, valid in indexes:
        look.at()
        if not valid:
            yield Fault(f"index {name}", "not valid", "valid")
        elif readable:
            _rows(AMCHECK, [oid])  # raises, and the check is reported, where an index is damaged


def foreign_keys(look: Look) -> Iterator[Fault]:
    """SQLite: every reference. PostgreSQL: every reference is enforced and was checked."""
    if connection.vendor == "sqlite":
        look.at()
        for table, row, parent, _number in _rows("PRAGMA foreign_key_check"):
            yield Fault(f"{table} {row}", f"refers to no row of {parent}", "a row that exists")
        return
    for name, table, checked in _rows(
        "SELECT k.conname, t.relname, k.convalidated FROM pg_constraint k "
        "JOIN pg_class t ON t.oid = k.conrelid WHERE k.contype IN ('f', 'c') "
        "AND t.relname LIKE 'shop\\_%%'",
        [],
    ):
        look.at()
        if not checked:
            yield Fault(f"{table} {name}", "not checked", "checked")
    for table, name in _rows(
        "SELECT t.relname, g.tgname FROM pg_trigger g JOIN pg_class t ON t.oid = g.tgrelid "
        "WHERE g.tgenabled = 'D' AND t.relname LIKE 'shop\\_%%'",
        [],
    ):
        yield Fault(f"{table} {name}", "switched off", "in force")


def triggers_in_force(look: Look) -> Iterator[Fault]:
    """Each trigger that keeps what was issued is there."""
    if connection.vendor == "sqlite":
        rows = _rows("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    else:
        rows = _rows("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'")
    there = {str(name) for (name,) in rows}
    for trigger in triggers(connection):
        look.at()
        # PostgreSQL cuts names off after 63 bytes.
        if trigger.name[:63] not in there:
            yield Fault(trigger.name, "missing", "in force")
