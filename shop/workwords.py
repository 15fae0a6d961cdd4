"""Words for how far a piece of work is: one table for yard, office, owner and papers."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shop.work.model import DEFERRED, FITTED, STARTED, TO_DO

Words = str | Promise

STATES: dict[str, Words] = {
    TO_DO: _("To do"),
    STARTED: _("Started"),
    FITTED: _("Fitted"),
    DEFERRED: _("Put off"),
}
LABOR_DONE: Words = _("Done")  # a hose or a part is fitted, work is done


def state_word(state: str, *, is_labor: bool = False) -> str:
    """How far it is, in the words that every page uses."""
    return str(LABOR_DONE if is_labor and state == FITTED else STATES[state])
