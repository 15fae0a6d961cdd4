from __future__ import annotations

import copy
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from shop.models import Quote
from tests.shop.owning import Small, make_small
from tests.shop.quoting import Shop, make_draft, make_shop
from tests.shop.working import Yard, make_yard_at_work


@pytest.fixture(scope="module")
def shop_made(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Shop]:
    """Second Helping in her yard, made once a module and undone with it: hundreds of rows."""
    with django_db_blocker.unblock(), rolled_back():
        yield make_shop()


@pytest.fixture
def shop(shop_made: Shop, db: None) -> Shop:
    """Second Helping with her proposal, in a yard with the scenario's prices."""
    return copy.deepcopy(shop_made)


@pytest.fixture
def draft(shop: Shop) -> Quote:
    """Her quote with the scenario's two options, not issued.

    Made for each test: made once a module, other tests of the module would find it on her boat.
    """
    return make_draft(shop)


@pytest.fixture(scope="module")
def yard_made(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Yard]:
    """Second Helping at work, made once a module and undone with it: it takes over a second."""
    with django_db_blocker.unblock(), rolled_back():
        yield make_yard_at_work(make_shop())


@pytest.fixture
def yard(yard_made: Yard, db: None) -> Yard:
    """Second Helping at work; what a test does to her is undone after it."""
    return copy.deepcopy(yard_made)


@pytest.fixture(scope="module")
def small_made(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Small]:
    """The small shop with its quote issued, made once a module and undone with it."""
    with django_db_blocker.unblock(), rolled_back():
        yield make_small()


@pytest.fixture
def small(small_made: Small, db: None) -> Small:
    """The small shop with its quote issued; what a test does to it is undone after it."""
    return copy.deepcopy(small_made)


@contextmanager
def rolled_back() -> Iterator[None]:
    """A transaction for tests: services that ask for the outermost one accept it."""
    atomic = transaction.atomic()
    atomic._from_testcase = True  # type: ignore[attr-defined]  # as Django's own TestCase does
    with atomic:
        yield
        transaction.set_rollback(True)
