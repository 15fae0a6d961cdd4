"""Fuel systems as documents: the rows of a state put together again."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from shop.models import FactChange, Hull, StateKind, SystemState

FORMAT = "fuel-system/1"

# Parts of the document that have no rows of their own, in its order.
STATE_PARTS = ("fuel", "compartments", "policy", "tests")


def system_document(state: SystemState) -> dict[str, Any]:
    """The contract's document of a state: what was stored, in the document's order.

    Boat and engines are those of the hull today. A part that is empty is left out.
    """
    hull = state.hull
    parts: dict[str, Any] = {
        "boat": boat_on_file(hull),
        "fuel": state.facts.get("fuel"),
        "engines": [{"id": row.ident, **row.facts} for row in hull.engines.all()],
        "compartments": state.facts.get("compartments"),
        "tanks": [{"id": row.ident, **row.facts} for row in state.tanks.all()],
        "components": [
            {"id": row.ident, "kind": row.kind, **row.facts} for row in state.components.all()
        ],
        "segments": [
            {
                "id": row.ident,
                "service": row.service,
                "from": row.from_ident,
                "to": row.to_ident,
                **row.facts,
            }
            for row in state.segments.all()
        ],
        "policy": state.facts.get("policy"),
        "tests": state.facts.get("tests"),
    }
    return {"format": FORMAT, **{name: part for name, part in parts.items() if part}}


def boat_on_file(hull: Hull) -> dict[str, Any]:
    """The `boat` of a document, as the file has it."""
    return {**hull.facts, **({"hin": hull.hin} if hull.hin else {})}


def state_newest(hull: Hull, kind: StateKind) -> SystemState | None:
    """The newest state of a kind, or None before there is one."""
    rows = SystemState.objects.filter(hull=hull, kind=kind).select_related("hull__yard")
    return rows.order_by("-number").first()


def state_list(hull: Hull) -> QuerySet[SystemState]:
    """Every state of a boat, newest first."""
    rows = SystemState.objects.filter(hull=hull).select_related("hull__yard", "parent")
    return rows.order_by("-created_at", "-pk")


def change_list(state: SystemState) -> QuerySet[FactChange]:
    """The corrections of a state, newest first."""
    rows = FactChange.objects.filter(state=state).select_related("member__user", "undone_by")
    return rows.order_by("-revision")


def change_newest(state: SystemState) -> FactChange | None:
    """The newest correction that can be taken back: neither an undo nor undone."""
    rows = change_list(state).filter(undoes__isnull=True, undone_by__isnull=True)
    return rows.first()
