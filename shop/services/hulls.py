"""Boats and their engines on file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.failpoints import failpoint
from shop.hin import FORM_OK, WARN, hin_read
from shop.models import Component, Customer, Engine, Hull, Member, Segment, Tank
from shop.numbering import local_day
from shop.services.audit import audit_append
from shop.services.customers import customer_create

DECODED = frozenset({FORM_OK, WARN})


@transaction.atomic
def hull_create(
    *,
    member: Member,
    customer: Customer | None,
    new_customer: Mapping[str, str],
    columns: Mapping[str, Any],
    facts: Mapping[str, Any],
) -> Hull:
    """Put a boat on file, and her owner with her when no owner on file is given."""
    hull = Hull(yard=member.yard)
    return _store(member, hull, customer, new_customer, columns, facts)


@transaction.atomic
def hull_update(
    *,
    member: Member,
    hull: Hull,
    customer: Customer | None,
    new_customer: Mapping[str, str],
    columns: Mapping[str, Any],
    facts: Mapping[str, Any],
) -> Hull:
    return _store(member, hull, customer, new_customer, columns, facts)


def _store(
    member: Member,
    hull: Hull,
    customer: Customer | None,
    new_customer: Mapping[str, str],
    columns: Mapping[str, Any],
    facts: Mapping[str, Any],
) -> Hull:
    is_new = hull.pk is None
    owner = customer or customer_create(member=member, fields=new_customer)
    before = dict(hull.facts)
    changed = [name for name, value in columns.items() if getattr(hull, name) != value]
    changed += [] if hull.customer_id == owner.pk else ["customer"]
    changed += [key for key in {*before, *facts} if before.get(key) != facts.get(key)]
    for name, value in columns.items():
        setattr(hull, name, value)
    hull.customer = owner
    hull.facts = dict(facts)
    hull.hin = _plain_hin(member, hull.hin_as_read)
    hull.full_clean()
    hull.save()
    failpoint("hull.stored")
    action = "hull.create" if is_new else "hull.update"
    audit_append(yard=member.yard, member=member, action=action, subject=hull, changed=changed)
    return hull


def _plain_hin(member: Member, as_read: str) -> str:
    """The number without its separators once it has a known form; nothing before that."""
    reading = hin_read(as_read, on=local_day(timezone.now(), member.yard.time_zone))
    return reading.hin if reading.verdict in DECODED else ""


@transaction.atomic
def engine_create(
    *, member: Member, hull: Hull, columns: Mapping[str, Any], facts: Mapping[str, Any]
) -> Engine:
    last = hull.engines.order_by("-position").first()
    engine = Engine(hull=hull, position=last.position + 1 if last else 0)
    return _store_engine(member, engine, columns, facts)


@transaction.atomic
def engine_update(
    *, member: Member, engine: Engine, columns: Mapping[str, Any], facts: Mapping[str, Any]
) -> Engine:
    return _store_engine(member, engine, columns, facts)


def _store_engine(
    member: Member, engine: Engine, columns: Mapping[str, Any], facts: Mapping[str, Any]
) -> Engine:
    is_new = engine.pk is None
    before = dict(engine.facts)
    changed = [name for name, value in columns.items() if getattr(engine, name) != value]
    changed += [key for key in {*before, *facts} if before.get(key) != facts.get(key)]
    for name, value in columns.items():
        setattr(engine, name, value)
    engine.facts = dict(facts)
    _ident_free(engine)
    engine.full_clean()
    engine.save()
    action = "engine.create" if is_new else "engine.update"
    audit_append(yard=member.yard, member=member, action=action, subject=engine, changed=changed)
    return engine


def _ident_free(engine: Engine) -> None:
    """A name stands once in the whole drawing: engines, tanks, components and segments."""
    hull, ident = engine.hull, engine.ident
    taken = hull.engines.filter(ident=ident).exclude(pk=engine.pk).exists() or any(
        model.objects.filter(state__hull=hull, ident=ident).exists()
        for model in (Tank, Component, Segment)
    )
    if taken:
        raise ValidationError(
            {
                "ident": ValidationError(
                    _("%(ident)s names another part of this boat. Choose another name."),
                    params={"ident": ident},
                )
            }
        )
