"""Small systems for the discharge tests, in metres: lines, tees, fills and vents."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from fuelsys.document.model import Component, Document, Fuel, Hose, Segment, Tank
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.result import Discharge

BORE_3_8_M = "0.009525"
ML = 1e-6
FLOZ = 29.5735295625e-6

Points = Sequence[tuple[float, float]]

# A worked trace: (distance, height), the surface at 0, a check valve at the end.
TRACE: Points = ((0, 0.03), (0.5, 0.03), (1.5, -0.20), (2.5, 0.10), (3.0, -0.05), (4.0, 0.25))


def number(value: float | str) -> Fraction:
    """The decimal that was written, exactly."""
    return Fraction(str(value))


def tank(surface: float | None = 0, **facts: Any) -> Tank:
    facts.setdefault("fuel", "gasoline")
    return Tank("T", surface_m=None if surface is None else number(surface), **facts)


def pickup(opening: float | None = None, **facts: Any) -> Component:
    """A withdrawal: with a spring valve of that opening head, or recorded as without one."""
    if opening is not None:
        facts["opening_head_m"] = number(opening)
    facts.setdefault("anti_siphon", "none" if opening is None else "spring_valve")
    return Component("P", "withdrawal", tank="T", **facts)


def pump(component_id: str = "ENG", *, check: bool | None = True) -> Component:
    return Component(component_id, "fuel_pump", check_valve=check)


def run(
    segment_id: str,
    ends: tuple[str, str],
    points: Points | None,
    *,
    bore: float | str | None = BORE_3_8_M,
    service: str = "feed",
    **facts: Any,
) -> Segment:
    route = None if points is None else tuple((number(s), number(z)) for s, z in points)
    diameter = None if bore is None else number(bore)
    hose = Hose(inside_diameter_m=diameter)
    return Segment(segment_id, service, *ends, route=route, hose=hose, **facts)


def system(
    components: Sequence[Component],
    segments: Sequence[Segment],
    *tanks: Tank,
    fuel: Fuel | None = None,
) -> Document:
    return Document(
        tanks=tanks or (tank(),),
        components=tuple(components),
        segments=tuple(segments),
        fuel=fuel or Fuel(),
    )


def line(points: Points, *between: Component, first: Component, last: Component) -> Document:
    """P --S1--> ENG in one hose, or as many as there are components between, cut up evenly."""
    components = [first, *between, last]
    share = (len(points) - 1) // (len(between) + 1)
    segments = []
    for k in range(len(components) - 1):
        end = len(points) if k == len(between) else (k + 1) * share + 1
        part = points[k * share : end]
        ends = (components[k].id, components[k + 1].id)
        segments.append(run(f"S{k + 1}", ends, [(s - part[0][0], z) for s, z in part]))
    return system(components, segments)


def trace(opening: float | None) -> Document:
    return line(TRACE, first=pickup(opening), last=pump())


def of(document: Document, segment_id: str = "S1", *, curves: bool = False) -> Discharge:
    found = discharge(build(document), segment_id, curves=curves)
    assert found is not None
    return found


def curve_of(found: Discharge) -> list[tuple[float, float, float]]:
    """A curve without a gap, as numbers."""
    rows = [(at, tank, far) for at, tank, far in found.curve if tank is not None if far is not None]
    assert len(rows) == len(found.curve)
    assert found.least_curve == ()
    return rows


def changed(document: Document, part_id: str, **facts: Any) -> Document:
    """The document with facts of one tank, component or segment replaced."""

    def each(parts: Any) -> Any:
        return tuple(replace(p, **facts) if p.id == part_id else p for p in parts)

    return replace(
        document,
        tanks=each(document.tanks),
        components=each(document.components),
        segments=each(document.segments),
    )
