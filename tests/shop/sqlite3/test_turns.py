"""Writers on SQLite wait on equal terms, and give up at the limit in SQLite's own words."""

from __future__ import annotations

import sqlite3
import threading
import time
from pathlib import Path

import pytest

from shop.sqlite3.base import begin, is_busy
from tests.shop.services.racing import joined

WRITERS, HOLDS_SECONDS, BETWEEN_SECONDS = 8, 0.004, 0.001


def opened(path: Path, busy_seconds: float) -> sqlite3.Connection:
    connection = sqlite3.connect(path, isolation_level=None, timeout=busy_seconds)
    connection.execute("PRAGMA journal_mode=WAL")
    return connection


def longest_wait(path: Path, *, fair: bool) -> float:
    """The longest that one of several writers without a pause waits for its turn [s]."""
    opened(path, 1).close()  # the journal's mode is set before anyone writes
    end = time.monotonic() + 1.0
    waits: list[float] = []

    def write() -> None:
        connection = opened(path, 0 if fair else 20)
        while time.monotonic() < end:
            asked = time.monotonic()
            begin(connection, "BEGIN IMMEDIATE", 20 if fair else 0)
            waits.append(time.monotonic() - asked)
            time.sleep(HOLDS_SECONDS)
            connection.execute("COMMIT")
            time.sleep(BETWEEN_SECONDS)
        connection.close()

    threads = [threading.Thread(target=write, daemon=True) for _ in range(WRITERS)]
    for thread in threads:
        thread.start()
    joined(threads)
    return max(waits)


def test_no_writer_waits_much_longer_than_the_others(tmp_path: Path) -> None:
    """Compared in one run with SQLite's own way of waiting, which is the twin."""
    assert longest_wait(tmp_path / "fair", fair=True) < longest_wait(tmp_path / "own", fair=False)


def test_patience_has_an_end(tmp_path: Path) -> None:
    holder, other = opened(tmp_path / "db", 0), opened(tmp_path / "db", 0)
    holder.execute("BEGIN IMMEDIATE")
    begun = time.monotonic()
    with pytest.raises(sqlite3.OperationalError, match="database is locked") as refused:
        begin(other, "BEGIN IMMEDIATE", 0.05)
    assert is_busy(refused.value)
    assert time.monotonic() - begun >= 0.05
    holder.execute("COMMIT")
    begin(other, "BEGIN IMMEDIATE", 0.05)
    for connection in (other, holder):
        connection.close()


def test_other_faults_are_not_waited_for(tmp_path: Path) -> None:
    connection = opened(tmp_path / "db", 0)
    with pytest.raises(sqlite3.OperationalError, match="syntax"):
        begin(connection, "BEGIN SOONISH", 20)
    connection.close()
