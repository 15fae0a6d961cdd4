"""Tanks as sources: the head they give, and what holds it back."""

from __future__ import annotations

from enum import Enum, auto
from math import inf
from typing import NamedTuple

from fuelsys.document.model import Component, Tank
from fuelsys.graph import Graph
from fuelsys.hydraulics.elements import stop_valve_closed
from fuelsys.hydraulics.flow import outflow
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.liquids import Liquid, liquid
from fuelsys.hydraulics.ponding import Owner
from fuelsys.hydraulics.reading import UNBOUNDED_M3, Reading
from fuelsys.hydraulics.result import TEST_TIME_S
from fuelsys.units import as_float

HEAD_TOLERANCE_M = 1e-9  # a head equal to the opening head holds, whatever the floats say


class Valve(Enum):
    """What stands at a tank's withdrawal."""

    NONE = auto()
    SPRING = auto()
    STOP = auto()  # electric, closed
    PERHAPS = auto()  # not known; read so that it adds nothing


class Source(NamedTuple):
    """One way from a tank's liquid to the end of the cut segment."""

    component: str
    tank: str | None
    surface_m: float  # with the tank's own pressure as a head; inf where it is not known
    opening_m: float  # head that all spring valves on the way need
    valve: Valve
    checked: bool  # a one-way valve on the way holds the column
    steps: frozenset[Owner]  # all on the way
    falls_back: frozenset[Owner]  # those that a check valve does not hold
    runs: tuple[tuple[float, float], ...]  # (bore, length) up to the cut segment
    entrance_m: float | None
    viscosity_m2_s: float
    blocked: bool  # a resistance on the way is not known; read as sure to stop the flow
    unresisted: bool  # the same, read as none at all
    primed: bool
    crest_m: float  # highest point on the way
    hoses: tuple[str, ...]  # from the tank to the cut segment

    def head(self, cut_m: float) -> float:
        """Head at a cut beyond what the valves hold [m]."""
        return self.surface_m - cut_m - self.opening_m

    def reaches(self, crest_m: float) -> bool:
        """Whether liquid stands unbroken over the highest point to the cut."""
        return self.primed or max(crest_m, self.crest_m) <= self.surface_m + HEAD_TOLERANCE_M

    def flows(self, cut_m: float) -> bool:
        return self.head(cut_m) > HEAD_TOLERANCE_M

    def holds(self, cut_m: float) -> bool:
        """Whether something keeps the column from falling back into the tank."""
        if self.valve is Valve.PERHAPS:
            return self.checked or self.surface_m - cut_m > HEAD_TOLERANCE_M
        return self.always_holds

    @property
    def always_holds(self) -> bool:
        """Whether the column is kept from falling back wherever the cut lies."""
        return self.checked or self.valve is Valve.SPRING

    def volume(self, head_m: float, own_bore_m: float | None, own_length_m: float) -> float:
        """Fuel that flows in the time of the test [m3]."""
        if self.blocked:
            return 0.0
        if self.unresisted or own_bore_m is None or self.surface_m == inf:
            return UNBOUNDED_M3
        runs: dict[float, float] = {own_bore_m: own_length_m}
        for diameter, length in self.runs:
            runs[diameter] = runs.get(diameter, 0.0) + length
        flow = outflow(
            head_m,
            list(runs.items()),
            viscosity_m2_s=self.viscosity_m2_s,
            cut_diameter_m=own_bore_m,
            entrance_diameter_m=self.entrance_m,
        )
        return flow * TEST_TIME_S


def tank_surface(tank: Tank | None, component_id: str, reading: Reading) -> float:
    """Surface at label capacity [m]; of an unknown one, far below or far above everything."""
    if tank is None:
        return inf if reading.most(f"components[{component_id}].tank") else -inf
    surface = tank.surface_m if tank.surface_m is not None else tank.top_m
    if surface is None:
        return inf if reading.most(f"tanks[{tank.id}].surface_in") else -inf
    return as_float(surface)


def fuel_of(graph: Graph, tank: Tank | None, engine: str | None, reading: Reading) -> str:
    """The fuel in the line: the tank's, else its engine's; not known, the one that flows so."""
    if tank is not None and tank.fuel is not None:
        return tank.fuel
    if engine is not None and (fuel := graph.engine(engine).fuel) is not None:
        return fuel
    known = {tank_.fuel for tank_ in graph.document.tanks}
    known.update(engine_.fuel for engine_ in graph.document.engines)
    if len(known) == 1 and (only := known.pop()) is not None:
        return only
    lacking = tank or next((t for t in graph.document.tanks if t.fuel is None), None)
    where = "tanks" if lacking is None else f"tanks[{lacking.id}].fuel"
    return "gasoline" if reading.most(where) else "diesel"


def fuel_liquid(graph: Graph, fuel: str) -> Liquid:
    """The liquid of the method for this boat's fuel."""
    return graph.once(("liquid", fuel), lambda: _liquid(graph, fuel))


def _liquid(graph: Graph, fuel: str) -> Liquid:
    facts = graph.document.fuel
    return liquid(
        fuel,
        ethanol_pct=None if facts.ethanol_pct is None else float(facts.ethanol_pct),
        temperature_c=None if facts.temperature_c is None else float(facts.temperature_c),
    )


def pressure_head(tank: Tank | None, density_kg_m3: float) -> float:
    """Head that a sealed tank's pressure adds [m]; 0 unless a relief setting is on file."""
    if tank is None or tank.relief_pa is None:
        return 0.0
    return float(tank.relief_pa) / (density_kg_m3 * G_M_S2)


def opening_head(component: Component, density_kg_m3: float, reading: Reading) -> float:
    """Opening head of a spring valve [m]; of an unknown one, none or more than any."""
    if component.opening_head_m is not None:
        return float(component.opening_head_m)
    if component.opening_pa is not None:
        return float(component.opening_pa) / (density_kg_m3 * G_M_S2)
    return 0.0 if reading.most(f"components[{component.id}].opening_head_in") else inf


def withdrawal_valve(
    component: Component, density_kg_m3: float, reading: Reading
) -> tuple[Valve, float]:
    """The valve at a withdrawal and its opening head [m]."""
    kind = component.anti_siphon
    head_known = component.opening_head_m is not None or component.opening_pa is not None
    if kind == "spring_valve" or (kind is None and head_known):
        return Valve.SPRING, opening_head(component, density_kg_m3, reading)
    if kind == "electric_stop_valve":
        return (Valve.STOP if stop_valve_closed(component, reading) else Valve.NONE), 0.0
    if kind is None and component.kind == "withdrawal":
        if reading.most(f"components[{component.id}].anti_siphon"):
            return Valve.SPRING, 0.0  # opens at once, and holds the column where it does not
        return Valve.PERHAPS, inf
    return Valve.NONE, 0.0
