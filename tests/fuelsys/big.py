"""Large documents, every fact given as in the examples: twin systems of forty segments, chains.

Each part is one of an example's parts under another id, at another place.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any

from tests.fuelsys.documents import example

Facts = dict[str, Any]
Route = Sequence[tuple[float, float]]

EXAMPLE = "second-helping-found"
OF_SERVICE = {
    "fill": "S1",
    "vent": "S2",
    "feed": "S3",
    "return": "S3",
    "pump_to_carburetor": "S5",
}
OF_KIND = {
    "deck_fill": "FILL",
    "fill_spud": "T1-F",
    "vent_fitting": "VENT",
    "vent_nipple": "T1-V",
    "withdrawal": "T1-P",
    "filter": "FLT",
    "fuel_pump": "ENG",
    "fuel_rail": "RAIL",
}


class Survey:
    """A document that grows part by part."""

    def __init__(self, tanks: Sequence[str]) -> None:
        self.data = example(EXAMPLE)
        (tank,) = self.data["tanks"]
        self.parts = {part["id"]: part for part in self.data["components"]}
        self.runs = {run["id"]: run for run in self.data["segments"]}
        self.heights: dict[str, float] = {}
        self.data.update(
            tanks=[{**copy.deepcopy(tank), "id": each} for each in tanks],
            components=[],
            segments=[],
        )

    def part(self, name: str, kind: str, height_in: float, **facts: Any) -> str:
        """One component; `facts` replace those of the example's component of its kind."""
        plain = {"compartment": "ENGINE", "reachable": True}
        held = copy.deepcopy(self.parts[OF_KIND[kind]]) if kind in OF_KIND else plain
        held.update(id=name, kind=kind, height_in=height_in, **facts)
        self.data["components"].append(held)
        self.heights[name] = height_in
        return name

    def run(self, service: str, start: str, end: str, dips: Route = (), **facts: Any) -> None:
        """A segment from one component to another by way of `dips`, in inches."""
        at = dips[-1][0] + 24 if dips else 30
        route = [[0, self.heights[start]], *map(list, dips), [at, self.heights[end]]]
        held = copy.deepcopy(self.runs[OF_SERVICE[service]])
        name = f"S{len(self.data['segments']) + 1}"
        held.update({"id": name, "service": service, "from": start, "to": end})
        held.update(route=route, length_in=at)
        held.update(facts)
        self.data["segments"].append(held)


def _openings(survey: Survey, tank: str) -> None:
    """A fill, and a vent in two runs: three segments."""
    fill = survey.part(f"{tank}-DECK", "deck_fill", 41)
    survey.run("fill", fill, survey.part(f"{tank}-F", "fill_spud", 7, tank=tank))
    nipple = survey.part(f"{tank}-V", "vent_nipple", 7, tank=tank)
    loop = survey.part(f"{tank}-LOOP", "tee", 38)
    survey.run("vent", nipple, loop, [(20, 14), (32, 12)])
    survey.run("vent", loop, survey.part(f"{tank}-OUT", "vent_fitting", 36))


def _branched_feed(survey: Survey, name: str, tank: str, engine: str, valve: str) -> None:
    """A chain from the tank to a tee, and a branch to each of two pumps: six segments."""
    facts = {"engine": engine}
    start = survey.part(f"{name}-P", "withdrawal", 7, tank=tank, anti_siphon=valve)
    hand = survey.part(f"{name}-HAND", "shutoff_valve", 4)
    survey.run("feed", start, hand, [(20, -6), (40, -5)], **facts)
    filter_ = survey.part(f"{name}-FLT", "filter", 9)
    survey.run("feed", hand, filter_, [(12, -2), (30, 6), (44, 3)], **facts)
    tee = survey.part(f"{name}-TEE", "tee", 6)
    survey.run("feed", filter_, tee, [(14, 11), (28, 2)], **facts)
    bulb = survey.part(f"{name}-BULB", "primer_bulb", 12, contents_ml=45, priming_only=False)
    survey.run("feed", tee, bulb, [(10, 1)], **facts)
    survey.run("feed", bulb, survey.part(f"{name}-A", "fuel_pump", 13), [(8, 10)], **facts)
    survey.run("feed", tee, survey.part(f"{name}-B", "fuel_pump", 2), [(18, -3)], **facts)


def _selected_feed(survey: Survey, tanks: Sequence[str], engine: str) -> None:
    """Both tanks through one selector valve to an engine and back: ten segments."""
    facts = {"engine": engine}
    selector = survey.part("SEL", "selector_valve", 5)
    for tank in tanks:
        start = survey.part(f"{tank}-MAIN", "withdrawal", 7, tank=tank)
        hand = survey.part(f"{tank}-HAND", "shutoff_valve", 4)
        survey.run("feed", start, hand, [(20, -6), (40, -5)], **facts)
        survey.run("feed", hand, selector, [(16, -3)], **facts)
    filter_ = survey.part("MAIN-FLT", "filter", 10)
    survey.run("feed", selector, filter_, [(24, -4), (60, 8)], **facts)
    tee = survey.part("MAIN-TEE", "tee", 11)
    survey.run("feed", filter_, tee, [(9, 7)], **facts)
    pump = survey.part("MAIN-PUMP", "fuel_pump", 13)
    survey.run("feed", tee, pump, [(12, 6), (20, 12)], **facts)
    rail = survey.part("MAIN-RAIL", "fuel_rail", 22)
    survey.run("pump_to_carburetor", pump, rail, (), **facts)
    for tank in tanks:
        back = survey.part(f"{tank}-R", "return_fitting", 7, tank=tank, at_bottom=False)
        survey.run("return", rail, back, [(24, 12)], **facts)


def forty_segments() -> Facts:
    """Two tanks with fills and vents, four branched feeds, and one that selects a tank."""
    survey = Survey(("T1", "T2"))
    for tank in ("T1", "T2"):
        _openings(survey, tank)
    for number, (tank, valve) in enumerate(
        (("T1", "spring_valve"), ("T1", "none"), ("T2", "spring_valve"), ("T2", "none")), 1
    ):
        _branched_feed(survey, f"F{number}", tank, "G1", valve)
    _selected_feed(survey, ("T1", "T2"), "E1")
    return survey.data


def _uneven(number: int) -> float:
    """A height from -6 to 6 inches that no other number gives: multiples of the golden ratio."""
    return round(12 * (number * 0.6180339887 % 1) - 6, 4)


def feed_chain(runs: int, *, points: int = 4) -> Facts:
    """One tank and that many feed runs in series, each with a route of `points` points."""
    survey = Survey(("T1",))
    at = survey.part("T1-P", "withdrawal", 7, tank="T1", anti_siphon="none")
    for number in range(1, runs + 1):
        kind = "fuel_pump" if number == runs else "filter"
        end = survey.part(f"C{number}", kind, _uneven(number * points))
        dips = [(10.0 * k, _uneven(number * points + k)) for k in range(1, points - 1)]
        survey.run("feed", at, end, dips, engine="E1")
        at = end
    return survey.data
