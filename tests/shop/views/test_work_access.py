"""The battery over every address of jobs, work, lots: who may, what is foreign, what repeats."""

from __future__ import annotations

import copy
from collections.abc import Iterator

import pytest
from django.urls import reverse
from pytest_django import DjangoDbBlocker

from shop.models import AuditEntry, Member
from shop.services.completions import completion_sign
from shop.services.recalls import recall_open
from shop.views.urls import work as urls
from tests.shop.conftest import rolled_back
from tests.shop.finishing import finish
from tests.shop.views.at_work import ADDRESSES, BY_ROLE, EVERYONE, Address
from tests.shop.views.pages import send, signed_in
from tests.shop.working import NOW, Yard

READ = [a for a in ADDRESSES if a.reads]
WRITE = [a for a in ADDRESSES if a.writes]
ON_AN_OBJECT = [a for a in ADDRESSES if a.of]


@pytest.fixture(scope="module")
def done_made(yard_made: Yard, django_db_blocker: DjangoDbBlocker) -> Iterator[Yard]:
    """The work done and signed, one lot of it called back."""
    with django_db_blocker.unblock(), rolled_back():
        finish(yard_made)
        lead = yard_made.shop.lead
        completion_sign(member=lead, work_order=yard_made.work_order, stop_stays=True, at=NOW)
        recall_open(member=lead, lot=yard_made.reels["RL-3"].lot, reason="Maker's letter.")
        yield yard_made


@pytest.fixture
def done(done_made: Yard, db: None) -> Yard:
    return copy.deepcopy(done_made)


def named(address: Address) -> str:
    return address.name


def person(done: Yard, role: str) -> Member:
    return done.shop.members[BY_ROLE[role]]


def test_the_battery_knows_every_address() -> None:
    assert {address.name for address in ADDRESSES} == {each.name for each in urls.urlpatterns}


@pytest.mark.parametrize("address", READ, ids=named)
@pytest.mark.parametrize("role", EVERYONE)
def test_who_reads(done: Yard, address: Address, role: str) -> None:
    answer = signed_in(person(done, role)).get(address.url(done))
    assert answer.status_code == (200 if role in address.reads else 403)


@pytest.mark.parametrize("address", WRITE, ids=named)
@pytest.mark.parametrize("role", EVERYONE)
def test_who_writes(done: Yard, address: Address, role: str) -> None:
    """Whoever may not is told so and logged; whoever may is at most told what is wrong."""
    answer = send(signed_in(person(done, role)), address.url(done), {})
    if role in address.writes:
        assert answer.status_code in (200, 302, 409, 422)
    else:
        assert answer.status_code == 403
        assert AuditEntry.objects.filter(action="access.denied").exists()


@pytest.mark.parametrize("address", ADDRESSES, ids=named)
def test_a_guest_is_asked_to_sign_in(done: Yard, address: Address, client: object) -> None:
    url = address.url(done)
    answer = client.get(url) if address.reads else client.post(url)  # type: ignore[attr-defined]
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("address", ON_AN_OBJECT, ids=named)
def test_another_yard_s_object_is_as_absent(done: Yard, address: Address, stranger: Member) -> None:
    url = address.url(done)
    client = signed_in(stranger)
    answer = client.get(url) if address.reads else send(client, url, {})
    assert answer.status_code == 404
    assert AuditEntry.objects.filter(action="access.foreign", member=stranger).exists()


@pytest.mark.parametrize("address", WRITE, ids=named)
def test_a_form_without_its_key_does_nothing(done: Yard, address: Address) -> None:
    answer = signed_in(done.shop.lead).post(address.url(done), {})
    assert answer.status_code == 400


@pytest.mark.parametrize(
    "address", [a for a in ADDRESSES if not a.reads or not a.writes], ids=named
)
def test_the_other_method_is_not_allowed(done: Yard, address: Address) -> None:
    client, url = signed_in(done.shop.lead), address.url(done)
    answer = send(client, url, {}) if address.reads else client.get(url)
    assert answer.status_code == 405
