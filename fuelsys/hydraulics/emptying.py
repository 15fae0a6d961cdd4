"""A severed hose below a small tank: what runs out in all while the tank's surface falls."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.graph import Graph
from fuelsys.hydraulics.cuts import Cut, Half, Section
from fuelsys.hydraulics.discharge import section_of
from fuelsys.hydraulics.falling import falling_outflow
from fuelsys.hydraulics.result import Discharge
from fuelsys.hydraulics.sources import Source
from fuelsys.hydraulics.worst import ONE_SIDED_M


def emptying(graph: Graph, found: Discharge) -> float | None:
    """What runs out of a segment's worst cut in all, each tank's surface falling as it runs.

    As the discharge itself: out of both ends, where a tank flows the greater of its flow and what
    stands on its way, what hangs on branches besides. Only the flow is another: its head is that
    at the cut less the opening head of the valves on the way, and falls with the surface.

    Parameters
    ----------
    graph : Graph
    found : Discharge
        That of one of its segments.

    Returns
    -------
    float or None
        [m3], never more than the steady figure. None where nothing flows or a figure is not
        known, and where a tank that flows has no plan area on file, holds pressure, or is not the
        only one on its side.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Tanks with one area at every level, their vents open; the cut that is worst in steady flow.

    Source
    ------
    Continuity, with the severed-hose discharge of this project.

    Examples
    --------
    A tank of 0.02 m2 behind a valve of 0.1 m empties by 0.1 m before the valve holds, 2 L; what
    stands beyond the cut up to the check valve runs out besides.

    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Component, Document, Hose, Segment, Tank
    >>> from fuelsys.graph import build
    >>> from fuelsys.hydraulics.discharge import discharge
    >>> graph = build(Document(
    ...     tanks=(Tank("T", fuel="gasoline", surface_m=F(0), plan_area_m2=F("0.02")),),
    ...     components=(Component("P", "withdrawal", tank="T", anti_siphon="spring_valve",
    ...                           opening_head_m=F("0.1")),
    ...                 Component("E", "fuel_pump", check_valve=True)),
    ...     segments=(Segment("S", "feed", "P", "E", route=((F(0), F("0.1")), (F(1), F("-0.2")),
    ...         (F(2), F("0.1"))), hose=Hose(inside_diameter_m=F("0.009525"))),)))
    >>> cut = discharge(graph, "S")
    >>> round(emptying(graph, cut) * 1e6), round(cut.far_side_m3 * 1e6)
    (2071, 71)
    """
    place = found.worst_cut_m[0] if isinstance(found.worst_cut_m, tuple) else found.worst_cut_m
    if found.volume_m3 is None or found.state != "open" or place is None:
        return None
    section = section_of(graph, found.segment_id)
    cut, index = _greatest_near(section, place)
    flows = []
    sides = zip(
        (section.tank, section.far), section.flowing(cut), section.own_lengths(cut), strict=True
    )
    emptied: list[str] = []
    for half, flowing, own_m in sides:
        flow_m3 = _falling(graph, half, flowing, own_m, cut) if flowing else 0.0
        if flow_m3 is None:
            return None
        flows.append(flow_m3)
        emptied += [source.tank for source in flowing if source.tank]
    if len(set(emptied)) < len(emptied):
        return None  # one tank empties at both ends
    return section.volume(cut.distance_m, cut.height_m, index, (flows[0], flows[1]))


def _greatest_near(section: Section, place: float) -> tuple[Cut, int]:
    """The cut at a place, or just beside it: where a flow sets in, a hair decides."""
    found = []
    for at in (place, place - ONE_SIDED_M, place + ONE_SIDED_M):
        for index, piece in enumerate(section.pieces):
            if piece.start_m <= at <= piece.end_m:
                found.append((section.cut(at, section.height_at(at, index), index), index))
    return max(found, key=lambda one: one[0].volume_m3)


def _falling(
    graph: Graph, half: Half, flowing: Sequence[Source], own_m: float, cut: Cut
) -> float | None:
    """What the one tank of a side gives while its surface falls [m3]."""
    if len(half.side.sources) != 1 or half.bore_m is None:
        return None
    (source,) = flowing
    tank = None if source.tank is None else graph.tank(source.tank)
    if tank is None or tank.plan_area_m2 is None or tank.relief_pa or tank.plan_area_m2 <= 0:
        return None
    bottom_m = None if tank.bottom_m is None else float(tank.bottom_m)
    return falling_outflow(
        source.head(cut.height_m),
        [*source.runs, (half.bore_m, own_m)],
        plan_area_m2=float(tank.plan_area_m2),
        viscosity_m2_s=source.viscosity_m2_s,
        cut_diameter_m=half.bore_m,
        entrance_diameter_m=source.entrance_m,
        depth_m=None if bottom_m is None else max(0.0, source.surface_m - bottom_m),
    )
