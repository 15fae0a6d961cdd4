"""For all tests: no outside network, and the mark that tells which tests need a database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.test import TransactionTestCase

from tests import network

network.guard()

DATABASE_FIXTURES = frozenset(
    {"db", "transactional_db", "live_server", "django_db_setup", "client", "admin_client"}
)


@pytest.fixture(autouse=True, scope="session")
def _flush_past_the_ledger() -> Iterator[None]:
    """Emptying the tables after a test is the one deletion that the ledger's triggers allow.

    In one transaction: each of the 160 statements by itself would wait for the disk.
    """
    from django.db import connection, transaction

    from shop.ledger import lift_triggers, set_triggers

    flush = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]  # no public way

    def flush_lifted(self: TransactionTestCase) -> None:
        with transaction.atomic():
            lift_triggers(connection)
            flush(self)
            set_triggers(connection)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", flush_lifted)
        yield


def needs_database(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    return bool(fixtures & DATABASE_FIXTURES) or any(item.iter_markers("django_db"))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if needs_database(item):
            item.add_marker("database")
        if "browser" in item.path.parts:
            item.add_marker("browser")


@pytest.hookimpl(trylast=True, specname="pytest_collection_modifyitems")
def pytest_long_files_first(items: list[pytest.Item]) -> None:
    """Long files begun last would keep one worker while one idles: the small ones fill the end."""
    items.sort(key=turn)


def turn(item: pytest.Item) -> int:
    """Proofs with counts take minutes; those that start the whole service, up to one.

    Those with a browser stay where they are: its server and worker run on until the session ends.
    """
    if item.get_closest_marker("trust"):
        return 0
    return 1 if item.path.parent == Path(__file__).parent else 2
