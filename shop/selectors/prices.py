from __future__ import annotations

from django.db.models import Q
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shop.models import Product, ProductKind, Yard

HEADINGS = {
    ProductKind.HOSE: _("Hose"),
    ProductKind.CLAMP: _("Clamps"),
    ProductKind.PART: _("Parts"),
}


def products_by_kind(*, yard: Yard, words: str = "") -> list[tuple[str | Promise, list[Product]]]:
    """The price list under its headings, products in use first; every word must occur."""
    rows = Product.objects.filter(yard=yard).select_related("default_clamp")
    for word in words.split():
        rows = rows.filter(Q(sku__icontains=word) | Q(description__icontains=word))
    listed = list(rows.order_by("-is_active", "sku"))
    kinds = ((heading, [p for p in listed if p.kind == kind]) for kind, heading in HEADINGS.items())
    return [(heading, products) for heading, products in kinds if products]
