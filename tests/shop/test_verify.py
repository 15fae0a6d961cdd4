"""How the checks are run: at one moment, reading only, each by itself."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import DEFAULT_DB_ALIAS, connection, connections

from shop.models import Yard
from shop.verify import run, storage
from shop.verify.model import Fault, Look

pytestmark = pytest.mark.django_db


def test_a_check_that_breaks_is_a_fault_and_hides_no_other() -> None:
    def broken(look: Look) -> Iterator[Fault]:
        yield Fault("first", "found", "before it broke")
        with connection.cursor() as cursor:
            cursor.execute("SELECT nothing FROM nowhere")

    def after(look: Look) -> Iterator[Fault]:
        look.at(Yard.objects.count() + 1)
        yield Fault("second", "found", "after it")

    report = run({"broken": broken, "after": after})
    assert [finding.check for finding in report.findings] == ["broken", "broken", "after"]
    assert "ProgrammingError" in report.faults["broken"][1].found or (
        "OperationalError" in report.faults["broken"][1].found
    )


@pytest.mark.django_db(transaction=True)
def test_it_looks_at_one_moment_and_writes_nothing() -> None:
    """Outside any transaction, as the command runs: a write inside a check is refused or gone."""

    def writes(look: Look) -> Iterator[Fault]:
        Yard.objects.create(name="Written by a check")
        yield Fault("check", "wrote", "reads only")

    run({"writes": writes})
    assert not Yard.objects.filter(name="Written by a check").exists()


def test_a_damaged_page_or_index_is_found(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert list(storage.integrity(Look())) == []
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                "UPDATE pg_index SET indisvalid = false WHERE indexrelid = 'counter_once'::regclass"
            )
        assert [fault.subject for fault in storage.integrity(Look())] == ["index counter_once"]
        return
    path = tmp_path / "damaged.sqlite3"
    make_damaged(path)
    alias = {**connection.settings_dict, "NAME": str(path)}
    damaged = type(connections[DEFAULT_DB_ALIAS])(alias, DEFAULT_DB_ALIAS)
    monkeypatch.setattr(storage, "connection", damaged)
    assert list(storage.integrity(Look())) != []
    damaged.close()


def make_damaged(path: Path) -> None:
    """A database whose index no longer agrees with its table: one byte of it is another."""
    with sqlite3.connect(path) as made:
        made.execute("CREATE TABLE t (words TEXT)")
        made.execute("CREATE INDEX i ON t (words)")
        made.executemany("INSERT INTO t VALUES (?)", [(f"word {n:03d}",) for n in range(50)])
    made.close()
    data = path.read_bytes()
    at = data.rindex(b"word 025")  # the index lies behind the table
    path.write_bytes(data[:at] + b"sword 25" + data[at + 8 :])


def test_where_no_database_is_none_is_made(tmp_path: Path) -> None:
    """A new process: the file that a wrong DATA_DIR names must not come to be by looking."""
    clean = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    said = subprocess.run(
        [sys.executable, "manage.py", "verify"],
        env={**clean, "DATA_DIR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "shop.settings"},
        cwd=Path(__file__).resolve().parents[2],
        capture_output=True,
        text=True,
        check=False,
    )
    assert said.returncode == 2
    assert "No database is at" in said.stderr
    assert list(tmp_path.glob("*.sqlite3")) == []
