"""Pressure in each tank while it is filled, against 80 % of its label."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from fuelsys.document.model import Tank
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.fuel_words import (
    TEMPERATURE,
    fuel_inputs,
    is_too_cold,
    liquid_words,
    without_density,
)
from fuelsys.graph import Graph
from fuelsys.hydraulics.gas import AIR_KG_M3, AIR_VISCOSITY_M2_S, LADEN_KG_M3, gas_loss
from fuelsys.hydraulics.liquids import Liquid
from fuelsys.hydraulics.sources import fuel_liquid
from fuelsys.hydraulics.vent import (
    DEFAULT_FILL_M3_S,
    overfill_pressure,
    plug_height,
    trap_depth,
    trap_pressure,
)
from fuelsys.hydraulics.vent_path import VentPath, vent_paths
from fuelsys.hydraulics.wording import TRANSITION
from fuelsys.rules.context import tank_path
from fuelsys.rules.fuel import fuel_of
from fuelsys.rules.parameters import ParameterNotInForceError, parameter
from fuelsys.text import Figure, Text

METHOD = Text(
    "gas pushed out at the fill rate through the vent, and the liquid that a dip in it holds up"
)
SOURCE = (
    "33 CFR 183.520(a); Darcy-Weisbach, friction of the EPANET 2.2 User Manual; fill rates: Coast"
    " Guard boatbuilder handbook"
)
DEFAULT_RATE = Text("Fill rate not on file: taken as {rate}.")
LADEN = Text("The gas carries vapor: {density}, an upper bound.")
AIR = Text("The gas is air: {density}.")
DIPS = Text("Each dip stands full; at most its liquid is pushed on as one plug.")
BORES = Text("The plug keeps its length where the bore changes.")
UNCOUNTED = Text("No loss is counted for {parts}: none is on file.")
SEVERAL = Text("Of several ways out the easiest is counted alone.")
OVERFILL = Text(
    "If the nozzle does not shut off, liquid in the vent brings the tank to {pressure}, above"
    " {limit}. A warning: it rests on the nozzle."
)
NO_LABEL = Text("The tank bears no legible label pressure, 183.514(b)(5).")
NO_VENT = Text("No vent line of this tank is in the survey.")
PORTABLE = Text("A portable tank: its vent is its own.")


def vents(graph: Graph, on: date) -> dict[str, Computed]:
    """The figure of every tank, in the order of the document.

    Parameters
    ----------
    graph : Graph
    on : date
        The day whose share of the label holds; before the first there is no limit.

    Returns
    -------
    dict
        [psi] by tank. Fail above 80 % of the label; review where only an overfill would be.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    As `fuelsys.hydraulics.vent` and `gas`.

    Source
    ------
    33 CFR 183.520(a).

    Examples
    --------
    >>> from fuelsys.document.model import Document
    >>> vents(Graph(Document(tanks=(Tank("T"),))), date(2026, 11, 25))["T"].missing
    ('tanks[T].label_pressure_psi', 'components')
    """
    share = _label_share(on)
    return {tank.id: _figure(graph, tank, share) for tank in graph.document.tanks}


def _label_share(on: date) -> Fraction | None:
    """What part of its label a tank may come to, 33 CFR 183.520(a); None before its first day."""
    try:
        held = parameter("33-cfr/183-520/label_share").on(on)
    except ParameterNotInForceError:
        return None
    if not isinstance(held, Fraction):
        raise TypeError("The share of the label is not a number.")
    return held / 100


def _figure(graph: Graph, tank: Tank, share: Fraction | None) -> Computed:
    label_pa = tank.label_pressure_pa if tank.label_legible is not False else None
    limit_pa = None if label_pa is None or share is None else label_pa * share
    limit = None if limit_pa is None else in_unit(limit_pa, "psi")
    lacking = [] if label_pa is not None else [tank_path(tank.id, "label_pressure_psi")]
    paths = vent_paths(graph, tank)
    if not paths:
        said = NO_VENT if tank.installed else PORTABLE
        missing = (*lacking, "components") if tank.installed else ()
        return Computed(None, "psi", METHOD, SOURCE, {}, (said,), missing, limit, "cannot_tell")
    answer = fuel_of(graph, tank)
    fuel = answer.fuel if answer else None
    if fuel is None:
        missing = (*lacking, tank_path(tank.id, "fuel"))
        return Computed(None, "psi", METHOD, SOURCE, {}, (), missing, limit, "cannot_tell")
    facts = graph.document.fuel
    if (refused := without_density(facts)) is not None:
        missing = (*lacking, TEMPERATURE)
        inputs = fuel_inputs(facts, fuel)
        return Computed(
            None, "psi", METHOD, SOURCE, inputs, (refused,), missing, limit, "cannot_tell"
        )
    rate = facts.fill_rate_m3_s
    work = _Filling(
        fuel_liquid(graph, fuel),
        LADEN_KG_M3 if fuel == "gasoline" else AIR_KG_M3,
        DEFAULT_FILL_M3_S if rate is None else float(rate),
    )
    path, found = _easiest(work, paths)
    missing = (*path.missing, *lacking)
    said_all = [NO_LABEL] if label_pa is None else []
    said_all += _assumptions(work, path, found, several=len(paths) > 1, given=rate is not None)
    if found["trap"] or found["overfill"] is not None:
        said_all += liquid_words(facts, fuel, work.liquid)
    outcome = _outcome(found, limit_pa)
    if outcome == "pass" and is_too_cold(facts):
        outcome, missing = "cannot_tell", (*missing, TEMPERATURE)
    if outcome == "review" and limit_pa is not None and (found["overfill"] or 0.0) > limit_pa:
        over = {"pressure": _psi(found["overfill"]), "limit": limit}
        said_all.append(Text(OVERFILL.msgid, over))
    return Computed(
        _sum(found["gas"], found["trap"]),
        "psi",
        METHOD,
        SOURCE,
        _inputs(tank, path, rate) | fuel_inputs(facts, fuel),
        tuple(said_all),
        missing,
        limit,
        outcome,
        details={name: _psi(pressure) for name, pressure in found.items()},
    )


class _Filling:
    """A tank being filled: the three pressures of one way out."""

    def __init__(self, liquid: Liquid, gas_kg_m3: float, rate_m3_s: float) -> None:
        self.liquid = liquid
        self.gas_kg_m3 = gas_kg_m3
        self.rate_m3_s = rate_m3_s

    def pressures(self, path: VentPath) -> dict[str, float | None]:
        """`gas`, `trap` with its bound, and `overfill` [Pa]; None where a fact is lacking."""
        gas = trap = most = overfill = None
        if path.runs is not None:
            gas = gas_loss(self.rate_m3_s, path.runs, density_kg_m3=self.gas_kg_m3)
        if path.line is not None:
            pockets, density = path.line.pockets(), self.liquid.density_kg_m3
            depth = sum(trap_depth(path.line, pocket) for pocket in pockets)
            plug = sum(plug_height(path.line, pocket) for pocket in pockets)
            trap, most = trap_pressure(depth, density), trap_pressure(plug, density)
        if path.line is not None and path.runs is not None:
            overfill = overfill_pressure(
                self.rate_m3_s,
                path.runs,
                rise_m=path.line.highest_m - path.line.heights_m[0],
                density_kg_m3=self.liquid.density_kg_m3,
                viscosity_m2_s=self.liquid.viscosity_m2_s,
            )
        return {"gas": gas, "trap": trap, "trap_at_most": most, "overfill": overfill}


def _easiest(
    work: _Filling, paths: tuple[VentPath, ...]
) -> tuple[VentPath, dict[str, float | None]]:
    """The way out with the least pressure; one that is not known only where none is."""
    tried = [(path, work.pressures(path)) for path in paths]

    def pressure(one: tuple[VentPath, dict[str, float | None]]) -> float:
        total = _sum(one[1]["gas"], one[1]["trap"])
        return float("inf") if total is None else total

    return min(tried, key=pressure)


def _sum(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else a + b


def _outcome(found: dict[str, float | None], limit_pa: Fraction | None) -> str:
    total, overfill = _sum(found["gas"], found["trap"]), found["overfill"]
    if limit_pa is None:
        return "cannot_tell"
    least = max(found["gas"] or 0.0, found["trap"] or 0.0)
    if least > limit_pa or (total is not None and total > limit_pa):
        return "fail"
    at_most = _sum(found["gas"], found["trap_at_most"])
    if at_most is None or overfill is None:
        return "cannot_tell"
    return "review" if max(at_most, overfill) > limit_pa else "pass"


def vent_outcome(figure: Computed) -> str:
    """The outcome without overfilling, which rests on the nozzle and not on the vent."""
    details, limit = figure.details or {}, figure.limit
    gas, most = details.get("gas"), details.get("trap_at_most")
    if figure.outcome == "review" and gas and most and limit:
        return "review" if _number(gas) + _number(most) > _number(limit) else "pass"
    return figure.outcome or "cannot_tell"


def _number(figure: Figure) -> float:
    return float(figure.value)


def _psi(pressure_pa: float | None) -> Figure | None:
    return None if pressure_pa is None else in_unit(pressure_pa, "psi", computed=True)


def _inputs(tank: Tank, path: VentPath, rate: Fraction | None) -> dict[str, Figure]:
    inputs: dict[str, Figure] = {}
    if rate is not None:
        inputs["fill_rate"] = in_unit(rate, "gpm")
    if path.runs is not None:
        inputs["smallest_bore"] = in_unit(min(run.bore_m for run in path.runs), "in")
        inputs["length"] = in_unit(sum(run.length_m for run in path.runs), "in")
    if path.line is not None:
        inputs["highest"] = in_unit(path.line.highest_m, "in")
    if tank.label_pressure_pa is not None and tank.label_legible is not False:
        inputs["label_pressure"] = in_unit(tank.label_pressure_pa, "psi")
    return inputs


def _assumptions(
    work: _Filling,
    path: VentPath,
    found: dict[str, float | None],
    *,
    several: bool,
    given: bool,
) -> list[Text]:
    said = []
    if not given:
        said.append(Text(DEFAULT_RATE.msgid, {"rate": in_unit(work.rate_m3_s, "gpm")}))
    gas = LADEN if work.gas_kg_m3 > AIR_KG_M3 else AIR
    said.append(Text(gas.msgid, {"density": Figure(work.gas_kg_m3, "kg/m3")}))
    if found["trap"]:
        said.append(DIPS)
        if not path.one_bore:
            said.append(BORES)
    banded = path.in_transition(work.rate_m3_s, AIR_VISCOSITY_M2_S, work.liquid.viscosity_m2_s)
    if banded:
        said.append(Text(TRANSITION.msgid, {"parts": ", ".join(banded)}))
    if path.uncounted:
        said.append(Text(UNCOUNTED.msgid, {"parts": ", ".join(path.uncounted)}))
    if several:
        said.append(SEVERAL)
    return said
