"""Constraints on sums of money."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models.expressions import Combinable

HALF_A_CENT = Decimal("0.005")


def adds_up(name: str, total: str, first: str, *others: str) -> models.CheckConstraint:
    """A total that is the sum of its parts, within half a cent: SQLite adds in binary."""
    added: Combinable = models.F(first)
    for other in others:
        added = added + models.F(other)
    return models.CheckConstraint(
        condition=models.Q(
            **{f"{total}__gt": added - HALF_A_CENT, f"{total}__lt": added + HALF_A_CENT}
        ),
        name=name,
    )
