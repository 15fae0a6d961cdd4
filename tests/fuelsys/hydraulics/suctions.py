"""Small suction systems, in meters: one line, a shared pick-up, two tanks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from fuelsys.document.model import Component, Document, Engine, Fuel, Segment, Tank
from fuelsys.graph import build
from fuelsys.hydraulics.suction import suction
from fuelsys.hydraulics.suction_result import Suction
from fuelsys.units import to_base
from tests.fuelsys.hydraulics.builders import BORE_3_8_M, number, run

INHG = 3386.39
ML_S = 1e-6


def engine(name: str = "E", flow_ml_s: float | None = 25.8, **facts: Any) -> Engine:
    if flow_ml_s is not None:
        facts["supply_flow_m3_s"] = number(flow_ml_s) / 10**6
    facts.setdefault("fuel", "gasoline")
    return Engine(name, **facts)


def tank(name: str = "T", lowest: float | None = 0.0, **facts: Any) -> Tank:
    facts.setdefault("fuel", "gasoline")
    level = None if lowest is None else number(lowest)
    return Tank(name, lowest_usable_m=level, **facts)


def pickup(name: str = "P", of: str = "T", **facts: Any) -> Component:
    facts.setdefault("anti_siphon", "none")
    return Component(name, "withdrawal", tank=of, **facts)


def inlet(name: str = "IN", height: float | None = 0.0, **facts: Any) -> Component:
    facts.setdefault("kind", "engine_inlet")
    return Component(id=name, height_m=None if height is None else number(height), **facts)


def hose(
    name: str,
    ends: tuple[str, str],
    length: float | None = 2.0,
    *,
    bore: float | str | None = BORE_3_8_M,
    **facts: Any,
) -> Segment:
    segment = run(name, ends, None, bore=bore, **facts)
    return replace(segment, length_m=None if length is None else number(length))


def system(
    engines: tuple[Engine, ...],
    tanks: tuple[Tank, ...],
    components: tuple[Component, ...],
    segments: tuple[Segment, ...],
    **fuel: Any,
) -> Document:
    return Document(
        engines=engines,
        tanks=tanks,
        components=components,
        segments=segments,
        fuel=Fuel(**fuel),
    )


def one_line(
    *between: Component, flow_ml_s: float | None = 25.8, rise: float | None = 0.3, **facts: Any
) -> Document:
    """P --S1-- between --S2-- ... IN: two meters of 3/8 in hose each."""
    first = facts.pop("first", pickup())
    ids = [first.id, *(part.id for part in between), "IN"]
    hoses = tuple(hose(f"S{k + 1}", (ids[k], ids[k + 1])) for k in range(len(ids) - 1))
    end = inlet(height=rise)
    level = facts.pop("lowest", 0.0)
    fuel = {key: facts.pop(key) for key in ("rvp_pa", "temperature_c") if key in facts}
    return system(
        (engine(flow_ml_s=flow_ml_s, **facts),),
        (tank(lowest=level),),
        (first, *between, end),
        hoses,
        **fuel,
    )


def twins(flow_a: float = 10.0, flow_b: float = 20.0) -> Document:
    """P --S1-- TEE, then --S2-- A and --S3-- B: one pick-up for two engines."""
    return system(
        (engine("EA", flow_a), engine("EB", flow_b)),
        (tank(),),
        (pickup(), Component("TEE", "tee"), inlet("A", 0.2), inlet("B", 0.25)),
        (
            hose("S1", ("P", "TEE")),
            hose("S2", ("TEE", "A"), 1.0, engine="EA"),
            hose("S3", ("TEE", "B"), 1.5, engine="EB"),
        ),
    )


def two_tanks(high: float = 0.0, low: float = 0.0, **facts: Any) -> Document:
    """P1 --S1-- TEE, P2 --S2-- TEE, TEE --S3-- IN: one engine draws on two tanks."""
    return system(
        (engine("E", 25.8),),
        (tank("T1", high), tank("T2", low)),
        (
            pickup("P1", "T1", **facts),
            pickup("P2", "T2", **facts),
            Component("TEE", "tee"),
            inlet(height=0.3),
        ),
        (
            hose("S1", ("P1", "TEE"), 2.0),
            hose("S2", ("P2", "TEE"), 3.0),
            hose("S3", ("TEE", "IN"), 1.0, engine="E"),
        ),
    )


def of(document: Document, engine_id: str = "E") -> Suction:
    return suction(build(document))[engine_id]


def known(value: float | None) -> float:
    assert value is not None
    return value


def share(found: Suction, name: str) -> float:
    assert found.shares_pa is not None
    return known(found.shares_pa[name])


def pa(inhg: float) -> Fraction:
    return to_base(inhg, "inhg")
