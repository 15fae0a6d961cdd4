"""The keys of a component: those of every kind, and those of each."""

from __future__ import annotations

from typing import Final

from fuelsys.document import model
from fuelsys.document.common_fields import (
    COMPARTMENT_KEY,
    DAY,
    FLAG,
    GRADE,
    GROUND,
    ID,
    TANK_KEY,
    flags,
)
from fuelsys.document.shapes import ABOVE_ZERO, NOT_BELOW_ZERO, PERCENT, Choice
from fuelsys.document.table import ByKind, Key, ListOf, Reference, Table, key, measured

_at_tank = (TANK_KEY, key("at_bottom", FLAG))
_opening = (
    measured("opening_head", "length", NOT_BELOW_ZERO, group="opening"),
    measured("opening", "pressure", NOT_BELOW_ZERO, group="opening"),
)
_stop_valve = flags("opens_only_with_ignition", "manual_operation")
_fill_fitting = (
    key("body", Choice(("metal", "plastic"))),
    key("metal_cap_bonded", FLAG),
    key("ground_ohm", GROUND),
    *flags("wetted", "overflow_enters_boat"),
)
_contents = measured("contents", "volume", NOT_BELOW_ZERO)
_drop = (
    measured("drop", "pressure", NOT_BELOW_ZERO),
    measured("drop_flow", "flow", NOT_BELOW_ZERO),
)
_pump = (
    measured("distance_to_engine", "length", NOT_BELOW_ZERO),
    *flags("electric", "only_with_engine", "check_valve"),
)

OWN_KEYS: Final[dict[str, tuple[tuple[Key, ...], ...]]] = {
    "drain_fitting": _at_tank,
    "withdrawal": (
        *_at_tank,
        key("anti_siphon", Choice(("none", "spring_valve", "electric_stop_valve"))),
        *_opening,
        measured("dip_tube_length", "length", NOT_BELOW_ZERO),
        measured("dip_tube_inside_diameter", "length", ABOVE_ZERO),
        *_stop_valve,
    ),
    "fill_spud": (*_at_tank, *_fill_fitting),
    "vent_nipple": _at_tank,
    "return_fitting": _at_tank,
    "deck_fill": _fill_fitting,
    "vent_fitting": flags("flame_arrester", "arrester_cleanable", "overflow_enters_boat"),
    "anti_siphon_valve": _opening,
    "shutoff_valve": flags("operable_from_outside", "at_tank_connection", "at_engine_inlet"),
    "electric_stop_valve": _stop_valve,
    "filter": (
        key("own_support", FLAG),
        key(
            "service_plug",
            Choice(("tapered_thread", "locked_screw", "split_washer", "other", "none")),
        ),
        _contents,
        measured("drains", "share", PERCENT),
        *_drop,
    ),
    "primer_bulb": (
        *flags("epa_label", "priming_only"),
        _contents,
        *_drop,
        *flags("goes_firm", "arrow_toward_engine"),
        *GRADE,
    ),
    "fuel_pump": _pump,
    "transfer_pump": _pump,
    "engine_inlet": (),
    "carburetor": (),
    "fuel_rail": (),
    "vapor_separator": (),
    "tee": (),
    "selector_valve": (key("open_to", ListOf(Reference("the id of a segment", to="segments"))),),
    "connector": (key("self_sealing", FLAG),),
    "canister": (),
}
KINDS: Final = tuple(OWN_KEYS)

COMMON_KEYS: Final = (
    ID,
    key("kind", Choice(KINDS), required=True),
    measured("height", "length"),
    measured("aft", "length"),
    measured("starboard", "length"),
    key("made", DAY),
    COMPARTMENT_KEY,
    key("reachable", FLAG),
)


def _owners() -> dict[str, str]:
    owners: dict[str, list[str]] = {}
    for kind, groups in OWN_KEYS.items():
        for group in groups:
            for each in group:
                owners.setdefault(each.name, []).append(kind)
    return {name: ", ".join(kinds) for name, kinds in owners.items()}


def _component(what: str, own: tuple[tuple[Key, ...], ...]) -> Table:
    return Table(
        what,
        model.Component,
        (*COMMON_KEYS, *own),
        listed="components",
        elsewhere=_owners(),
    )


COMPONENT = ByKind(
    {kind: _component(f"the kind {kind}", own) for kind, own in OWN_KEYS.items()},
    _component("a component", tuple(group for own in OWN_KEYS.values() for group in own)),
)
