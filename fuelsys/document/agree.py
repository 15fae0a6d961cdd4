"""Facts of one object that must agree, and those that follow from one another."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from fuelsys.document.marking import read_marking
from fuelsys.document.problems import shown
from fuelsys.document.table import Facts, Reading
from fuelsys.units import UNITS

DEFAULT_ROUTE_UNIT: Final = "in"


def segment_agree(facts: Facts, reading: Reading) -> None:
    """Bring the route to metres and one compartment to a list of one."""
    factor: Fraction = UNITS[facts.pop("route_unit", DEFAULT_ROUTE_UNIT)].factor
    if "route" in facts:
        facts["route"] = tuple(
            (distance * factor, height * factor) for distance, height in facts["route"]
        )
    compartment = facts.pop("compartment", None)
    if compartment is not None:
        facts.setdefault("compartments", (compartment,))


def hose_agree(facts: Facts, reading: Reading) -> None:
    """Take from the marking what no key gives; refuse a class that the marking denies."""
    given = facts.get("mark")
    if given == "none":
        given = facts["mark"] = "NONE"
    if "marking" not in facts:
        return
    printed = read_marking(facts["marking"])
    if given is not None and printed.mark is not None and given != printed.mark:
        says = "shows no class" if printed.mark == "NONE" else f"says {printed.mark}"
        reading.add(
            facts.at.key("class"),
            f"{given} beside the marking {shown(facts['marking'])}, which {says}",
            "a class and a marking that agree; leave out the one that is not certain",
        )
    read = {
        "mark": printed.mark,
        "low_permeation": printed.low_permeation,
        "made": printed.year,
        "epa_label": printed.epa_label,
    }
    for name, fact in read.items():
        if fact is not None:
            facts.setdefault(name, fact)
