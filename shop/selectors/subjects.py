"""The parts of a fuel system that have facts: found in the document, named in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from fuelsys.document.model import Component, Document, Segment
from shop.factwords import choice_words, html_name, key_words, stem_of
from shop.models import SubjectKind, SystemState

SECTIONS: dict[str, str] = {
    "engines": SubjectKind.ENGINE,
    "compartments": SubjectKind.COMPARTMENT,
    "tanks": SubjectKind.TANK,
    "components": SubjectKind.COMPONENT,
    "segments": SubjectKind.SEGMENT,
}
SECTION_OF = {kind: section for section, kind in SECTIONS.items()}
ALONE = (SubjectKind.BOAT, SubjectKind.FUEL)

_PATH = re.compile(r"(?P<section>[a-z]+)\[(?P<ident>.*?)\](?:\.(?P<inside>.*))?")
# The field that stands for a fact that is a whole list or object.
_FIRST_FIELD = {
    "route": "route[0].distance",
    "hose": "hose.class",
    "metal_line": "metal_line.material",
    "from_end": "from_end.shape",
    "to_end": "to_end.shape",
    "from_end.clamps": "from_end.securing",
    "to_end.clamps": "to_end.securing",
}


@dataclass(frozen=True)
class FactRef:
    """A fact that is lacking or wrong: its words, and the field that takes it."""

    words: str
    kind: str
    ident: str
    field: str

    @property
    def anchor(self) -> str:
        return f"id_{html_name(self.field)}" if self.field else "facts"


def fact_ref(path: str) -> FactRef | None:
    """The fact a path of the document names; None for a whole list, such as "engines"."""
    match = _PATH.fullmatch(path)
    if match and match["section"] in SECTIONS:
        kind, ident = SECTIONS[match["section"]], match["ident"]
        return _ref(kind, ident, match["inside"] or "")
    head, _dot, inside = path.partition(".")
    if head in ALONE:
        return _ref(head, head, inside)
    return None


def _ref(kind: str, ident: str, inside: str) -> FactRef:
    what = fact_words(inside) if inside else _("facts")
    whose = {SubjectKind.BOAT: _("the boat"), SubjectKind.FUEL: _("the fuel")}.get(
        SubjectKind(kind), ident
    )
    words = _("%(whose)s, %(fact)s") % {"fact": _within(what), "whose": whose}
    return FactRef(words, kind, ident, _field_of(inside))


def _within(words: str) -> str:
    """A label inside a phrase; what is written in capitals stays so."""
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


def _field_of(inside: str) -> str:
    if not inside or inside in _FIRST_FIELD:
        return _FIRST_FIELD.get(inside, "")
    if inside.startswith("route["):
        return _FIRST_FIELD["route"]
    head, dot, name = inside.rpartition(".")
    return f"{head}{dot}{stem_of(name)}"


def fact_words(inside: str) -> str:
    """What a fact is called, and at which end: "Band width, clamp 1, from end"."""
    parts = [key_words(inside)]
    if clamp := re.search(r"clamps\[(\d+)\]", inside):
        parts.append(_("clamp %(number)s") % {"number": int(clamp[1]) + 1})
    for end in ("from_end", "to_end"):
        if inside.startswith(f"{end}."):
            parts.append(key_words(end).lower())
    return ", ".join(parts)


def subject_facts(document: Mapping[str, Any], kind: str, ident: str) -> dict[str, Any] | None:
    """The facts of one subject as the document holds them; None when there is no such subject."""
    facts: dict[str, Any]
    if kind in ALONE:
        facts = document.get(kind, {})
        return facts if ident == kind else None
    for facts in document.get(SECTION_OF.get(SubjectKind(kind), ""), []):
        if facts["id"] == ident:
            return facts
    return None


def subject_columns(state: SystemState, kind: str, ident: str) -> dict[str, Any]:
    """What the shop notes of a subject beside the document."""
    rows: Mapping[str, Any] = {
        SubjectKind.SEGMENT: state.segments,
        SubjectKind.COMPONENT: state.components,
        SubjectKind.TANK: state.tanks,
    }
    if kind not in rows:
        return {}
    row = rows[kind].filter(ident=ident).values().first()
    return row or {}


def subject_section(kind: str, ident: str) -> str:
    """The subject's place in the document: "segments[S3]", "boat"."""
    return kind if kind in ALONE else f"{SECTION_OF[SubjectKind(kind)]}[{ident}]"


def subject_title(document: Document, kind: str, ident: str, name: str = "") -> str:
    """A subject in words: "S3, feed, main pick-up to filter"."""
    match kind:
        case SubjectKind.BOAT:
            return _("The boat")
        case SubjectKind.FUEL:
            return _("Fuel aboard")
        case SubjectKind.SEGMENT:
            run = next(each for each in document.segments if each.id == ident)
            words = [ident, service_words(run, document).lower(), name or ends_words(run)]
        case SubjectKind.COMPONENT:
            part = next(each for each in document.components if each.id == ident)
            words = [ident, choice_words(part.kind).lower(), name]
        case _:
            words = [ident, str(SubjectKind(kind).label)]
    return ", ".join(str(word) for word in words if word)


def service_words(run: Segment, document: Document) -> str:
    """What a run is for: "Feed", "Generator feed", "Pump to rail"."""
    kinds = {part.id: part.kind for part in document.components}
    service = run.service
    if service == "pump_to_carburetor" and kinds.get(run.to_id) == "fuel_rail":
        service = "pump_to_rail"
    words = choice_words(service)
    uses = {engine.id: engine.use for engine in document.engines}
    if uses.get(run.engine or "") == "generator":
        return _("Generator %(service)s") % {"service": words.lower()}
    return words


def ends_words(run: Segment) -> str:
    return _("%(start)s to %(end)s") % {"start": run.from_id, "end": run.to_id}


def part_of(document: Document, ident: str) -> tuple[str, Any] | None:
    """Kind and facts of a part that is no segment, found by its id."""
    listed: tuple[tuple[str, tuple[Any, ...]], ...] = (
        (SubjectKind.COMPONENT, document.components),
        (SubjectKind.TANK, document.tanks),
        (SubjectKind.ENGINE, document.engines),
        (SubjectKind.COMPARTMENT, document.compartments),
    )
    for kind, parts in listed:
        for part in parts:
            if part.id == ident:
                return kind, part
    return (SubjectKind.BOAT, document.boat) if ident == "boat" else None


def segments_at(document: Document, part: Component) -> list[str]:
    return [run.id for run in document.segments if part.id in (run.from_id, run.to_id)]


def names_of(document: Document, kind: str, ident: str) -> dict[str, list[str]]:
    """The ids from which a form's choices are made."""
    part = next((each for each in document.components if each.id == ident), None)
    near = segments_at(document, part) if part else []
    return {
        "compartments": [each.id for each in document.compartments],
        "engines": [each.id for each in document.engines],
        "tanks": [each.id for each in document.tanks],
        "segments": near,
    }
