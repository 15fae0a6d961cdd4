"""Boats to choose hose for: one segment of each service on a sterndrive, all facts known."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

from fuelsys.choice import Judge
from fuelsys.document import read_object
from tests.fuelsys.documents import example

ON = date(2026, 11, 25)

END = {"shape": "bead", "minor_outside_diameter_in": 0.375, "reachable": True}
CLAMP = {
    "kind": "worm_drive",
    "action": "screw",
    "band_width_in": 0.5,
    "band": "smooth",
    "band_material": "stainless",
    "screw_material": "stainless",
    "seat": "beyond_bead",
    "cuts_hose": False,
    "condition": "sound",
}
HOSE = {
    "class": "A1",
    "low_permeation": True,
    "epa_label": False,
    "made": 2026,
    "maker_marked": True,
    "marking_interval_in": 10,
    "marking_height_in": 0.25,
    "inside_diameter_in": 0.375,
    "for_clamps": True,
    "condition": "good",
}


def second_helping(state: str = "found") -> dict[str, Any]:
    return example(f"second-helping-{state}")


def run_of(data: dict[str, Any], ident: str) -> dict[str, Any]:
    return next(run for run in data["segments"] if run["id"] == ident)


def part_of(data: dict[str, Any], ident: str) -> dict[str, Any]:
    return next(part for part in data["components"] if part["id"] == ident)


def judge_of(data: dict[str, Any]) -> Judge:
    return Judge(read_object(data), ON)


def by_shutoffs(valve: str = "none") -> dict[str, Any]:
    """
    TANK top 8 ─ P 9 ─[N]─ V 9 ──S1── FLT 4 ──S2── ENG 14      V: hand shutoff at the tank

    33 CFR 183.568(c): the tank top lies below the inlet, the shutoff is at the tank and worked
    from outside, the line is 11 ft 6 in; what is left to ask is type A1 all along.
    """
    run = {"service": "feed", "compartments": ["ER"], "engine": "E1"}
    ends = {"from_end": _end(), "to_end": _end()}
    return {
        "format": "fuel-system/1",
        "boat": {"kind": "motorboat", "built": "2008-03", "length_ft": 27},
        "engines": [
            {"id": "E1", "mount": "sterndrive", "fuel": "gasoline", "use": "propulsion",
             "metering": "carburetor", "model_year": 2008}
        ],
        "compartments": [{"id": "ER", "kind": "engine", "sun": False}],
        "tanks": [{"id": "T1", "fuel": "gasoline", "top_in": 8, "surface_in": 7, "bottom_in": 0,
                   "capacity_gal": 40, "installed_on": "2008-03"}],
        "components": [
            {"id": "P", "kind": "withdrawal", "height_in": 9, "tank": "T1", "at_bottom": False,
             "anti_siphon": valve},
            {"id": "V", "kind": "shutoff_valve", "height_in": 9, "at_tank_connection": True,
             "operable_from_outside": True},
            {"id": "FLT", "kind": "filter", "height_in": 4, "contents_ml": 100, "drains_pct": 0},
            {"id": "ENG", "kind": "fuel_pump", "height_in": 14, "check_valve": True},
        ],
        "segments": [
            {**run, "id": "N", "from": "P", "to": "V", "length_in": 2,
             "route": [[0, 9], [2, 9]],
             "metal_line": {"material": "copper", "seamless_annealed": True, "wall_in": 0.035,
                            "inside_diameter_in": 0.375}},
            {**run, **copy.deepcopy(ends), "id": "S1", "from": "V", "to": "FLT", "length_in": 80,
             "route": [[0, 9], [80, 4]], "hose": dict(HOSE)},
            {**run, **copy.deepcopy(ends), "id": "S2", "from": "FLT", "to": "ENG",
             "length_in": 56, "route": [[0, 4], [56, 14]], "hose": dict(HOSE)},
        ],
    }  # fmt: skip


def _end() -> dict[str, Any]:
    return {**END, "securing": "clamps", "clamps": [dict(CLAMP)]}
