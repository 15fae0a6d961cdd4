"""Documents for tests: the six examples of the contract, and a small one to change."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

EXAMPLES = Path(__file__).with_name("examples")
NAMES = tuple(sorted(path.stem for path in EXAMPLES.glob("*.json")))

SMALL: dict[str, Any] = {
    "format": "fuel-system/1",
    "boat": {"kind": "motorboat", "built": "2008-03", "length_ft": 24},
    "engines": [{"id": "E1", "mount": "sterndrive", "fuel": "gasoline"}],
    "fuel": {"ethanol_pct": 10},
    "compartments": [{"id": "ER", "kind": "engine"}, {"id": "TS", "kind": "tank"}],
    "tanks": [{"id": "T1", "capacity_gal": 60, "top_in": 18, "bottom_in": 4, "compartment": "TS"}],
    "components": [
        {"id": "P", "kind": "withdrawal", "height_in": 19, "tank": "T1"},
        {"id": "FLT", "kind": "filter", "height_in": 12, "contents_ml": 300},
        {"id": "SEL", "kind": "selector_valve", "open_to": ["S1"]},
        {"id": "PUMP", "kind": "fuel_pump", "height_in": 16},
    ],
    "segments": [
        {
            "id": "S1",
            "service": "feed",
            "from": "P",
            "to": "FLT",
            "length_in": 60,
            "route": [[0, 19], [30, 2], [60, 12]],
            "compartments": ["TS", "ER"],
            "engine": "E1",
            "hose": {"class": "A1", "inside_diameter_in": "3/8", "observations": ["chafed"]},
            "from_end": {"securing": "clamps", "clamps": [{"kind": "worm_drive"}]},
        },
        {"id": "S2", "service": "feed", "from": "FLT", "to": "PUMP"},
    ],
    "policy": {"practice-five-ounce": "count"},
    "tests": [{"kind": "leak", "tank": "T1", "pressure_psi": 3, "hold_min": 5, "on": "2026-05"}],
}


def example_text(name: str) -> str:
    return (EXAMPLES / f"{name}.json").read_text(encoding="utf-8")


def example(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(example_text(name))
    return data


def small() -> dict[str, Any]:
    """A fresh copy of the small document."""
    return copy.deepcopy(SMALL)


def changed(*steps: str | int, to: Any) -> dict[str, Any]:
    """The small document with the value at the end of `steps` put there or replaced."""
    data = small()
    at: Any = data
    for step in steps[:-1]:
        at = at[step]
    at[steps[-1]] = to
    return data
