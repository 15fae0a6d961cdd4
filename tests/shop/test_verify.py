"""How the checks are run: at one moment, reading only, each by itself."""

from __future__ import annotations

import sqlite3
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
