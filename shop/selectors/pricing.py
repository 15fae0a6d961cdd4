"""Rows of the price list and the rate card as the values that `shop.pricing` works with."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.db.models import QuerySet

from shop.models import Product, RateCard, TaxProfile, Yard
from shop.pricing import LineKind, Priced, PriceError, Rates, Tax

TAG_SKU = "P-TAG"

Dated = TypeVar("Dated", RateCard, TaxProfile)


def rates_on(yard: Yard, day: date) -> Rates:
    """The rate card in force on a day, with the yard's access classes and operations."""
    card = _in_force(yard.rate_cards.all(), day, "rates")
    ops = list(yard.labor_ops.all())
    return Rates(
        labor_rate=card.labor_rate,
        access_hours={row.code: row.hours for row in yard.access_classes.all()},
        op_hours={op.code: op.hours for op in ops if op.hours is not None},
        op_text={op.code: op.text for op in ops},
        supplies_share=card.supplies_pct,
        supplies_floor=card.supplies_floor,
        supplies_cap=card.supplies_cap,
        waste_flat=card.waste_flat,
        waste_per_gal=card.waste_per_gal,
        deposit_share=card.deposit_pct,
        deposit_step=card.deposit_step,
        hose_add_in=card.hose_add_in,
        hose_step_ft=card.hose_step_ft,
        fill_extra_hours=card.fill_extra_hours,
    )


def rate_card_on(yard: Yard, day: date) -> RateCard:
    """The row itself, for what is no rate: days a quote holds, months of warranty."""
    return _in_force(yard.rate_cards.all(), day, "rates")


def tax_on(yard: Yard, day: date) -> Tax:
    """The tax profile in force on a day."""
    profile = tax_profile_on(yard, day)
    kinds = frozenset(LineKind(kind) for kind in profile.taxable_kinds)
    return Tax(profile.rate, kinds, profile.method)


def tax_profile_on(yard: Yard, day: date) -> TaxProfile:
    return _in_force(yard.tax_profiles.all(), day, "tax profile")


def products_by_sku(yard: Yard) -> dict[str, Product]:
    """Every product of the yard by its number, with its usual clamp and clip."""
    rows = yard.products.select_related("default_clamp", "default_clip")
    return {product.sku: product for product in rows}


def priced(product: Product) -> Priced:
    # Prices are stored with four places; as many are shown as were typed, two at least.
    price = product.price.quantize(Decimal("0.01"))
    exact = price if price == product.price else product.price.normalize()
    return Priced(product.sku, product.description, product.unit, exact, product.condition)


def _in_force(rows: QuerySet[Dated], day: date, what: str) -> Dated:
    row = rows.filter(starts_on__lte=day).order_by("-starts_on").first()
    if row is None:
        raise PriceError(f"No {what} in force on {day.isoformat()}. Add the day's under Prices.")
    return row
