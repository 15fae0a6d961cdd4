"""Fuel that hose loses through its wall in a day, at most: each segment, and all together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fuelsys.document.model import Document, Segment
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.graph import Graph
from fuelsys.hydraulics.liquids import DEFAULT_TEMPERATURE_C
from fuelsys.hydraulics.permeation import (
    COLDEST_C,
    LIMITS_G_M2_DAY,
    WARMEST_C,
    class_limit,
    has_factor,
    hose_loss,
)
from fuelsys.hydraulics.runs import DRY_SERVICES, bore_and_length, bore_fact
from fuelsys.rules.context import segment_path
from fuelsys.text import Figure, Text

METHOD = Text("limit of the hose's class times its inner surface and the factor of temperature")
TOTAL = Text("sum over all segments")
SOURCE = "33 CFR 183.540 note; 40 CFR 1060.102(d)(2); temperature: EPA NONROAD2008, routine EMSADJ"
AT_MOST = Text("At most: a limit of the class {class}, not a measurement of this hose.")
OTHER_FUEL = Text("The limits of classes 1 and 2 were set without ethanol; blends permeate more.")
AT = Text("At {temperature}.")
NOT_GIVEN = Text("Temperature of the fuel not on file: taken as {temperature}.")
ALL_WET = Text(
    "Taken as wet all along, though a fill or vent seldom is; the lesser figure has fuel in {share}"
    " of it.",
    {"share": Figure(50, "pct")},
)
HALF = 0.5  # a stated choice to set beside the bound, not a claim about any boat
METAL = Text("Nothing permeates metal.")
NO_CLASS = Text("The hose bears no class, so no limit holds for it.")
NO_FACTOR = Text(
    "The factor of temperature is given from {coldest} to {warmest}, and the fuel's temperature on"
    " file is {temperature}."
)
NOT_COUNTED = Text("Not counted, for want of facts: {segments}.")
LOW = "-15"


@dataclass(frozen=True, slots=True)
class Permeations:
    """One figure for each segment, and their sum."""

    segments: Mapping[str, Computed]
    total: Computed


@dataclass(frozen=True, slots=True)
class Change:
    """What a segment, or all, lose at most before and after the work [g/day]."""

    before_g_day: float | None
    after_g_day: float | None


def permeations(graph: Graph) -> Permeations:
    """The permeation of every segment and of the boat.

    Parameters
    ----------
    graph : Graph

    Returns
    -------
    Permeations
        [g/day]; the total is None while a segment's is not known, and says which.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Ambient temperatures up to 45 C. A bound from the limits of the classes.

    Source
    ------
    `fuelsys.hydraulics.permeation`.

    Examples
    --------
    >>> from fractions import Fraction as F
    >>> from fuelsys.document.model import Component, Hose
    >>> hose = Hose(mark="A1", inside_diameter_m=F("0.009525"))
    >>> run = Segment("S", "feed", "A", "B", length_m=F(3), hose=hose)
    >>> parts = (Component("A", "tee"), Component("B", "tee"))
    >>> found = permeations(Graph(Document(components=parts, segments=(run,))))
    >>> round(found.total.value, 2)  # 8.98 at 73 F, here at 20 C
    7.4
    """
    each = {segment.id: _figure(graph, segment) for segment in graph.document.segments}
    return Permeations(each, _total(graph.document, each))


def permeation_changes(found: Permeations, proposed: Permeations) -> dict[str | None, Change]:
    """Old against new by segment, in the order found then proposed; under None, all together.

    A segment that only one of them has counts as nothing in the other.
    """
    changes: dict[str | None, Change] = {}
    for name in dict.fromkeys([*found.segments, *proposed.segments]):
        changes[name] = Change(_grams(found.segments, name), _grams(proposed.segments, name))
    changes[None] = Change(_value(found.total), _value(proposed.total))
    return changes


def segment_grams_a_day(
    graph: Graph, segment: Segment, bore_m: float | None = None, *, wetted_share: float = 1.0
) -> float | None:
    """What a segment loses at most, in its own bore or another; None where a fact is lacking."""
    if segment.metal_line is not None:
        return 0.0
    own_m, length = bore_and_length(graph, segment)
    width = bore_m or own_m
    limit, warmth = _limit(segment), _temperature_c(graph.document)
    if limit is None or width is None or length is None or not has_factor(warmth):
        return None
    return hose_loss(
        limit,
        inside_diameter_m=width,
        length_m=length,
        temperature_c=warmth,
        wetted_share=wetted_share,
    )


def _figure(graph: Graph, segment: Segment) -> Computed:
    if segment.metal_line is not None:
        return Computed(0.0, "g_day", METHOD, SOURCE, {}, (METAL,))
    grams = segment_grams_a_day(graph, segment)
    inputs: dict[str, Figure] = {}
    width, length = bore_and_length(graph, segment)
    if width is not None:
        inputs["inside_diameter"] = in_unit(width, "in")
    if length is not None:
        inputs["length"] = in_unit(length, "in")
    limit = _limit(segment)
    if limit is not None:
        inputs["class_limit"] = Figure(limit, "g/m2 day")
    missing = _missing(graph, segment)
    said = _assumptions(graph, segment)
    return Computed(
        grams,
        "g_day",
        METHOD,
        SOURCE,
        inputs,
        said,
        tuple(missing),
        details=_half_wet(graph, segment) if ALL_WET in said else None,
    )


def _half_wet(graph: Graph, segment: Segment) -> dict[str, Figure | None]:
    grams = segment_grams_a_day(graph, segment, wetted_share=HALF)
    return {"half_wet": None if grams is None else in_unit(grams, "g_day", computed=True)}


def _missing(graph: Graph, segment: Segment) -> list[str]:
    hose = segment.hose
    missing = []
    if hose is None or hose.mark is None:
        missing.append(segment_path(segment.id, "hose", "marking"))
    width, length = bore_and_length(graph, segment)
    if width is None:
        missing.append(bore_fact(segment))
    if length is None:
        missing.append(segment_path(segment.id, "length_in"))
    if _limit(segment) is not None and not has_factor(_temperature_c(graph.document)):
        missing.append("fuel.temperature_f")
    return missing


def _limit(segment: Segment) -> float | None:
    if segment.hose is None:
        return None
    return class_limit(segment.hose.mark, low_permeation=segment.hose.low_permeation is True)


def _assumptions(graph: Graph, segment: Segment) -> tuple[Text, ...]:
    hose, limit = segment.hose, _limit(segment)
    if hose is None or hose.mark is None:
        return ()
    if limit is None:
        return (NO_CLASS,)
    low = hose.low_permeation is True
    marked = (hose.mark if hose.mark in LIMITS_G_M2_DAY else "") + (LOW if low else "")
    said = [Text(AT_MOST.msgid, {"class": marked})]
    if not low:
        said.append(OTHER_FUEL)
    if segment.service in DRY_SERVICES:
        said.append(ALL_WET)
    return (*said, graph.once("warmth of permeation", lambda: _warmth(graph.document)))


def _warmth(document: Document) -> Text:
    warmth = _temperature_c(document)
    if not has_factor(warmth):
        ends = {"coldest": in_unit(COLDEST_C, "c"), "warmest": in_unit(WARMEST_C, "c")}
        return Text(NO_FACTOR.msgid, {**ends, "temperature": in_unit(warmth, "c")})
    known = document.fuel.temperature_c is not None
    return Text((AT if known else NOT_GIVEN).msgid, {"temperature": in_unit(warmth, "c")})


def _total(document: Document, each: Mapping[str, Computed]) -> Computed:
    unknown = [name for name, figure in each.items() if figure.value is None]
    missing = dict.fromkeys(path for figure in each.values() for path in figure.missing)
    known = [float(figure.value) for figure in each.values() if figure.value is not None]
    said = [_warmth(document)] if each else []
    if unknown:
        said.insert(0, Text(NOT_COUNTED.msgid, {"segments": ", ".join(unknown)}))
    details: dict[str, Figure | None] = {"counted": in_unit(sum(known), "g_day", computed=True)}
    if any(figure.details for figure in each.values()):
        spared = sum(_spared(figure) for figure in each.values())
        least = sum(known) - spared
        details["half_wet"] = in_unit(least, "g_day", computed=True)
    value = None if unknown else sum(known)
    return Computed(value, "g_day", TOTAL, SOURCE, {}, tuple(said), tuple(missing), details=details)


def _spared(figure: Computed) -> float:
    """What a fill or vent loses less with fuel in half of it [g/day]."""
    return (1.0 - HALF) * float(figure.value or 0.0) if figure.details else 0.0


def _temperature_c(document: Document) -> float:
    warmth = document.fuel.temperature_c
    return DEFAULT_TEMPERATURE_C if warmth is None else float(warmth)


def _grams(segments: Mapping[str, Computed], name: str) -> float | None:
    return _value(segments[name]) if name in segments else 0.0


def _value(figure: Computed) -> float | None:
    return None if figure.value is None else float(figure.value)
