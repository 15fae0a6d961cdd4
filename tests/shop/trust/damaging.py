"""How a hand in the database damages a row: below every rule of the shop."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.db import models

from shop.models import Member

CENT = Decimal("0.01")


def first(model: type[models.Model], **wanted: Any) -> Any:
    row = model._default_manager.filter(**wanted).order_by("pk").first()
    assert row is not None, (model, wanted)
    return row


def write(row: models.Model, **values: Any) -> None:
    """Change a row as a hand in the database would: no check of the shop's is asked."""
    changed = type(row)._default_manager.filter(pk=row.pk).update(**values)
    assert changed == 1


def raise_total(row: Any, by: Decimal) -> None:
    """Raise labor and all that follows from it, so that the row by itself still adds up."""
    write(row, labor=row.labor + by, net=row.net + by, total=row.total + by)


def another(member: Member) -> Member:
    found = Member.objects.filter(yard=member.yard).exclude(pk=member.pk).order_by("pk").first()
    assert found is not None
    return found


Damage = Callable[[], None]
