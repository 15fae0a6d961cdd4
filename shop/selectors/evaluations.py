"""A stored state judged: the document it stands for and what rules and computation say of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Any

from fuelsys.document import read_object
from fuelsys.document.model import Document
from fuelsys.evaluation import Evaluation, evaluate
from shop.models import SystemState, Yard
from shop.selectors.systems import system_document

# Evaluations kept in each process; one is some 50 kB, a busy desk has a handful of boats open.
KEPT = 64


@dataclass(frozen=True)
class Judged:
    """`source` is the document as data, `document` as read, `evaluation` what is said of it."""

    source: Mapping[str, Any]
    document: Document
    evaluation: Evaluation


def state_judged(state: SystemState, *, on: date) -> Judged:
    """The state with the yard's practice settings, judged by the rules in force on a day."""
    return document_judged(system_document(state), yard=state.hull.yard, on=on)


def state_read(state: SystemState) -> Document:
    """The state as a document that was read, not judged."""
    return read_object(system_document(state))


def document_judged(source: Mapping[str, Any], *, yard: Yard, on: date) -> Judged:
    """A document as data, judged with the yard's practice settings."""
    policy, numbers = yard_practice(yard)
    data = {**source, "policy": policy}
    document = replace(read_object(data), numbers=numbers)
    return Judged(data, document, _evaluated(_ByContent(document), on))


def yard_practice(yard: Yard) -> tuple[dict[str, str], dict[str, Fraction]]:
    """How the yard takes each practice rule it has set, and its own numbers in the rule's unit."""
    rows = list(yard.practice_settings.values_list("rule_id", "setting", "number"))
    policy = {rule_id: setting for rule_id, setting, _ in rows}
    return policy, {rule_id: Fraction(own) for rule_id, _, own in rows if own is not None}


class _ByContent:
    """Compares documents by canonical input and own numbers, so that a cache can hold them."""

    def __init__(self, document: Document) -> None:
        self.document = document

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ByContent) and other.document.identity == self.document.identity

    def __hash__(self) -> int:
        return hash(self.document.identity)


@lru_cache(maxsize=KEPT)
def _evaluated(held: _ByContent, on: date) -> Evaluation:
    return evaluate(held.document, on=on, curves=True)
