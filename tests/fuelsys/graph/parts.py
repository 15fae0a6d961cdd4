"""Short ways to write the drawn sketches down."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from fuelsys.document.model import Component, Document, Segment, Tank
from fuelsys.graph import Graph, build


def graph(components: str, *segments: tuple[str, str, str] | tuple[str, str, str, str]) -> Graph:
    """Components "P:withdrawal A:tee", segments (id, from, to) or (id, from, to, service)."""
    parts = [name.partition(":") for name in components.split()]
    return build(
        Document(
            tanks=(Tank("T"),),
            components=tuple(
                Component(i, k or "tee", tank="T" if k == "withdrawal" else None)
                for i, _, k in parts
            ),
            segments=tuple(
                Segment(s[0], s[3] if len(s) == 4 else "feed", s[1], s[2]) for s in segments
            ),
        )
    )


def route(points: Sequence[tuple[float, float]]) -> tuple[tuple[Fraction, Fraction], ...]:
    return tuple((Fraction(str(s)), Fraction(str(z))) for s, z in points)


def paths(found: Graph) -> list[str]:
    """Each line as "P S1 A S2 B"."""
    return [
        " ".join(
            [
                line.source,
                *(f"{s} {c}" for s, c in zip(line.segments, line.components[1:], strict=True)),
            ]
        )
        for line in found.lines
    ]
