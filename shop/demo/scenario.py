"""The demonstration data as it is packaged: read once, checked by the services that store it."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"


@cache
def scenario() -> dict[str, Any]:
    loaded: dict[str, Any] = _read("scenario.json")
    return loaded


@cache
def quotes() -> list[dict[str, Any]]:
    loaded: list[dict[str, Any]] = _read("quotes.json")
    return loaded


@cache
def work() -> dict[str, Any]:
    """Reels received, and what was recorded in the yard."""
    loaded: dict[str, Any] = _read("work.json")
    return loaded


def boat_document(name: str, state: str) -> dict[str, Any]:
    """The fuel-system document of a boat, "found" or "proposed"."""
    loaded: dict[str, Any] = _read(f"{name}-{state}.json")
    return loaded


def _read(name: str) -> Any:
    return json.loads((DATA / name).read_text(encoding="utf-8"))
