"""The parts of a state whose heights and lengths are measured, in the order fuel flows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fuelsys.document import read_object
from fuelsys.document.model import Component, Document, Segment, Tank
from shop.factwords import choice_words, key_words
from shop.models import SubjectKind, SystemState
from shop.selectors.facts_page import Joined, Port, joined_runs, run_ports
from shop.selectors.frozen import Freeze, state_freeze
from shop.selectors.segment_table import height_text
from shop.selectors.subjects import ends_words, service_words, subject_facts, subject_section
from shop.selectors.systems import system_document

Part = Tank | Component | Segment
KIND_OF: dict[type, SubjectKind] = {
    Tank: SubjectKind.TANK,
    Component: SubjectKind.COMPONENT,
    Segment: SubjectKind.SEGMENT,
}


@dataclass(frozen=True)
class MeasuredPart:
    """One part: its facts as on file, and what it is called."""

    kind: str
    ident: str
    title: str
    name: str
    facts: Mapping[str, Any]
    section: str  # its place in the document: "segments[S3]"
    ports: tuple[Port, ...] = ()  # of a run: the parts at its ends, as on file
    low: str = ""  # of a run whose route is known: its lowest and highest point
    high: str = ""
    runs: tuple[Joined, ...] = ()  # of a component: what joins it, as on file


@dataclass(frozen=True)
class MeasuresPage:
    """What may be measured of a state; `freeze` says why the rest of it may not."""

    parts: tuple[MeasuredPart, ...]
    freeze: Freeze | None


def measures_page(state: SystemState) -> MeasuresPage:
    """Every tank, component and segment that is open to correction."""
    source, freeze = system_document(state), state_freeze(state)
    document, names = read_object(source), _names(state)
    parts = (_measured(part, document, source, names) for part in in_flow(document))
    is_open = (p for p in parts if freeze is None or not freeze.holds(p.kind, p.ident))
    return MeasuresPage(tuple(is_open), freeze)


def in_flow(document: Document) -> Iterator[Part]:
    """Each segment as the table of segments lists it, between the parts at its ends.

    A tank stands before what leaves it and after what enters it; what no segment joins is last.
    """
    parts = {part.id: part for part in document.components}
    tanks = {tank.id: tank for tank in document.tanks}

    def joined() -> Iterator[Part | None]:
        for run in document.segments:
            start, end = parts.get(run.from_id), parts.get(run.to_id)
            yield from (tanks.get(start.tank or "") if start else None, start, run, end)
            yield tanks.get(end.tank or "") if end else None
        yield from document.tanks
        yield from document.components

    listed: set[str] = set()  # an id is used once in the whole document
    for part in joined():
        if part is not None and part.id not in listed:
            listed.add(part.id)
            yield part


def _measured(
    part: Part,
    document: Document,
    source: Mapping[str, Any],
    names: Mapping[tuple[str, str], str],
) -> MeasuredPart:
    kind = KIND_OF[type(part)]
    facts = subject_facts(source, kind, part.id) or {}
    name = names.get((kind, part.id), "")
    section = subject_section(kind, part.id)
    if isinstance(part, Segment):
        heights = [height for _distance, height in part.route or ()]
        return MeasuredPart(
            kind, part.id, service_words(part, document), name or ends_words(part), facts, section,
            ports=run_ports(facts, document),
            low=height_text(min(heights)) if heights else "",
            high=height_text(max(heights)) if heights else "",
        )  # fmt: skip
    title = choice_words(part.kind) if isinstance(part, Component) else key_words("tank")
    runs = joined_runs(part.id, document)
    return MeasuredPart(kind, part.id, title, name, facts, section, runs=runs)


def _names(state: SystemState) -> dict[tuple[str, str], str]:
    rows = (
        (SubjectKind.COMPONENT, state.components.values_list("ident", "name")),
        (SubjectKind.SEGMENT, state.segments.values_list("ident", "name")),
    )
    return {(kind, ident): name for kind, listed in rows for ident, name in listed}
