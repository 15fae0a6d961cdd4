"""Measurements corrected in a survey reach the proposal that was made from it."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence

from django.db import transaction

from shop.models import FactChange, Member, StateKind, SystemState
from shop.selectors.frozen import state_freeze
from shop.selectors.subjects import subject_columns, subject_facts
from shop.selectors.systems import system_document
from shop.services.corrections import Correction, facts_change
from shop.services.facts import fact_get
from shop.services.locks import state_lock, states_lock
from shop.services.opened import COLUMNS

# Kept by the boat and her engines themselves, which every state shares.
_SHARED = frozenset({"boat", "engine"})
# Where another product is planned, these are its own.
_OF_THE_PRODUCT = (
    "hose",
    "metal_line",
    "from_end.clamps",
    "to_end.clamps",
    "from_end.securing",
    "to_end.securing",
    "anti_siphon",
    "opening",
)


@transaction.atomic
def measurements_correct(
    *, state: SystemState, corrections: Sequence[Correction], member: Member | None = None
) -> list[FactChange]:
    """Correct facts of a state and, for a survey, of the open proposal made from it.

    The proposal takes a correction where it still holds what the survey held; what was planned
    otherwise stays as planned, and what an owner was shown stays as shown. Both are one act,
    taken back together.

    Returns the changes of `state`, and after them those of the proposal.
    """
    batch = uuid.uuid4()
    proposal = proposal_of(state)
    states_lock([state, proposal] if proposal else [state])
    changes = facts_change(state=state, corrections=corrections, member=member, batch=batch)
    if not changes or proposal is None:
        return changes
    carried = list(_carried(state_lock(proposal), changes))
    return changes + facts_change(state=proposal, corrections=carried, member=member, batch=batch)


def proposal_of(state: SystemState) -> SystemState | None:
    """The newest proposal made from a survey; None of any other state."""
    if state.kind != StateKind.FOUND:
        return None
    return state.children.filter(kind=StateKind.PROPOSED).order_by("-number").first()


@transaction.atomic
def measurements_follow(
    *, proposal: SystemState, since: int, member: Member | None = None
) -> list[FactChange]:
    """Take into a proposal what was corrected in its survey after the survey's revision `since`."""
    if proposal.parent is None:
        return []
    made: list[FactChange] = []
    for change in proposal.parent.changes.filter(revision__gt=since).order_by("revision"):
        carried = list(_carried(proposal, [change]))
        made += facts_change(state=proposal, corrections=carried, member=member)
    return made


def _carried(proposal: SystemState, changes: Iterable[FactChange]) -> Iterable[Correction]:
    """The corrections of facts that the proposal shares with its survey."""
    document, freeze = system_document(proposal), state_freeze(proposal)
    for change in changes:
        kind, ident, key = change.subject_kind, change.ident, change.key
        if freeze is not None and freeze.holds(kind, ident):
            continue
        facts = subject_facts(document, kind, ident)
        if kind in _SHARED or facts is None:
            continue
        columns = subject_columns(proposal, kind, ident)
        if columns.get("product_sku") and key.startswith(_OF_THE_PRODUCT):
            continue
        is_column = key in COLUMNS.get(kind, ())
        held = columns.get(key) or None if is_column else fact_get(facts, change.previous_key)
        if held == change.previous:
            yield Correction(kind, ident, key, change.value)
