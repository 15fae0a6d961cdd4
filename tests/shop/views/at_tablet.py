"""Where the pages of the yard are, and how far a segment is."""

from __future__ import annotations

from django.urls import reverse

from shop.selectors.folding import work_folded
from tests.shop.working import Yard


def url(work: Yard, name: str, *args: str) -> str:
    return reverse(name, args=[work.work_order.pk, *args])


def state(work: Yard, ident: str) -> str:
    return work_folded(work.work_order).segment(ident).state
