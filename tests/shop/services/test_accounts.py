"""The first start: a yard, its people, passwords shown once."""

from __future__ import annotations

import pytest
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.test import Client

from shop.exceptions import Refused
from shop.models import AuditEntry, Device, Role, ServerEpoch, User, Yard
from shop.services.accounts import Bootstrap, Person, epoch_ensure, password_make, yard_bootstrap

pytestmark = pytest.mark.django_db

PEOPLE = (
    Person("lead", "Test Lead", Role.LEAD),
    Person("tech", "Test Technician", Role.TECHNICIAN, "tech@yard.example"),
)


@pytest.fixture
def made() -> Bootstrap:
    return yard_bootstrap(fields={"name": "Test Yard", "time_zone": "Europe/London"}, people=PEOPLE)


def test_everyone_can_sign_in_with_the_password_shown(made: Bootstrap) -> None:
    for credential in made.credentials:
        user = authenticate(username=credential.username, password=credential.password)
        assert user == made.members[credential.username].user
        assert credential.password not in User.objects.get(username=credential.username).password
    assert [(c.username, c.role) for c in made.credentials] == [
        ("lead", "lead"),
        ("tech", "technician"),
    ]


def test_the_yard_has_a_desk_an_epoch_and_the_first_entries(made: Bootstrap) -> None:
    assert Device.objects.get(yard=made.yard).kind == "desk"
    assert ServerEpoch.objects.get() == epoch_ensure()
    entries = list(AuditEntry.objects.filter(yard=made.yard))
    assert [entry.action for entry in entries] == ["yard.bootstrap", "member.add", "member.add"]
    assert entries[0].fields == {"values": {"people": 2}}
    assert [entry.fields["values"]["role"] for entry in entries[1:]] == ["lead", "technician"]


def test_a_second_yard_keeps_the_epoch(made: Bootstrap) -> None:
    yard_bootstrap(
        fields={"name": "Other Yard"}, people=(Person("second", "Test Lead", Role.LEAD),)
    )
    assert ServerEpoch.objects.count() == 1


def test_a_yard_without_a_lead_is_refused() -> None:
    with pytest.raises(Refused, match="one lead"):
        yard_bootstrap(fields={"name": "Test Yard"}, people=PEOPLE[1:])
    assert not Yard.objects.exists()


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"name": ""}, "name"),
        ({"name": "X", "time_zone": "Mars/Base"}, "time_zone"),
        ({"name": "X", "currency": "usd"}, "currency"),
    ],
)
def test_a_bad_field_is_named_and_nothing_is_made(fields: dict[str, str], name: str) -> None:
    with pytest.raises(ValidationError) as error:
        yard_bootstrap(fields=fields, people=PEOPLE)
    assert list(error.value.error_dict) == [name]
    assert not User.objects.exists()


def test_passwords_are_long_random_and_easy_to_read() -> None:
    passwords = {password_make() for _password in range(200)}
    assert len(passwords) == 200
    for password in passwords:
        assert [len(group) for group in password.split("-")] == [4, 4, 4, 4]
        assert not set(password) & set("lo01")


def test_raising_the_generation_ends_every_session(made: Bootstrap) -> None:
    user = made.members["lead"].user
    clients = [Client(), Client()]
    for client in clients:
        client.force_login(user)
        assert client.get("/").wsgi_request.user.is_authenticated
    user.session_generation += 1
    user.save()
    for client in clients:
        assert not client.get("/").wsgi_request.user.is_authenticated
