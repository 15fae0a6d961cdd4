"""Writers that wait for each other on equal terms.

SQLite lets a waiting writer look again at growing intervals, up to a tenth of a second, so that
who has waited long looks seldom and who comes new looks often. Under many writers the first
come last, some of them past the time limit. Here all of them look at the same short intervals,
drawn at random, up to the same limit.
"""

from __future__ import annotations

import random
import sqlite3
import time

from django.db.backends.sqlite3 import base

LEAST_PAUSE_SECONDS, MOST_PAUSE_SECONDS = 0.001, 0.008
DEFAULT_PATIENCE_SECONDS = 5.0  # that of Python's sqlite3


class DatabaseWrapper(base.DatabaseWrapper):
    transaction_mode: str | None

    def _start_transaction_under_autocommit(self) -> None:
        """Begin as the settings say; for IMMEDIATE that is when the write lock is taken."""
        self.ensure_connection()
        patience = float(self.settings_dict["OPTIONS"].get("timeout", DEFAULT_PATIENCE_SECONDS))
        with self.wrap_database_errors:
            connection: sqlite3.Connection = self.connection
            connection.execute("PRAGMA busy_timeout = 0")
            try:
                begin(connection, f"BEGIN {self.transaction_mode or ''}", patience)
            finally:
                connection.execute(f"PRAGMA busy_timeout = {round(patience * 1000)}")


def begin(connection: sqlite3.Connection, statement: str, patience: float) -> None:
    deadline = time.monotonic() + patience
    while True:
        try:
            connection.execute(statement)
        except sqlite3.OperationalError as error:
            if not is_busy(error) or time.monotonic() > deadline:
                raise
            time.sleep(random.uniform(LEAST_PAUSE_SECONDS, MOST_PAUSE_SECONDS))  # noqa: S311
        else:
            return


def is_busy(error: sqlite3.OperationalError) -> bool:
    """Whether another connection holds the lock (its extended codes share the lowest byte)."""
    return (error.sqlite_errorcode & 0xFF) == sqlite3.SQLITE_BUSY
