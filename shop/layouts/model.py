"""The pieces a layout is put together from, and the document they become."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

FORMAT = "fuel-system/1"

Item = dict[str, Any]


@dataclass(frozen=True)
class Note:
    """What the shop is told of a run beside the document: its name, and what is typical."""

    name: str
    typical: str


@dataclass
class Plan:
    """A layout while it is made; `document` is what a survey starts from."""

    boat: Item = field(default_factory=dict)
    engines: list[Item] = field(default_factory=list)
    compartments: list[Item] = field(default_factory=list)
    tanks: list[Item] = field(default_factory=list)
    components: list[Item] = field(default_factory=list)
    segments: list[Item] = field(default_factory=list)
    notes: dict[str, Note] = field(default_factory=dict)

    def engine(self, ident: str, mount: str, fuel: str, *, use: str = "propulsion") -> None:
        self.engines.append({"id": ident, "mount": mount, "fuel": fuel, "use": use})

    def spaces(self, *pairs: tuple[str, str]) -> None:
        """Compartments by id and kind; one that is there already is not made again."""
        known = {each["id"] for each in self.compartments}
        self.compartments += [
            {"id": ident, "kind": kind} for ident, kind in pairs if ident not in known
        ]

    def tank(self, ident: str, fuel: str, *, installed: bool = True) -> None:
        self.tanks.append({"id": ident, "installed": installed, "fuel": fuel})

    def part(self, ident: str, kind: str, **facts: Any) -> str:
        self.components.append({"id": ident, "kind": kind, **facts})
        return ident

    def run(
        self,
        ident: str,
        service: str,
        ends: tuple[str, str],
        spaces: Iterable[str],
        note: Note,
        **facts: Any,
    ) -> None:
        """One line from part to part, with its spaces and what is typical of it."""
        start, end = ends
        listed = {"id": ident, "service": service, "from": start, "to": end}
        self.segments.append({**listed, "compartments": list(spaces), **facts})
        self.notes[ident] = note

    def document(self) -> Item:
        parts = {
            "boat": self.boat,
            "engines": self.engines,
            "compartments": self.compartments,
            "tanks": self.tanks,
            "components": self.components,
            "segments": self.segments,
        }
        return {"format": FORMAT, **{name: part for name, part in parts.items() if part}}


def typical(bore: str, length: str) -> str:
    """The note of a run: what is usual, and that it is to be measured."""
    return f"Usually {bore} in bore, {length} in long (common practice, no source). Measure it."
