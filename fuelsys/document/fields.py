"""Every key of the `fuel-system/1` document, declared once.

Reading, normalising, the messages and the published JSON Schema all follow from
these tables. A key is added here, and its attribute in `model.py`.
"""

from __future__ import annotations

from typing import Final

from fuelsys.document import model
from fuelsys.document.agree import hose_agree, segment_agree
from fuelsys.document.shapes import (
    ABOVE_ZERO,
    NOT_BELOW_ZERO,
    PERCENT,
    Choice,
    Day,
    Flag,
    Name,
    NumberOr,
    Quantity,
    Whole,
    Words,
    Year,
)
from fuelsys.document.table import (
    ByKind,
    Key,
    ListOf,
    Policy,
    Reference,
    Route,
    Table,
    key,
    measured,
)
from fuelsys.units import UNITS

FORMAT: Final = "fuel-system/1"

_flag, _words, _day, _year = Flag(), Words(), Day(), Year()
_any_number = Quantity(within=NOT_BELOW_ZERO)
_ground = NumberOr(Quantity(UNITS["ohm"], NOT_BELOW_ZERO), "open")
_fuel = Choice(("gasoline", "diesel"))
_compartment = key("compartment", Reference("the id of a compartment", to="compartments"))
_tank = key("tank", Reference("the id of a tank", to="tanks"))
_id = key("id", Name(), required=True)

CONDITIONS: Final = ("good", "watch", "replace_soon", "replace_now", "do_not_run", "not_seen")
OBSERVATIONS: Final = (
    "hardened",
    "crazed",
    "cracked",
    "swollen",
    "delaminated",
    "collapsed",
    "kinked",
    "chafed",
    "weeping",
    "permeating",
    "chalked",
    "band_cut",
    "burned",
)


def _flags(*names: str) -> tuple[tuple[Key, ...], ...]:
    return tuple(key(name, _flag) for name in names)


_grade = (
    key("condition", Choice(CONDITIONS)),
    key("observations", ListOf(Choice(OBSERVATIONS))),
)

BOAT = Table(
    "the boat",
    model.Boat,
    (
        key("kind", Choice(("motorboat", "personal_watercraft"))),
        key("hin", _words),
        key("built", _day),
        key("model_year", _year),
        measured("length", "length", ABOVE_ZERO),
        measured("beam", "length", ABOVE_ZERO),
        key("exemption_recorded", _flag),
        key("market", Choice(("US", "CA", "EU"))),
        *_flags("open_boat", "commercial"),
        key("passengers", Whole()),
        key("blower_label", _flag),
        key("water", Choice(("salt", "fresh", "both"))),
        *_flags("fuel_leak", "fuel_in_bilge"),
    ),
)

ENGINE = Table(
    "an engine",
    model.Engine,
    (
        _id,
        key("mount", Choice(("outboard", "sterndrive", "inboard", "jet"))),
        key("fuel", _fuel),
        key("use", Choice(("propulsion", "generator", "mechanical"))),
        key("portable", _flag),
        key("model_year", _year),
        measured("rated_power", "power", ABOVE_ZERO),
        key("metering", Choice(("carburetor", "injection"))),
        key("flexible_fuel", _flag),
        measured("inlet_vacuum_limit", "pressure", NOT_BELOW_ZERO),
        measured("supply_flow", "flow", NOT_BELOW_ZERO),
        measured("minimum_bore", "length", ABOVE_ZERO),
        *_flags("backfire_flame_control", "cranking_motor"),
        _compartment,
    ),
    listed="engines",
)

FUEL = Table(
    "the fuel",
    model.Fuel,
    (
        measured("ethanol", "share", PERCENT),
        measured("rvp", "pressure", NOT_BELOW_ZERO),
        measured("temperature", "temperature"),
        measured("fill_rate", "flow", NOT_BELOW_ZERO),
        key("age_months", _any_number),
    ),
)

OPENING = Table(
    "an opening to another compartment",
    model.Opening,
    (
        key(
            "compartment",
            Reference("the id of a compartment", to="compartments"),
            required=True,
        ),
        measured("share", "share", PERCENT),
    ),
)

COMPARTMENT = Table(
    "a compartment",
    model.Compartment,
    (
        _id,
        key(
            "kind",
            Choice(
                ("open_deck", "engine", "tank", "bilge", "locker", "cabin", "under_cowl", "other")
            ),
        ),
        measured("net_volume", "volume", NOT_BELOW_ZERO),
        measured("open_area", "area", NOT_BELOW_ZERO),
        measured("blower_rated", "flow", NOT_BELOW_ZERO),
        *_flags("sun", "unprotected_electrics"),
        measured("supply_opening", "area", NOT_BELOW_ZERO),
        measured("exhaust_opening", "area", NOT_BELOW_ZERO),
        key("supply_from_outside", _flag),
        measured("blower_output", "flow", NOT_BELOW_ZERO),
        *_flags("intake_in_lower_third", "exhaust_in_lower_third", "openings_above_bilge_water"),
        measured("terminal_area", "share", NOT_BELOW_ZERO),
        key("open_to", ListOf(OPENING)),
    ),
    listed="compartments",
)

TANK = Table(
    "a tank",
    model.Tank,
    (
        _id,
        key("installed", _flag),
        key("fuel", _fuel),
        measured("capacity", "volume", ABOVE_ZERO),
        measured("label_pressure", "pressure", NOT_BELOW_ZERO),
        measured("bottom", "length"),
        measured("top", "length"),
        measured("surface", "length"),
        measured("lowest_usable", "length"),
        key("label_legible", _flag),
        key(
            "material",
            Choice(
                (
                    "aluminum",
                    "steel",
                    "stainless_steel",
                    "carbon_steel",
                    "terneplate",
                    "plastic",
                    "fiberglass",
                    "other",
                )
            ),
        ),
        key("coated", _flag),
        key("encased_in", Choice(("none", "foam", "fiberglass"))),
        key("integral", _flag),
        measured("movement", "length", NOT_BELOW_ZERO),
        key("ground_ohm", _ground),
        measured("permeation", "permeation", NOT_BELOW_ZERO),
        measured("relief", "pressure", NOT_BELOW_ZERO),
        key("made", _day),
        key("installed_on", _day),
        _compartment,
        measured("plan_area", "area", ABOVE_ZERO),
    ),
    listed="tanks",
)

_at_tank = (_tank, key("at_bottom", _flag))
_opening = (
    measured("opening_head", "length", NOT_BELOW_ZERO, group="opening"),
    measured("opening", "pressure", NOT_BELOW_ZERO, group="opening"),
)
_stop_valve = _flags("opens_only_with_ignition", "manual_operation")
_fill_fitting = (
    key("body", Choice(("metal", "plastic"))),
    key("metal_cap_bonded", _flag),
    key("ground_ohm", _ground),
    *_flags("wetted", "overflow_enters_boat"),
)
_contents = measured("contents", "volume", NOT_BELOW_ZERO)
_drop = (
    measured("drop", "pressure", NOT_BELOW_ZERO),
    measured("drop_flow", "flow", NOT_BELOW_ZERO),
)
_pump = (
    measured("distance_to_engine", "length", NOT_BELOW_ZERO),
    *_flags("electric", "only_with_engine", "check_valve"),
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
    "vent_fitting": _flags("flame_arrester", "arrester_cleanable", "overflow_enters_boat"),
    "anti_siphon_valve": _opening,
    "shutoff_valve": _flags("operable_from_outside", "at_tank_connection", "at_engine_inlet"),
    "electric_stop_valve": _stop_valve,
    "filter": (
        key("own_support", _flag),
        key(
            "service_plug",
            Choice(("tapered_thread", "locked_screw", "split_washer", "other", "none")),
        ),
        _contents,
        measured("drains", "share", PERCENT),
        *_drop,
    ),
    "primer_bulb": (
        *_flags("epa_label", "priming_only"),
        _contents,
        *_drop,
        *_flags("goes_firm", "arrow_toward_engine"),
        *_grade,
    ),
    "fuel_pump": _pump,
    "transfer_pump": _pump,
    "engine_inlet": (),
    "carburetor": (),
    "fuel_rail": (),
    "vapor_separator": (),
    "tee": (),
    "selector_valve": (key("open_to", ListOf(Reference("the id of a segment", to="segments"))),),
    "connector": (key("self_sealing", _flag),),
    "canister": (),
}
KINDS: Final = tuple(OWN_KEYS)

COMMON_KEYS: Final = (
    _id,
    key("kind", Choice(KINDS), required=True),
    measured("height", "length"),
    measured("aft", "length"),
    measured("starboard", "length"),
    key("made", _day),
    _compartment,
    key("reachable", _flag),
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

CLAMP = Table(
    "a clamp",
    model.Clamp,
    (
        key(
            "kind",
            Choice(
                ("worm_drive", "solid_band", "t_bolt", "constant_tension", "ear", "spring", "tie")
            ),
        ),
        key("action", Choice(("screw", "crimped", "spring", "tie"))),
        measured("band_width", "length", ABOVE_ZERO),
        key("band", Choice(("smooth", "perforated"))),
        key("band_material", Choice(("stainless", "plated_steel", "plastic"))),
        key("screw_material", Choice(("stainless", "plated_steel", "plastic"))),
        key(
            "seat",
            Choice(("beyond_bead", "over_grooves", "on_fitting", "on_bead", "off_fitting")),
        ),
        key("cuts_hose", _flag),
        key("condition", Choice(("sound", "rusted", "loose"))),
        *_flags("engine_maker_part", "adjacent"),
        measured("minimum_diameter", "length", NOT_BELOW_ZERO),
        measured("maximum_diameter", "length", ABOVE_ZERO),
    ),
)

END = Table(
    "an end of a segment",
    model.End,
    (
        measured("minor_outside_diameter", "length", ABOVE_ZERO),
        key("shape", Choice(("bead", "flare", "annular_grooves", "helical", "smooth"))),
        measured("groove_depth", "length", NOT_BELOW_ZERO),
        key("securing", Choice(("clamps", "swaged_sleeve", "sleeve_and_insert", "none"))),
        key("clamps", ListOf(CLAMP)),
        key("reachable", _flag),
    ),
)

HOSE = Table(
    "a hose",
    model.Hose,
    (
        key("marking", _words),
        key("class", Choice(("A1", "A2", "B1", "B2", "none")), attribute="mark"),
        *_flags("low_permeation", "epa_label"),
        key("made", _year),
        key("maker_marked", _flag),
        measured("marking_interval", "length", NOT_BELOW_ZERO),
        measured("marking_height", "length", NOT_BELOW_ZERO),
        measured("inside_diameter", "length", ABOVE_ZERO),
        measured("outside_diameter", "length", ABOVE_ZERO),
        measured("minimum_bend_radius", "length", NOT_BELOW_ZERO),
        *_flags("for_clamps", "wire_helix", "lined"),
        measured("working_pressure", "pressure", NOT_BELOW_ZERO),
        key("cover", _words),
        measured("smallest_bend_radius", "length", NOT_BELOW_ZERO),
        *_grade,
    ),
    agree=hose_agree,
)

METAL_LINE = Table(
    "a metal line",
    model.MetalLine,
    (
        key(
            "material",
            Choice(("copper", "nickel_copper", "copper_nickel", "aluminum", "steel", "other")),
        ),
        key("seamless_annealed", _flag),
        measured("wall", "length", ABOVE_ZERO),
        key("corrugated", _flag),
        measured("anchor_distance", "length", NOT_BELOW_ZERO),
        measured("inside_diameter", "length", ABOVE_ZERO),
    ),
)

_component_id = Reference("the id of a component", to="components")
_compartment_id = Reference("the id of a compartment", to="compartments")

SEGMENT = Table(
    "a segment",
    model.Segment,
    (
        _id,
        key(
            "service",
            Choice(("feed", "pump_to_carburetor", "fill", "vent", "return", "transfer")),
            required=True,
        ),
        key("from", _component_id, attribute="from_id", required=True),
        key("to", _component_id, attribute="to_id", required=True),
        measured("length", "length", ABOVE_ZERO),
        key("route", Route()),
        key("route_unit", Choice(("in", "mm"))),
        key("compartment", _compartment_id, group="compartments"),
        key("compartments", ListOf(_compartment_id)),
        *_flags("part_of_outboard", "portable", "detection_tube", "engine_maker_part"),
        key("engine", Reference("the id of an engine", to="engines")),
        measured("line_pressure", "pressure"),
        key("wet_after_fill", _flag),
        key("hose", HOSE, group="line"),
        key("metal_line", METAL_LINE, group="line"),
        key("from_end", END),
        key("to_end", END),
    ),
    listed="segments",
    agree=segment_agree,
)

LEAK_TEST = Table(
    "a test",
    model.LeakTest,
    (
        key("kind", Choice(("leak",)), required=True),
        _tank,
        measured("pressure", "pressure"),
        measured("hold", "time", NOT_BELOW_ZERO),
        measured("drop", "pressure"),
        key("gas", Choice(("air", "inert", "liquid"))),
        key("joints_dry", _flag),
        key("on", _day),
    ),
)

DOCUMENT = Table(
    "the document",
    model.Document,
    (
        key("format", Choice((FORMAT,)), required=True),
        key("boat", BOAT),
        key("engines", ListOf(ENGINE)),
        key("fuel", FUEL),
        key("compartments", ListOf(COMPARTMENT)),
        key("tanks", ListOf(TANK)),
        key("components", ListOf(COMPONENT)),
        key("segments", ListOf(SEGMENT)),
        key("policy", Policy(Choice(("off", "advice", "count")))),
        key("tests", ListOf(LEAK_TEST)),
    ),
)
