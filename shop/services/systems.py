"""Fuel systems: stored from a document, and copied into a proposal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint
from shop.models import Component, Engine, Hull, Member, Segment, StateKind, SystemState, Tank
from shop.selectors.systems import STATE_PARTS, system_document
from shop.services.audit import audit_append
from shop.services.corrections import fact_change, fact_undo, facts_change
from shop.services.facts import fact_get, plain
from shop.services.locks import hull_lock, state_lock, yard_lock
from shop.services.systemrows import boat_save, clean_and_save, system_check, without

__all__ = [
    "fact_change",
    "fact_undo",
    "facts_change",
    "proposal_start",
    "system_check",
    "system_document",
    "system_store",
]

# Grades with which a segment is marked to be replaced when a proposal starts (trade words
# of the survey; common practice, no source).
REPLACED_GRADES = frozenset({"replace_soon", "replace_now", "do_not_run"})


@transaction.atomic
def system_store(
    *,
    hull: Hull,
    kind: StateKind,
    document: Mapping[str, Any],
    member: Member | None = None,
    parent: SystemState | None = None,
) -> SystemState:
    """Store a whole document as a new state of the boat.

    1. The document is read; FactError names every problem.
    2. Boat facts and engines go to the hull. An engine that the document does not list stays:
       other states may name it.
    3. A state is made, with a row for each tank, component and segment.
    """
    system_check(document)
    data = plain(dict(document))
    hull = hull_lock(hull)
    yard_lock(hull.yard)
    _store_boat(hull, data)
    state = _new_state(hull, kind, parent, member)
    state.facts = {part: data[part] for part in STATE_PARTS if data.get(part)}
    clean_and_save(state)
    failpoint("system.state stored")
    _store_rows(state, data)
    audit_append(
        yard=hull.yard,
        member=member,
        action="system.store",
        subject=state,
        values={"hull": hull.pk, "kind": state.kind, "state": state.number},
    )
    return state


@transaction.atomic
def proposal_start(*, found: SystemState, member: Member | None = None) -> SystemState:
    """Copy a found state into a proposal; segments graded for replacement are marked so."""
    if found.kind != StateKind.FOUND:
        raise Refused(_("A proposal starts from what a survey found. Choose a survey."))
    state = system_copy(state=found, kind=StateKind.PROPOSED, member=member)
    for segment in state.segments.all():
        segment.kept = fact_get(segment.facts, "hose.condition") not in REPLACED_GRADES
        clean_and_save(segment)
    audit_append(
        yard=state.hull.yard,
        member=member,
        action="proposal.start",
        subject=state,
        values={"hull": state.hull_id, "found": found.pk},
    )
    return state


@transaction.atomic
def system_copy(
    *, state: SystemState, kind: StateKind, member: Member | None = None
) -> SystemState:
    """A new state of the boat with every fact of another, which becomes its parent.

    What was planned or fitted stays with the state it was planned in.
    """
    source = state_lock(state)
    yard_lock(source.hull.yard)
    copy = _new_state(source.hull, kind, source, member)
    copy.facts = {part: source.facts[part] for part in source.facts if part != "tests"}
    clean_and_save(copy)
    failpoint("system.copy begun")
    for tank in source.tanks.all():
        _copy(tank, copy)
    for component in source.components.all():
        component.product_sku = ""
        _copy(component, copy)
    for segment in source.segments.all():
        segment.product_sku, segment.clamp_sku, segment.kept = "", "", True
        _copy(segment, copy)
    audit_append(
        yard=source.hull.yard,
        member=member,
        action="system.copy",
        subject=copy,
        values={"hull": source.hull_id, "from": source.pk, "kind": str(kind)},
    )
    return copy


@transaction.atomic
def proposal_copy(*, proposed: SystemState, member: Member | None = None) -> SystemState:
    """The same proposal once more, for a new version of its quote: whole, with its products.

    What the owner was shown stays in the one it was made from.
    """
    source = state_lock(proposed)
    yard_lock(source.hull.yard)
    copy = _new_state(source.hull, StateKind.PROPOSED, source.parent, member)
    copy.facts = dict(source.facts)
    clean_and_save(copy)
    failpoint("proposal.copy begun")
    parts: list[Tank | Component | Segment] = [*source.tanks.all(), *source.components.all()]
    for row in [*parts, *source.segments.all()]:
        _copy(row, copy)
    audit_append(
        yard=source.hull.yard,
        member=member,
        action="proposal.copy",
        subject=copy,
        values={"hull": source.hull_id, "from": source.pk},
    )
    return copy


def _new_state(
    hull: Hull, kind: StateKind, parent: SystemState | None, member: Member | None
) -> SystemState:
    """The next state of a kind; the yard's lock is held, so that numbers do not collide."""
    last = SystemState.objects.filter(hull=hull, kind=kind).order_by("-number").first()
    number = last.number + 1 if last else 1
    return SystemState(hull=hull, kind=kind, number=number, parent=parent, created_by=member)


def _store_boat(hull: Hull, data: dict[str, Any]) -> None:
    if data.get("boat"):
        boat_save(hull, data["boat"])
    engines = {row.ident: row for row in hull.engines.all()}
    for position, item in enumerate(data.get("engines") or ()):
        row = engines.get(item["id"]) or Engine(hull=hull, ident=item["id"])
        row.position, row.facts = position, without(item, "id")
        clean_and_save(row)


def _store_rows(state: SystemState, data: dict[str, Any]) -> None:
    for position, item in enumerate(data.get("tanks") or ()):
        facts = without(item, "id")
        clean_and_save(Tank(state=state, position=position, ident=item["id"], facts=facts))
    for position, item in enumerate(data.get("components") or ()):
        facts = without(item, "id", "kind")
        clean_and_save(
            Component(
                state=state, position=position, ident=item["id"], kind=item["kind"], facts=facts
            )
        )
    for position, item in enumerate(data.get("segments") or ()):
        clean_and_save(
            Segment(
                state=state,
                position=position,
                ident=item["id"],
                service=item["service"],
                from_ident=item["from"],
                to_ident=item["to"],
                facts=without(item, "id", "service", "from", "to"),
            )
        )


def _copy(row: Tank | Component | Segment, state: SystemState) -> None:
    row.pk = None
    row._state.adding = True
    row.state = state
    clean_and_save(row)
