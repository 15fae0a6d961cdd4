"""What every form of facts does once it is valid: write it, and say what wants saying."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from django.contrib import messages
from django.utils.translation import gettext as _

from shop.exceptions import FactError, Refused
from shop.http import MemberRequest
from shop.models import FactChange, SubjectKind, SystemState
from shop.selectors.frozen import Freeze, state_freeze
from shop.services.corrections import Correction
from shop.services.measurements import measurements_correct, proposal_of


class Corrects(Protocol):
    """A form of facts: those of one part, or of all parts in a table."""

    def corrections(self) -> list[Correction]: ...
    def new_warnings(self) -> list[str]: ...
    def take_fact_error(self, error: FactError) -> None: ...
    def add_error(self, field: str | None, error: Any) -> None: ...


def corrections_saved(
    request: MemberRequest, state: SystemState, form: Corrects, *, quietly: bool = False
) -> Sequence[FactChange] | None:
    """The changes of a valid form; None where they are refused, with the reason in the form.

    `quietly`: nothing is said of a form that changes nothing, as where it was sent to go on.
    """
    try:
        changes = measurements_correct(
            state=state, corrections=form.corrections(), member=request.member
        )
    except FactError as error:
        form.take_fact_error(error)
        return None
    except Refused as error:
        form.add_error(None, str(error))
        return None
    if not changes and not quietly:
        messages.info(request, _("Nothing was changed."))
    for words in form.new_warnings():
        messages.warning(request, words)
    kept = (freeze_of_proposal(state, each.subject_kind, each.ident) for each in changes)
    if freeze := next(filter(None, kept), None):
        messages.warning(request, freeze.words)
    return changes


def freeze_of_proposal(state: SystemState, kind: str, ident: str) -> Freeze | None:
    """What kept a correction of a survey from the proposal made of it."""
    if kind in (SubjectKind.BOAT, SubjectKind.ENGINE):
        return None
    proposal = proposal_of(state)
    freeze = state_freeze(proposal) if proposal else None
    return freeze if freeze and freeze.holds(kind, ident) else None
