from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection
from django.db.backends.signals import connection_created
from pytest_django import DjangoDbBlocker

from shop.services.anchors import anchors_file
from tests.shop.conftest import rolled_back
from tests.shop.trust.asking import Asker, make_asker
from tests.shop.trust.expected import owing
from tests.shop.trust.house import make_house
from tests.shop.trust.housing import House
from tests.shop.trust.report import report

DO_NOT_WAIT = {
    "sqlite": "PRAGMA synchronous = OFF",
    "postgresql": "SET synchronous_commit TO off",
}


def pytest_collection_finish(session: pytest.Session) -> None:
    """Write down once a half which of the tests about to run owe a row, so that none is missed."""
    first = os.environ.get("PYTEST_XDIST_WORKER", "gw0") == "gw0"
    owed = owing(session.items)
    if first and owed and not session.config.option.collectonly:
        report({"id": "owed", "owed": owed, "db": connection.vendor})


@pytest.fixture(autouse=True)
def _no_heads_of_another_database() -> None:
    """A worker that swept in an earlier test wrote down heads of yards that are gone with it."""
    anchors_file().unlink(missing_ok=True)


@pytest.fixture
def unsynced() -> Iterator[None]:
    """Commit without waiting for the disk: for proofs of what a killed process leaves behind.

    A commit that was written outlives its process, synced or not. What the disk must hold when
    the power goes is another proof's matter.
    """

    def hurry(sender: Any, connection: Any, **_: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute(DO_NOT_WAIT[connection.vendor])

    connection_created.connect(hurry)
    connection.close()
    yield
    connection_created.disconnect(hurry)
    connection.close()


@pytest.fixture(scope="module")
def house_made(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[House]:
    """A yard with everything that an address may be about, made once a module: it takes seconds."""
    with django_db_blocker.unblock(), rolled_back():
        yield make_house()


@pytest.fixture
def asker(house_made: House, db: None) -> Asker:
    return make_asker(house_made)
