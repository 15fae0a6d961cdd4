from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction

from shop.models import Customer, Member
from shop.services.audit import audit_append

FIELDS = ("name", "email", "phone", "address", "notes")


@transaction.atomic
def customer_create(*, member: Member, fields: Mapping[str, str]) -> Customer:
    customer = Customer(yard=member.yard, **{name: fields.get(name, "") for name in FIELDS})
    customer.full_clean()
    customer.save()
    _log(member, customer, "customer.create", [name for name in FIELDS if fields.get(name)])
    return customer


@transaction.atomic
def customer_update(*, member: Member, customer: Customer, fields: Mapping[str, str]) -> Customer:
    changed = [name for name in FIELDS if fields.get(name, "") != getattr(customer, name)]
    for name in changed:
        setattr(customer, name, fields.get(name, ""))
    customer.full_clean()
    customer.save()
    if changed:
        _log(member, customer, "customer.update", changed)
    return customer


def _log(member: Member, customer: Customer, action: str, changed: list[str]) -> None:
    audit_append(yard=member.yard, member=member, action=action, subject=customer, changed=changed)
