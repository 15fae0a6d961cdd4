"""What the field in the title row finds: boats, owners and quotes of the yard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop.access import may
from shop.models import Customer, Hull, Member, Quote
from shop.selectors.customers import customer_list
from shop.selectors.hulls import hull_list

AT_MOST = 20


@dataclass(frozen=True)
class Found:
    """At most twenty of each kind."""

    boats: Sequence[Hull] = ()
    customers: Sequence[Customer] = ()
    quotes: Sequence[Quote] = ()

    @property
    def count(self) -> int:
        return len(self.boats) + len(self.customers) + len(self.quotes)

    @property
    def only(self) -> Hull | Customer | Quote | None:
        """The one thing found, when it is one."""
        if self.count != 1:
            return None
        found: list[Hull | Customer | Quote] = [*self.boats, *self.customers, *self.quotes]
        return found[0]


def find(member: Member, words: str) -> Found:
    """What holds all the words, as far as the member's role may read it."""
    if not words:
        return Found()
    yard = member.yard
    boats = hull_list(yard=yard, words=words)[:AT_MOST]
    customers = customer_list(yard=yard, words=words)[:AT_MOST]
    quotes = (
        Quote.objects.filter(yard=yard, number__icontains=words)
        .exclude(number="")
        .select_related("hull")[:AT_MOST]
    )
    return Found(
        boats=list(boats),
        customers=list(customers) if may(member, "customer.read") else [],
        quotes=list(quotes) if may(member, "quote.read") else [],
    )
