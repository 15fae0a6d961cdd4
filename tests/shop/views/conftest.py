from __future__ import annotations

import pytest
from django.test import Client

from shop.models import Hull, Member, Role, Yard
from tests.factories import make_hull, make_member, make_yard
from tests.shop.views.pages import signed_in


@pytest.fixture
def yard(db: None) -> Yard:
    return make_yard()


@pytest.fixture
def lead(yard: Yard) -> Member:
    return make_member(yard, Role.LEAD, "lead")


@pytest.fixture
def writer(yard: Yard) -> Member:
    return make_member(yard, Role.WRITER, "writer")


@pytest.fixture
def technician(yard: Yard) -> Member:
    return make_member(yard, Role.TECHNICIAN, "technician")


@pytest.fixture
def bookkeeper(yard: Yard) -> Member:
    return make_member(yard, Role.BOOKKEEPER, "bookkeeper")


@pytest.fixture
def stranger(db: None) -> Member:
    """A lead of another yard."""
    return make_member(make_yard("Other Yard"), Role.LEAD, "stranger")


@pytest.fixture
def boat(yard: Yard) -> Hull:
    return make_hull(yard, "Test Boat")


@pytest.fixture
def at_desk(writer: Member) -> Client:
    return signed_in(writer)


@pytest.fixture
def as_lead(lead: Member) -> Client:
    return signed_in(lead)
