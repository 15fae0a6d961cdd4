"""What a full tank gives off when its fuel warms."""

from __future__ import annotations

from fuelsys.document.model import Fuel, Tank
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.graph import Graph
from fuelsys.hydraulics.expansion import COLDEST_C, WARMEST_C, density_at_15, swelling
from fuelsys.hydraulics.liquids import DEFAULT_TEMPERATURE_C, liquid
from fuelsys.rules.context import tank_path
from fuelsys.rules.fuel import fuel_of
from fuelsys.text import Figure, Text

WARMING_K = 10.0  # the step the figure is given for; not a claim about any day
METHOD = Text(
    "label capacity times the growth of the fuel from {start} to {end}, by the petroleum tables'"
    " volume correction"
)
SOURCE = "API MPMS 11.1, ASTM D1250 table 54B (secondary copy)"
FULL = Text("Filled to label capacity at {start}. Room above that level is not on file.")
WALLS = Text("The growth of the tank itself is ignored.")
DENSITY = Text("Density of {fuel} at 15 °C: {density}.")
DEFAULT = Text("Temperature of the fuel not on file: taken as {start}.")
OUTSIDE = Text("The fuel's temperature on file lies outside {low} to {high}. Check its unit.")


def expansion(graph: Graph, tank: Tank) -> Computed:
    """Fuel that a tank filled to its label capacity gives off on warming by 10 K.

    Parameters
    ----------
    graph : Graph
    tank : Tank
        One of the graph's tanks.

    Returns
    -------
    Computed
        [gal]; no value without capacity or fuel, or at a temperature outside the range.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Gasoline, its blends taken as petroleum of their density, and diesel; -40 to 60 C.

    Source
    ------
    API MPMS chapter 11.1, ASTM D1250 table 54B.

    Examples
    --------
    60 gal of gasoline from 20 to 30 C:

    >>> from fractions import Fraction
    >>> from fuelsys.document.model import Document
    >>> tank = Tank("T", fuel="gasoline", capacity_m3=Fraction("0.22712470704"))
    >>> found = expansion(Graph(Document(tanks=(tank,))), tank)
    >>> str(in_unit(found.value, "gal", computed=True))
    '0.747 gal'
    """
    start_c = _temperature_c(graph.document.fuel)
    start, end = in_unit(start_c, "c"), in_unit(start_c + WARMING_K, "c")
    method = Text(METHOD.msgid, {"start": start, "end": end})
    inputs = {"capacity": in_unit(tank.capacity_m3, "gal")} if tank.capacity_m3 else {}
    if graph.document.fuel.temperature_c is not None:
        inputs["temperature"] = start
    answer = fuel_of(graph, tank)
    fuel = answer.fuel if answer else None
    if not tank.capacity_m3 or not fuel:
        missing = [] if tank.capacity_m3 else [tank_path(tank.id, "capacity_gal")]
        missing += [] if fuel else [tank_path(tank.id, "fuel")]
        return Computed(None, "gal", method, SOURCE, inputs, (), tuple(missing))
    if not COLDEST_C <= start_c <= WARMEST_C - WARMING_K:
        low, high = in_unit(COLDEST_C, "c"), in_unit(WARMEST_C - WARMING_K, "c")
        said = Text(OUTSIDE.msgid, {"low": low, "high": high})
        return Computed(None, "gal", method, SOURCE, inputs, (said,), ("fuel.temperature_f",))
    density_15 = _density_at_15(fuel, graph.document.fuel)
    growth = swelling(density_15, start_c, start_c + WARMING_K) - 1
    assumptions = _assumptions(graph.document.fuel, fuel, density_15, start)
    volume_m3 = float(tank.capacity_m3) * growth
    return Computed(volume_m3, "gal", method, SOURCE, inputs, assumptions)


def _temperature_c(facts: Fuel) -> float:
    return DEFAULT_TEMPERATURE_C if facts.temperature_c is None else float(facts.temperature_c)


def _assumptions(facts: Fuel, fuel: str, density_15: float, start: Figure) -> tuple[Text, ...]:
    density = Figure(density_15, "kg/m3", computed=True)
    said = [
        Text(FULL.msgid, {"start": start}),
        WALLS,
        Text(DENSITY.msgid, {"fuel": fuel, "density": density}),
    ]
    if facts.temperature_c is None:
        said.append(Text(DEFAULT.msgid, {"start": start}))
    return tuple(said)


def _density_at_15(fuel: str, facts: Fuel) -> float:
    ethanol = None if facts.ethanol_pct is None else float(facts.ethanol_pct)
    at_20 = liquid(fuel, ethanol_pct=ethanol).density_kg_m3
    return density_at_15(at_20, DEFAULT_TEMPERATURE_C)
