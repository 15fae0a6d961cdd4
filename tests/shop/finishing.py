"""Work carried through to its last test, for tests of what comes after."""

from __future__ import annotations

from typing import Any

from shop.selectors.items import planned_items
from shop.services.events import desk_event
from shop.work.safe import READS_LEL, STEPS
from tests.shop.working import NOW, Yard

# Cut lengths: the surveyed run and an inch of trim.
CUTS = {
    "S1": ("RL-1", "55"),
    "S2": ("RL-2", "89"),
    "S3": ("RL-3", "65"),
    "S4": ("RL-3", "31"),
    "S6": ("RL-4", "93"),
    "S7": ("RL-5", "17"),
}
TESTS: dict[str, dict[str, Any]] = {
    "leak:T1": {
        "pressure_psi": "3.0",
        "gauge_psi": "5",
        "wait_min": "11",
        "drop_psi": "0.0",
        "gas": "inert",
        "scope": "system",
        "fuel_wet": False,
        "joints_dry": True,
    },
    "ground:FILL": {"ohm": "0.5"},
    "vacuum:E1": {"inhg": "1.4"},
    "vacuum:G1": {"inhg": "1.0"},
    "vapor:boat": {"lel_pct": "0"},
    "run:E1": {"minutes": "20", "dry": True, "load": "Idle to 3000 rpm"},
    "run:G1": {"minutes": "15", "dry": True, "load": "Half load"},
}


def record(yard: Yard, kind: str, segment: str = "", text: str = "", **payload: Any) -> str:
    """One act at the desk by the technician; by the lead where only a lead may."""
    member = yard.shop.lead if kind in ("waive", "decide") else yard.tech
    return desk_event(
        member=member,
        work_order=yard.work_order,
        kind=kind,
        segment=segment,
        payload=payload,
        text=text,
        now=NOW,
    )


def make_safe(yard: Yard) -> None:
    for step in STEPS:
        reading = {"lel_pct": "0"} if step.key in READS_LEL else {}
        record(yard, "step", step=step.key, **reading)


def drain(yard: Yard) -> None:
    record(yard, "fuel", moved_gal="44", kept_gal="41", wasted_gal="3")


def fit_all(yard: Yard) -> None:
    for ident, (reel, cut_in) in CUTS.items():
        record(yard, "tick", ident, reel=reel, cut_in=cut_in)
    record(yard, "tick", "S5")
    fit_parts(yard)


def fit_parts(yard: Yard) -> None:
    """Valve, filter element, and what change orders added."""
    for ident, item in planned_items(yard.work_order).items():
        at = {"component": item.pick_ups[0]} if item.pick_ups and not item.place else {}
        record(yard, "tick", ident, **at)


def run_tests(yard: Yard) -> None:
    for key, reading in TESTS.items():
        record(yard, "reading", test=key, **reading)


def finish(yard: Yard) -> None:
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    run_tests(yard)
