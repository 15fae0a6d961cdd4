"""What keeps a proposal from being changed: an owner was shown it, or has authorized it.

Common practice, no source, for the freeze itself; what it serves is published: no work above or
other than what was authorized without a further consent (California Harbors and Navigation Code
413 and 414; N.J.A.C. 13:45A-23.2 asks the like).
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from shop.models import (
    ChangeLine,
    ChangeStatus,
    Quote,
    QuoteStatus,
    StateKind,
    SubjectKind,
    SystemState,
    WorkOrderStatus,
)
from shop.selectors.authorized import authorized_idents

# A later version of the quote has its own proposal, so one that was replaced binds no more than
# the version that was accepted.
CLOSED = frozenset({QuoteStatus.ACCEPTED.value, QuoteStatus.SUPERSEDED.value})


@dataclass(frozen=True)
class Freeze:
    """The quote that shows the proposal; `held` are the segments that stay, None for all of it.

    While authorized work is open, a segment that no consent and no waiting change order names
    may still be planned: a change order adds it, and asks for its own consent.
    """

    quote: Quote
    held: frozenset[str] | None

    @property
    def is_authorized(self) -> bool:
        return self.quote.status == QuoteStatus.ACCEPTED

    @property
    def is_over(self) -> bool:
        """Whether neither a new version nor a change order leads on: a new proposal does."""
        return self.is_authorized and self.held is None

    def holds(self, kind: str, ident: str) -> bool:
        if self.held is None or kind != SubjectKind.SEGMENT:
            return True
        return ident in self.held

    @property
    def words(self) -> str:
        """Why the proposal stays as it is, and the way to change what is planned."""
        said = {"number": self.quote.number, "version": self.quote.version}
        if not self.is_authorized:
            words = _(
                "%(number)s, version %(version)s, shows this proposal to the owner, so it stays "
                "as it is. Make a new version of the quote to change it."
            )
        elif self.is_over:
            words = _(
                "The owner authorized this proposal as %(number)s shows it, and that work is "
                "closed. Start a new proposal."
            )
        else:
            words = _(
                "The owner authorized work of this proposal as %(number)s shows it, so that stays "
                "as it is. A hose that is not authorized yet may be planned here and added by a "
                "change order. To renew an authorized one otherwise, put it off in the work "
                "order and quote it anew."
            )
        return words % said


def state_freeze(state: SystemState) -> Freeze | None:
    """What keeps a proposal as it is; None while only drafts refer to it."""
    if state.kind != StateKind.PROPOSED:
        return None
    shown = list(
        Quote.objects.filter(proposed=state)
        .exclude(status=QuoteStatus.DRAFT)
        .order_by("version", "pk")
    )
    if not shown:
        return None
    waiting = [quote for quote in shown if quote.status not in CLOSED]
    accepted = [quote for quote in shown if quote.status == QuoteStatus.ACCEPTED]
    if waiting or not accepted:
        return Freeze((waiting or shown)[-1], None)
    return Freeze(accepted[-1], _held(state))


def _held(state: SystemState) -> frozenset[str] | None:
    """Segments that are authorized or offered in open work; None when no work is open."""
    orders = list(state.work_orders.filter(status=WorkOrderStatus.OPEN).select_related("option"))
    if not orders:
        return None
    offered = ChangeLine.objects.filter(
        change_order__work_order__in=orders, change_order__status=ChangeStatus.OFFERED
    )
    held = set(offered.exclude(group="").values_list("group", flat=True))
    return frozenset(held.union(*(authorized_idents(order) for order in orders)))
