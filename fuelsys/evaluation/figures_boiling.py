"""How near gasoline comes to boiling on its way, by its temperature; worked out when asked for."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.document.model import Engine, Fuel
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.fuel_words import temperature_c
from fuelsys.graph import Graph
from fuelsys.hydraulics.boiling import (
    COLDEST_C,
    LEAST_C,
    LEAST_RVP_PA,
    MOST_C,
    MOST_RVP_PA,
    PSI_PA,
    WARMEST_C,
    boiling_margin,
    true_vapor_pressure,
)
from fuelsys.text import Figure, Text
from fuelsys.units import to_base

METHOD = Text(
    "the atmosphere less the fuel's true vapor pressure is the vacuum at which it boils; the margin"
    " is what the lowest pressure on the way leaves of it"
)
SOURCE = (
    "AP-42 chapter 7.1, equation 1-25 with the constants of figure 7.1-15 (secondary copy;"
    " distillation slope 3.0 unverified)"
)
# The columns of AP-42 table 7.1-2, 40 to 100 F.
TABLE_C = tuple(float(to_base(degrees, "f")) for degrees in range(40, 101, 10))
FUELS_PA = (7 * PSI_PA, 10 * PSI_PA, 13 * PSI_PA)  # rows of the same table
AS_FOUND = Text(
    "The lowest pressure on the way is that worked out at the fuel's own temperature, in every row."
)
BLEND = Text("The Reid vapor pressure is that of the finished blend.")
WARMER = Text("Fuel in an engine space is warmer than the air outside.")
EXTRAPOLATED = Text("Vapor pressure outside {low} to {high} is extrapolated.")
NO_RVP = Text("Reid vapor pressure not on file: three gasolines of the table stand for it.")


def vapor_lock(graph: Graph, engine: Engine, drawn: Computed) -> Computed | None:
    """The vacuum at which an engine's gasoline boils, by temperature.

    Parameters
    ----------
    graph : Graph
    engine : Engine
    drawn : Computed
        The engine's suction, of the same graph.

    Returns
    -------
    Computed or None
        [inHg] at the temperature on file, with a row for each temperature of the table; without
        a Reid vapor pressure on file, for three gasolines. None for diesel.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    As `fuelsys.hydraulics.boiling`: 40 to 100 F, beyond extrapolated and said.

    Source
    ------
    AP-42 chapter 7.1.

    Examples
    --------
    RVP 9 at 115 F boils at 4.96 inHg of vacuum:

    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Document
    >>> warm = Fuel(rvp_pa=9 * F("6894.757"), temperature_c=F(415, 9))
    >>> graph = Graph(Document(fuel=warm, engines=(Engine("E", fuel="gasoline"),)))
    >>> found = vapor_lock(graph, graph.engine("E"), Computed(None, "inhg", METHOD, SOURCE))
    >>> str(in_unit(found.value, found.unit, computed=True))
    '4.96 inHg'
    """
    facts = graph.document.fuel
    if engine.fuel != "gasoline" or not LEAST_C <= temperature_c(facts) <= MOST_C:
        return None
    if facts.rvp_pa is None:
        rows = tuple(_row(rvp, at_c, None, by=True) for rvp in FUELS_PA for at_c in TABLE_C)
        no_rvp = (NO_RVP, BLEND, WARMER)
        return Computed(
            None, "inhg", METHOD, SOURCE, _inputs(facts), no_rvp, ("fuel.rvp_psi",), choices=rows
        )
    if not LEAST_RVP_PA <= facts.rvp_pa <= MOST_RVP_PA:
        return None
    rvp, lowest = float(facts.rvp_pa), _lowest_pa(drawn)
    said = [BLEND, WARMER] if lowest is None else [AS_FOUND, BLEND, WARMER]
    if not COLDEST_C <= temperature_c(facts) <= WARMEST_C:
        ends = {"low": in_unit(COLDEST_C, "f"), "high": in_unit(WARMEST_C, "f")}
        said.append(Text(EXTRAPOLATED.msgid, ends))
    return Computed(
        boiling_margin(0.0, rvp, temperature_c(facts)),
        "inhg",
        METHOD,
        SOURCE,
        _inputs(facts),
        tuple(said),
        choices=tuple(_row(rvp, warmth, lowest) for warmth in _warmths(facts)),
    )


def _warmths(facts: Fuel) -> Iterator[float]:
    """The temperatures of the table, and in its place the fuel's own [C]."""
    yield from sorted({*TABLE_C, temperature_c(facts)})


def _row(
    rvp_pa: float, at_c: float, lowest_pa: float | None, *, by: bool = False
) -> dict[str, Figure | None]:
    boils_pa = boiling_margin(0.0, rvp_pa, at_c)
    row: dict[str, Figure | None] = {"rvp": in_unit(rvp_pa, "psi")} if by else {}
    row |= {
        "temperature": in_unit(at_c, "f", computed=True),
        "vapor_pressure": in_unit(true_vapor_pressure(rvp_pa, at_c), "psi", computed=True),
        "boils_at": in_unit(boils_pa, "inhg", computed=True),
    }
    if lowest_pa is not None:
        row["boiling_margin"] = in_unit(boils_pa + lowest_pa, "psi", computed=True)
    return row


def _lowest_pa(drawn: Computed) -> float | None:
    figure = (drawn.details or {}).get("lowest_pressure")
    if figure is None or isinstance(figure.value, str):
        return None
    return float(to_base(figure.value, figure.unit))


def _inputs(facts: Fuel) -> dict[str, Figure]:
    inputs = {}
    if facts.rvp_pa is not None:
        inputs["rvp"] = in_unit(facts.rvp_pa, "psi")
    if facts.temperature_c is not None:
        inputs["temperature"] = in_unit(facts.temperature_c, "f")
    return inputs
