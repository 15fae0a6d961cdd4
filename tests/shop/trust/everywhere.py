"""Every place where a text could have been written down, as text to be searched."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.apps import apps
from django.db import connection


def database_text() -> str:
    """Every row of every table, sessions and counters included."""
    rows = []
    with connection.cursor() as cursor:
        for name in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(name)}")
            rows += [f"{name} {row}" for row in cursor.fetchall()]
    assert len(rows) > len(apps.get_models()) / 2  # the dump is not empty
    return "\n".join(rows)


def files_text(folder: Path) -> str:
    """Every file below a folder: the file store, the queue of the broker, whatever is there."""
    found = [path.read_bytes() for path in sorted(folder.rglob("*")) if _is_own(path)]
    return b"\n".join(found).decode("latin-1")


def _is_own(path: Path) -> bool:
    return path.is_file() and "sqlite3" not in path.name  # the database is searched by itself


@contextmanager
def all_logs() -> Iterator[io.StringIO]:
    """Everything that any logger says, down to the smallest detail."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    handler.setLevel(logging.DEBUG)
    loggers = [logging.getLogger(), logging.getLogger("django"), logging.getLogger("shop")]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.addHandler(handler)
        logger.setLevel(logging.DEBUG)
    try:
        yield written
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.removeHandler(handler)
            logger.setLevel(level)
