"""Which work asks for which test again, on a boat with two fills, one of them joined on its way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from fuelsys.document import read_object
from shop.selectors.items import Item
from shop.selectors.trial_work import fill_parts, work_since
from shop.work.fold import fold
from shop.work.judging import GROUND, VAPOR, Asked
from tests.shop.work.test_fold import event
from tests.shop.work.test_judging import TITLE

RUNS = {
    "S1": ("fill", "FILL-P", "JOINT"),
    "S2": ("fill", "JOINT", "T1-F"),
    "S3": ("fill", "FILL-S", "T2-F"),
    "S4": ("vent", "JOINT", "VENT"),
    "S5": ("transfer", "T1-P", "T2-P"),
    "S6": ("feed", "T2-P", "ENG"),
}
ENGINE = {"S6": {"engine": "E1"}}
TANKS = {"T1-F": "T1", "T1-P": "T1", "T2-F": "T2", "T2-P": "T2"}
KINDS = {
    **{ident: {"kind": "fill_spud"} for ident in ("T1-F", "T2-F")},
    **{ident: {"kind": "withdrawal"} for ident in ("T1-P", "T2-P")},
    **{ident: {"kind": "deck_fill"} for ident in ("FILL-P", "FILL-S")},
    "JOINT": {"kind": "tee"},
    "VENT": {"kind": "vent_fitting"},
    "ENG": {"kind": "engine_inlet"},
}
BOAT = read_object(
    {
        "format": "fuel-system/1",
        "tanks": [{"id": "T1"}, {"id": "T2"}],
        "engines": [{"id": "E1"}],
        "components": [
            {"id": ident, **kind, **({"tank": TANKS[ident]} if ident in TANKS else {})}
            for ident, kind in KINDS.items()
        ],
        "segments": [
            {"id": ident, "service": service, "from": start, "to": end, **ENGINE.get(ident, {})}
            for ident, (service, start, end) in RUNS.items()
        ],
    }
)
PORT, STARBOARD = (Asked(f"ground:{fill}", GROUND, fill, TITLE) for fill in ("FILL-P", "FILL-S"))
VAPOR_TEST = Asked("vapor:boat", VAPOR, "boat", TITLE)


def item(place: str = "") -> Item:
    return Item("Q.1", "part", "F-1", "A part", Decimal(1), "ea", place=place)


def asks_again(test: Asked, ident: str, items: Mapping[str, Item], **payload: Any) -> bool:
    folded = fold([event("1:1", "tick", ident, **payload)], list(RUNS))
    return bool(work_since(BOAT, test, folded, items))


def test_a_fill_reaches_over_its_joints_to_its_tank_and_no_further() -> None:
    assert fill_parts(BOAT, "FILL-P") == {"FILL-P", "JOINT", "T1-F"}
    assert fill_parts(BOAT, "FILL-S") == {"FILL-S", "T2-F"}


@pytest.mark.parametrize(
    ("ident", "port", "starboard"),
    [
        ("S1", True, False),
        ("S2", True, False),
        ("S3", False, True),
        ("S4", False, False),
        ("S5", False, False),
        ("S6", False, False),
    ],
)
def test_work_on_a_fill_hose_asks_for_its_own_resistance_again(
    ident: str, port: bool, starboard: bool
) -> None:
    assert (asks_again(PORT, ident, {}), asks_again(STARBOARD, ident, {})) == (port, starboard)


@pytest.mark.parametrize(("place", "again"), [("", True), ("FILL-P", True), ("T1-P", False)])
def test_a_part_asks_for_it_at_the_fill_or_where_its_place_is_not_told(
    place: str, again: bool
) -> None:
    assert asks_again(PORT, "Q.1", {"Q.1": item(place)}) is again


@pytest.mark.parametrize(
    ("pick_ups", "named", "again"),
    [
        (("T1-P", "T2-P"), "T1-P", False),
        (("T1-P", "T2-P"), "", True),
        (("T1-P", "T2-P"), "ENG", True),  # no pick-up of this boat
        ((), "T1-P", True),  # no valve: its tick may name what it will
    ],
)
def test_a_tick_is_believed_where_a_valve_names_one_of_its_pick_ups(
    pick_ups: tuple[str, ...], named: str, again: bool
) -> None:
    items = {"Q.1": replace(item(), pick_ups=pick_ups)}
    said = {"component": named} if named else {}
    assert asks_again(PORT, "Q.1", items, **said) is again


@pytest.mark.parametrize("ident", [*RUNS, "Q.1"])
def test_any_work_asks_for_the_vapor_again(ident: str) -> None:
    """The boat has one reading, and each of these opens what holds fuel or its vapor."""
    assert asks_again(VAPOR_TEST, ident, {"Q.1": item("T1-P")})
