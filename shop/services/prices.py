"""The price list and the rates. Rates start on a day and are never edited back."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils.translation import gettext as _

from shop.failpoints import failpoint
from shop.models import AccessClass, LaborOp, Member, Product, RateCard, TaxProfile
from shop.services.audit import audit_append

RowT = TypeVar("RowT", bound=models.Model)


@transaction.atomic
def product_create(*, member: Member, fields: Mapping[str, Any]) -> Product:
    product = Product(yard=member.yard, **fields)
    _sku_free(product)
    return _store(member, product, "product.create", list(fields))


@transaction.atomic
def product_update(*, member: Member, product: Product, fields: Mapping[str, Any]) -> Product:
    changed = [name for name, value in fields.items() if getattr(product, name) != value]
    for name in changed:
        setattr(product, name, fields[name])
    _sku_free(product)
    return _store(member, product, "product.update", changed)


@transaction.atomic
def ratecard_create(*, member: Member, fields: Mapping[str, Any]) -> RateCard:
    """Rates from a day on; quotes issued before keep theirs."""
    return _store(member, RateCard(yard=member.yard, **fields), "ratecard.create", list(fields))


@transaction.atomic
def taxprofile_create(*, member: Member, fields: Mapping[str, Any]) -> TaxProfile:
    """Tax from a day on; papers issued before keep theirs."""
    profile = TaxProfile(yard=member.yard, **fields)
    return _store(member, profile, "taxprofile.create", list(fields))


@transaction.atomic
def hours_set(
    *,
    member: Member,
    access: Mapping[str, tuple[str, Decimal]],
    steps: Mapping[str, tuple[str, Decimal]],
) -> None:
    """Set the hours of access classes and steps by code; each comes with its words."""
    for position, (code, (text, hours)) in enumerate(access.items()):
        row = AccessClass.objects.filter(yard=member.yard, code=code).first()
        row = row or AccessClass(yard=member.yard, code=code, text=text, position=position)
        row.hours = hours
        row.full_clean()
        row.save()
    failpoint("hours.classes stored")
    for code, (text, hours) in steps.items():
        op = LaborOp.objects.filter(yard=member.yard, code=code).first()
        op = op or LaborOp(yard=member.yard, code=code, text=text)
        op.hours, op.flat = hours, None
        op.full_clean()
        op.save()
    values = {code: str(hours) for code, (_text, hours) in (*access.items(), *steps.items())}
    audit_append(
        yard=member.yard, member=member, action="hours.set", subject=member.yard, values=values
    )


def _sku_free(product: Product) -> None:
    others = Product.objects.filter(yard=product.yard, sku=product.sku).exclude(pk=product.pk)
    if others.exists():
        raise ValidationError(
            {
                "sku": ValidationError(
                    _("%(sku)s is on the list already. Choose another number."),
                    params={"sku": product.sku},
                )
            }
        )


def _store(member: Member, row: RowT, action: str, changed: list[str]) -> RowT:
    row.full_clean()
    row.save()
    audit_append(yard=member.yard, member=member, action=action, subject=row, changed=changed)
    return row
