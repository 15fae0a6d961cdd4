"""A state opened for correction: its document, the rows beside it, saved together at the end."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext as _

from shop.exceptions import FactError, FactProblem, Refused
from shop.models import Component, Engine, Segment, SubjectKind, SystemState, Tank
from shop.selectors.systems import system_document
from shop.services.facts import Edit
from shop.services.systemrows import boat_save, clean_and_save, system_check

# What the shop notes on a row beside the document's facts; corrected and undone the same way.
COLUMNS: dict[str, frozenset[str]] = {
    SubjectKind.SEGMENT: frozenset(
        {"name", "access", "clips", "note", "lot", "product_sku", "clamp_sku", "kept"}
    ),
    SubjectKind.COMPONENT: frozenset({"name", "note", "product_sku"}),
    SubjectKind.TANK: frozenset({"note"}),
}

SECTIONS: dict[str, str] = {
    SubjectKind.ENGINE: "engines",
    SubjectKind.COMPARTMENT: "compartments",
    SubjectKind.TANK: "tanks",
    SubjectKind.COMPONENT: "components",
    SubjectKind.SEGMENT: "segments",
}

# Keys that stand in columns of their own and not in a row's facts.
_OWN_KEYS: dict[str, frozenset[str]] = {
    SubjectKind.COMPONENT: frozenset({"id", "kind"}),
    SubjectKind.SEGMENT: frozenset({"id", "service", "from", "to"}),
}

Row = Tank | Component | Segment | Engine
Facts = dict[str, Any]
Subject = tuple[SubjectKind, str]


class OpenState:
    """Edits are made in memory; `save` checks the whole document and writes what was touched."""

    def __init__(self, state: SystemState) -> None:
        self.state = state
        self.document = system_document(state)
        self.touched: dict[Subject, Facts] = {}
        self.rows: dict[Subject, Row] = {}

    def facts(self, kind: SubjectKind, ident: str) -> Facts:
        """The subject's facts within the document, to be edited in place."""
        facts = self._find(kind, ident)
        self.touched[kind, ident] = facts
        return facts

    def edit_column(
        self, kind: SubjectKind, ident: str, key: str, edit: Callable[[Facts], Edit]
    ) -> Edit:
        """Edit one column as if it were a fact; what it holds when nothing is known is None."""
        row = self._row(kind, ident)
        fresh = getattr(type(row)(), key)
        held = getattr(row, key)
        facts = {key: None if held == fresh else held}
        done = edit(facts)
        setattr(row, key, fresh if facts.get(key) is None else facts[key])
        return done

    def save(self) -> None:
        if self.touched:
            system_check(self.document)
        for (kind, ident), facts in self.touched.items():
            self._put(kind, ident, facts)
        for (kind, ident), row in self.rows.items():
            _save(row, f"{SECTIONS[kind]}[{ident}]")

    def _find(self, kind: SubjectKind, ident: str) -> Facts:
        facts: Facts
        if kind in (SubjectKind.BOAT, SubjectKind.FUEL):
            facts = self.document.setdefault(kind.value, {})
            return facts
        for facts in self.document.get(SECTIONS[kind], []):
            if facts["id"] == ident:
                return facts
        raise _unknown(kind, ident)

    def _put(self, kind: SubjectKind, ident: str, facts: Facts) -> None:
        state = self.state
        match kind:
            case SubjectKind.BOAT:
                boat_save(state.hull, facts)
            case SubjectKind.FUEL:
                state.facts = {**state.facts, "fuel": facts}
            case SubjectKind.COMPARTMENT:
                listed = [
                    facts if item["id"] == ident else item for item in state.facts["compartments"]
                ]
                state.facts = {**state.facts, "compartments": listed}
            case _:
                own = _OWN_KEYS.get(kind, frozenset({"id"}))
                row = self._row(kind, ident)
                row.facts = {name: held for name, held in facts.items() if name not in own}

    def _row(self, kind: SubjectKind, ident: str) -> Row:
        held = self.rows.get((kind, ident))
        if held is not None:
            return held
        state = self.state
        rows: Mapping[str, models.QuerySet[Any]] = {
            SubjectKind.ENGINE: state.hull.engines.all(),
            SubjectKind.TANK: state.tanks.all(),
            SubjectKind.COMPONENT: state.components.all(),
            SubjectKind.SEGMENT: state.segments.all(),
        }
        row: Row | None = rows[kind].filter(ident=ident).first()
        if row is None:
            raise _unknown(kind, ident)
        self.rows[kind, ident] = row
        return row


def _save(row: Row, place: str) -> None:
    try:
        clean_and_save(row)
    except ValidationError as error:
        problems = tuple(
            FactProblem(f"{place}.{name}", " ".join(words))
            for name, words in error.message_dict.items()
        )
        raise FactError(problems) from error


def _unknown(kind: SubjectKind, ident: str) -> Refused:
    return Refused(_("There is no %(kind)s “%(id)s” here.") % {"kind": kind.label, "id": ident})
