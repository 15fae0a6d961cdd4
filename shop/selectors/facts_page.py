"""One part of a system as the form of its facts shows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fuelsys.document import read_object
from fuelsys.document.model import Document
from fuelsys.units import from_base
from shop.factwords import choice_words
from shop.models import SubjectKind, SystemState
from shop.selectors.subjects import (
    names_of,
    subject_columns,
    subject_facts,
    subject_section,
    subject_title,
)
from shop.selectors.systems import system_document


@dataclass(frozen=True)
class Port:
    """The component at one end of a run and the height of its ports [in]; None not known."""

    ident: str
    height_in: Fraction | None


@dataclass(frozen=True)
class Joined:
    """A run that joins a component: its length [in], None not measured, and its other end."""

    ident: str
    length_in: Fraction | None
    other: Port


@dataclass(frozen=True)
class FactsPage:
    kind: str
    ident: str
    title: str
    facts: Mapping[str, Any]
    columns: Mapping[str, Any]
    section: str
    names: Mapping[str, Sequence[str]]
    first: str = ""  # what stands at the from end of a run
    last: str = ""
    ports: tuple[Port, ...] = ()  # the parts at both ends, with the height of their ports
    runs: tuple[Joined, ...] = ()  # of a component: what joins it


def facts_page(state: SystemState, kind: str, ident: str) -> FactsPage | None:
    """The subject of a form; None when the state has no such part."""
    if kind not in SubjectKind.values:
        return None
    source = system_document(state)
    facts = subject_facts(source, kind, ident)
    if facts is None:
        return None
    document = read_object(source)
    columns = subject_columns(state, kind, ident)
    kinds = {part.id: choice_words(part.kind).lower() for part in document.components}
    ports = run_ports(facts, document)
    first, last = (f"{at.ident}, {kinds[at.ident]}" if at.ident in kinds else "" for at in ports)
    return FactsPage(
        kind=kind,
        ident=ident,
        title=subject_title(document, kind, ident, str(columns.get("name") or "")),
        facts=facts,
        columns=columns,
        section=subject_section(kind, ident),
        names=names_of(document, kind, ident),
        first=first,
        last=last,
        ports=ports,
        runs=joined_runs(ident, document),
    )


def run_ports(facts: Mapping[str, Any], document: Document) -> tuple[Port, ...]:
    """The parts at both ends of a run; without names for any other part."""
    heights = {part.id: part.height_m for part in document.components}
    ends = [str(facts.get(name, "")) for name in ("from", "to")]
    return tuple(Port(end, _inches(heights.get(end))) for end in ends)


def joined_runs(ident: str, document: Document) -> tuple[Joined, ...]:
    """The runs between a component and another; none for any other part."""
    heights = {part.id: part.height_m for part in document.components}
    found = []
    for run in document.segments:
        if ident in (run.from_id, run.to_id) and run.from_id != run.to_id:
            far = run.to_id if ident == run.from_id else run.from_id
            other = Port(far, _inches(heights.get(far)))
            found.append(Joined(run.id, _inches(run.length_m), other))
    return tuple(found)


def _inches(length_m: Fraction | None) -> Fraction | None:
    return None if length_m is None else from_base(length_m, "in")
