"""The yard at its first start, with its people. Later changes of people are in `members`."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.models import Device, DeviceKind, Member, Role, ServerEpoch, Yard
from shop.services.audit import audit_append
from shop.services.members import person_store

# 16 signs of 32 carry 80 bits: too many to guess, few enough to type from a screen.
_SIGNS = "abcdefghijkmnpqrstuvwxyz23456789"
_GROUPS = (4, 4, 4, 4)


@dataclass(frozen=True, slots=True)
class Person:
    username: str
    name: str
    role: str
    email: str = ""


@dataclass(frozen=True, slots=True)
class Credential:
    """A generated password, shown once and kept nowhere in the clear."""

    username: str
    name: str
    role: str
    password: str


@dataclass(frozen=True, slots=True)
class Bootstrap:
    yard: Yard
    members: dict[str, Member]  # by sign-in name
    credentials: tuple[Credential, ...]


@transaction.atomic
def yard_bootstrap(*, fields: Mapping[str, str | bool], people: tuple[Person, ...]) -> Bootstrap:
    """Make a yard with its people, its desk and, on the first start, the server's epoch.

    1. The yard, from `fields` (name, address, time_zone and the like).
    2. Each person with a generated password, returned once.
    3. The desk device, for work entered in the browser, and the epoch if there is none.
    """
    if not any(person.role == Role.LEAD for person in people):
        raise Refused(_("A yard needs one lead: only a lead can let others in."))
    yard = Yard(**fields)
    yard.full_clean()
    yard.save()
    made = [_person_add(yard, person) for person in people]
    desk = Device(yard=yard, kind=DeviceKind.DESK, name=_("Desk"))
    desk.full_clean()
    desk.save()
    epoch_ensure()
    audit_append(
        yard=yard,
        member=None,
        action="yard.bootstrap",
        subject=yard,
        values={"people": len(made)},
    )
    for member, _credential in made:
        audit_append(
            yard=yard,
            member=None,
            action="member.add",
            subject=member,
            values={"role": member.role},
        )
    members = {credential.username: member for member, credential in made}
    return Bootstrap(yard, members, tuple(credential for _member, credential in made))


def epoch_ensure() -> ServerEpoch:
    """The server's epoch, begun on the first start."""
    epoch = ServerEpoch.objects.order_by("-pk").first()
    return epoch or ServerEpoch.objects.create(started_at=timezone.now(), reason="first start")


def password_make() -> str:
    """A password for people to type: groups of signs that cannot be taken for one another."""
    groups = ("".join(secrets.choice(_SIGNS) for _sign in range(n)) for n in _GROUPS)
    return "-".join(groups)


def _person_add(yard: Yard, person: Person) -> tuple[Member, Credential]:
    password = password_make()
    member = person_store(
        yard=yard,
        username=person.username,
        name=person.name,
        email=person.email,
        role=person.role,
        password=password,
    )
    return member, Credential(person.username, person.name, person.role, password)
