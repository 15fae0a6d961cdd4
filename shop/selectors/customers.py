from __future__ import annotations

from django.db.models import Count, Q, QuerySet

from shop.models import Customer, Yard


def customer_list(*, yard: Yard, words: str = "") -> QuerySet[Customer]:
    """Customers by name with the number of their boats; every word must occur."""
    rows = Customer.objects.filter(yard=yard).annotate(boats=Count("hulls"))
    for word in words.split():
        rows = rows.filter(
            Q(name__icontains=word)
            | Q(email__icontains=word)
            | Q(phone__icontains=word)
            | Q(hulls__name__icontains=word)
        )
    return rows.order_by("name", "pk").distinct()
