"""A proposal and the drafts that are written from it: one at a time."""

from __future__ import annotations

from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.models import Quote, QuoteStatus, SystemState
from shop.services.locks import state_lock


class DraftStands(Refused):
    """A quote is being written from the proposal already; carries it, to lead there."""

    def __init__(self, draft: Quote) -> None:
        self.draft = draft
        super().__init__(_("A quote is being written from this proposal already: this one."))


def proposal_undrafted(proposed: SystemState) -> SystemState:
    """The proposal as it is now, held until the transaction ends, if no draft stands on it.

    Quotes that were issued from it or replaced since are none: another may follow them.
    """
    proposed = state_lock(proposed)
    drafts = Quote.objects.filter(proposed=proposed, status=QuoteStatus.DRAFT)
    draft = drafts.order_by("-created_at", "-pk").first()
    if draft is not None:
        raise DraftStands(draft)
    return proposed


def proposal_discard(proposed: SystemState) -> None:
    """Remove a proposal that nothing refers to."""
    used = (proposed.quotes_from_proposed, proposed.work_orders, proposed.children)
    if not any(rows.exists() for rows in used):
        proposed.delete()
