"""Gasoline vapor in each compartment: what makes it explosive, and the air the rules ask."""

from __future__ import annotations

from math import isfinite

from fuelsys.document.model import Compartment, Fuel, Tank
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.figures_permeation import Permeations
from fuelsys.evaluation.fuel_words import TEMPERATURE, fuel_inputs, outside, temperature_c
from fuelsys.graph import Graph
from fuelsys.hydraulics.boiling import LEAST_C, LEAST_RVP_PA, MOST_C, MOST_RVP_PA
from fuelsys.hydraulics.permeation import (
    TANK_REFERENCE_C,
    has_factor,
    tank_temperature_factor,
)
from fuelsys.hydraulics.vapor import (
    ALARM_SHARE,
    DEFAULT_RVP_PA,
    LEAST_ROW_PA,
    MOST_ROW_PA,
    air_needed,
    explosive_limit,
    sealed_time,
    vapor_weight,
)
from fuelsys.hydraulics.ventilation import blower_capacity, natural_area
from fuelsys.rules.fuel import fuel_of
from fuelsys.text import Figure, Text

DAY_S = 86400.0
METHOD = Text(
    "liquid gasoline whose vapor brings the compartment, sealed and well mixed, to its lower"
    " explosive limit"
)
SOURCE = (
    "limit 1.4 %: DOE AFDC, Properties of Fuels (secondary copy); vapor: AP-42 table 7.1-2"
    " (secondary copy); blower: 33 CFR 183.610 (secondary copy); openings: 33 CFR 183.630(d);"
    " tank's factor of temperature: EPA NONROAD2008, routine EMSADJ"
)
MIXED = Text(
    "Well mixed: vapor is heavier than air, so the bilge reaches the limit long before the mean"
    " does."
)
VAPOR = Text("Vapor of molecular weight {weight}, at {temperature}.")
NO_RVP = Text("Reid vapor pressure not on file: taken as {rvp}.")
HOSES = Text("Hose that also runs elsewhere is counted here in full, at the limit of its class.")
TANK_WALL = Text("What passes the wall of tank {tank} is not on file and is not counted.")
BLOWER = Text("The blower's size is asked where a gasoline engine with a cranking motor stands.")
NATURAL = Text("The openings' size is asked of the compartments that 183.620(a) names, for each.")
OPEN = Text("Open to the air: no vapor is held there that this could count.")
NEAREST = Text(
    "Reid vapor pressure {rvp} lies outside {low} to {high}, where the vapor is tabled: that of the"
    " nearer end is taken."
)
BAD_RVP = Text("A Reid vapor pressure outside {low} to {high} is not gasoline's. Check it.")
TANK_AT = Text(
    "The figure of tank {tank} is taken as that of {reference}, where the tanks' factor of"
    " temperature is 1; at {temperature} it is {factor}."
)
TANK_OUTSIDE = Text("What passes the wall of tank {tank} is not computed at {temperature}.")
DIESEL = Text("No gasoline aboard; diesel's vapor is not computed.")
WALLS = ("plastic", "fiberglass", "other")


def vapors(graph: Graph, permeations: Permeations) -> dict[str, Computed]:
    """The figure of every compartment, in the order of the document.

    Parameters
    ----------
    graph : Graph
    permeations : Permeations
        Of the same graph.

    Returns
    -------
    dict
        [mL] of liquid by compartment; no outcome, for no rule sets a limit to it.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Gasoline. As `fuelsys.hydraulics.vapor` and `ventilation`.

    Source
    ------
    The same.

    Examples
    --------
    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Document, Engine
    >>> from fuelsys.evaluation.figures_permeation import permeations
    >>> graph = Graph(Document(engines=(Engine("E", fuel="gasoline"),),
    ...     compartments=(Compartment("C", "bilge", net_volume_m3=F(1)),)))
    >>> round(vapors(graph, permeations(graph))["C"].value * 1e6)  # 62 mL at 25 C, here at 20
    63
    """
    gasoline = _gasoline_aboard(graph)
    return {
        place.id: _figure(graph, place, permeations, gasoline)
        for place in graph.document.compartments
    }


def _gasoline_aboard(graph: Graph) -> bool:
    """False only where every fuel on file is another."""
    document = graph.document
    fuels = [tank.fuel for tank in document.tanks] + [engine.fuel for engine in document.engines]
    return not fuels or any(fuel != "diesel" for fuel in fuels)


def _figure(graph: Graph, place: Compartment, permeations: Permeations, gasoline: bool) -> Computed:
    if not gasoline or place.kind == "open_deck":
        reason = DIESEL if not gasoline else OPEN
        return Computed(None, "ml", METHOD, SOURCE, {}, (reason,))
    facts = graph.document.fuel
    inputs = _inputs(graph, place)
    if (wrong := _wrong(facts)) is not None:
        said, path = wrong
        return Computed(None, "ml", METHOD, SOURCE, inputs, (said,), (path,))
    rvp, warmth = _rvp_pa(facts), temperature_c(facts)
    weight, condensed = vapor_weight(rvp)
    limit = explosive_limit(warmth, molecular_weight=weight)
    grams, missing, about = _given_off(graph, place, permeations)
    said_all = [MIXED, _vapor(weight, warmth), *_about_rvp(facts), *about]
    details: dict[str, Figure | None] = {"given_off": _grams_a_day(grams)}
    volume = place.net_volume_m3
    if not volume or volume <= 0:
        missing = (f"compartments[{place.id}].net_volume_ft3", *missing)
        return Computed(
            None, "ml", METHOD, SOURCE, inputs, tuple(said_all), missing, details=details
        )
    lel_g = limit * float(volume)
    details |= {
        "to_limit": Figure(lel_g, "g", computed=True),
        "to_quarter": Figure(lel_g * ALARM_SHARE, "g", computed=True),
        **_by_permeation(grams, float(volume), limit),
        **_sizes(graph, place, float(volume)),
    }
    said_all += [BLOWER] if "blower_rated" in details else []
    return Computed(
        lel_g / 1000.0 / condensed,
        "ml",
        METHOD,
        SOURCE,
        inputs,
        (*said_all, NATURAL),
        missing,
        details=details,
    )


def _rvp_pa(facts: Fuel) -> float:
    return DEFAULT_RVP_PA if facts.rvp_pa is None else float(facts.rvp_pa)


def _wrong(facts: Fuel) -> tuple[Text, str] | None:
    """A fact that is none of gasoline aboard, and where it stands: nothing is computed with it."""
    if not LEAST_C <= temperature_c(facts) <= MOST_C:
        return outside(LEAST_C, MOST_C), TEMPERATURE
    if not LEAST_RVP_PA <= _rvp_pa(facts) <= MOST_RVP_PA:
        ends = {"low": in_unit(LEAST_RVP_PA, "psi"), "high": in_unit(MOST_RVP_PA, "psi")}
        return Text(BAD_RVP.msgid, ends), "fuel.rvp_psi"
    return None


def _about_rvp(facts: Fuel) -> list[Text]:
    rvp = _rvp_pa(facts)
    figure = in_unit(rvp if facts.rvp_pa is None else facts.rvp_pa, "psi")
    if facts.rvp_pa is None:
        return [Text(NO_RVP.msgid, {"rvp": figure})]
    if LEAST_ROW_PA <= rvp <= MOST_ROW_PA:
        return []
    ends = {"low": in_unit(LEAST_ROW_PA, "psi"), "high": in_unit(MOST_ROW_PA, "psi")}
    return [Text(NEAREST.msgid, {"rvp": figure, **ends})]


def _vapor(weight: float, warmth_c: float) -> Text:
    figures = {
        "weight": Figure(weight, "g/mol", computed=True),
        "temperature": in_unit(warmth_c, "c"),
    }
    return Text(VAPOR.msgid, figures)


def _given_off(
    graph: Graph, place: Compartment, permeations: Permeations
) -> tuple[float | None, tuple[str, ...], list[Text]]:
    """Vapor that hose and tanks in a compartment give off at most [g/day]."""
    known: list[float] = []
    missing: list[str] = []
    said: list[Text] = []
    hoses = [s for s in graph.document.segments if place.id in (s.compartments or ())]
    for segment in hoses:
        figure = permeations.segments[segment.id]
        if figure.value is not None:
            known.append(float(figure.value))
        missing += figure.missing
    is_known = all(permeations.segments[s.id].value is not None for s in hoses)
    if hoses:
        said.append(HOSES)
    warmth = temperature_c(graph.document.fuel)
    for tank in _gasoline_tanks(graph, place):
        if tank.permeation_g_day is not None:
            words, grams = _of_tank(tank, float(tank.permeation_g_day), warmth)
            said.append(words)
            if grams is None:
                is_known = False
                missing.append(TEMPERATURE)
            else:
                known.append(grams)
        elif tank.material in WALLS or tank.material is None:
            said.append(Text(TANK_WALL.msgid, {"tank": tank.id}))
            missing.append(f"tanks[{tank.id}].permeation_g_day")
    return (sum(known) if is_known else None), tuple(dict.fromkeys(missing)), said


def _of_tank(tank: Tank, grams: float, warmth_c: float) -> tuple[Text, float | None]:
    """What passes a tank's wall at a temperature [g/day], and what is taken for it."""
    at = {"tank": tank.id, "temperature": in_unit(warmth_c, "c")}
    if not has_factor(warmth_c):
        return Text(TANK_OUTSIDE.msgid, at), None
    factor = tank_temperature_factor(warmth_c)
    at |= {"reference": in_unit(TANK_REFERENCE_C, "f"), "factor": Figure(factor, computed=True)}
    return Text(TANK_AT.msgid, at), grams * factor


def _gasoline_tanks(graph: Graph, place: Compartment) -> list[Tank]:
    return [
        tank
        for tank in graph.document.tanks
        if tank.compartment == place.id
        and (answer := fuel_of(graph, tank)) is not None
        and answer.fuel != "diesel"
    ]


def _by_permeation(
    grams_a_day: float | None, volume_m3: float, limit_g_m3: float
) -> dict[str, Figure | None]:
    """How long a sealed compartment takes to a quarter of the limit and to the limit itself, and
    the air that keeps it below the quarter.

    Without anything given off the times have no end, and no figure.
    """
    if grams_a_day is None:
        return {"sealed_to_quarter": None, "sealed_to_limit": None, "air_for_quarter": None}
    rate = grams_a_day / DAY_S
    days = sealed_time(rate, volume_m3, limit_g_m3) / DAY_S
    quarter, whole = None, None
    if isfinite(days):
        quarter = Figure(days * ALARM_SHARE, "days", computed=True)
        whole = Figure(days, "days", computed=True)
    return {
        "sealed_to_quarter": quarter,
        "sealed_to_limit": whole,
        "air_for_quarter": in_unit(air_needed(rate, limit_g_m3), "lph", computed=True),
    }


def _grams_a_day(grams: float | None) -> Figure | None:
    return None if grams is None else in_unit(grams, "g_day", computed=True)


def _sizes(graph: Graph, place: Compartment, volume_m3: float) -> dict[str, Figure]:
    sizes = {}
    if _holds_started_engine(graph, place):
        rated, output = blower_capacity(volume_m3)
        sizes["blower_rated"] = in_unit(rated, "cfm", computed=True)
        sizes["blower_output"] = in_unit(output, "cfm", computed=True)
    sizes["opening_each"] = in_unit(natural_area(volume_m3), "in2", computed=True)
    return sizes


def _holds_started_engine(graph: Graph, place: Compartment) -> bool:
    return any(
        engine.compartment == place.id
        and engine.fuel != "diesel"
        and engine.cranking_motor is not False
        and not engine.portable
        for engine in graph.document.engines
    )


def _inputs(graph: Graph, place: Compartment) -> dict[str, Figure]:
    facts = graph.document.fuel
    on_file = {
        "net_volume": (place.net_volume_m3, "ft3"),
        "blower_rated": (place.blower_rated_m3_s, "cfm"),
        "blower_output": (place.blower_output_m3_s, "cfm"),
        "supply_opening": (place.supply_opening_m2, "in2"),
        "exhaust_opening": (place.exhaust_opening_m2, "in2"),
        "rvp": (facts.rvp_pa, "psi"),
    }
    inputs = {
        name: in_unit(value, unit) for name, (value, unit) in on_file.items() if value is not None
    }
    for tank in _gasoline_tanks(graph, place):
        if tank.permeation_g_day is not None:
            inputs[f"tank_permeation {tank.id}"] = in_unit(tank.permeation_g_day, "g_day")
    return inputs | fuel_inputs(facts, None)
