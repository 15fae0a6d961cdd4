"""Every key of the `fuel-system/1` document, declared once.

Reading, normalising, the messages and the published JSON Schema all follow from
these tables. A key is added here, a component's in `component_fields.py`, and its attribute in
`model.py`.
"""

from __future__ import annotations

from typing import Final

from fuelsys.document import model
from fuelsys.document.agree import hose_agree, segment_agree
from fuelsys.document.common_fields import (
    ANY_NUMBER,
    COMPARTMENT_KEY,
    DAY,
    FLAG,
    FUEL_KIND,
    GRADE,
    GROUND,
    ID,
    TANK_KEY,
    WORDS,
    YEAR,
    flags,
)
from fuelsys.document.component_fields import COMPONENT as COMPONENT  # every table is read here
from fuelsys.document.component_fields import KINDS as KINDS
from fuelsys.document.component_fields import OWN_KEYS as OWN_KEYS
from fuelsys.document.shapes import (
    ABOVE_ZERO,
    NOT_BELOW_ZERO,
    PERCENT,
    Choice,
    Whole,
)
from fuelsys.document.table import (
    ListOf,
    Policy,
    Reference,
    Route,
    Table,
    key,
    measured,
)

FORMAT: Final = "fuel-system/1"

BOAT = Table(
    "the boat",
    model.Boat,
    (
        key("kind", Choice(("motorboat", "personal_watercraft"))),
        key("hin", WORDS),
        key("built", DAY),
        key("model_year", YEAR),
        measured("length", "length", ABOVE_ZERO),
        measured("beam", "length", ABOVE_ZERO),
        key("exemption_recorded", FLAG),
        key("market", Choice(("US", "CA", "EU"))),
        *flags("open_boat", "commercial"),
        key("passengers", Whole()),
        key("blower_label", FLAG),
        key("water", Choice(("salt", "fresh", "both"))),
        *flags("fuel_leak", "fuel_in_bilge"),
    ),
)

ENGINE = Table(
    "an engine",
    model.Engine,
    (
        ID,
        key("mount", Choice(("outboard", "sterndrive", "inboard", "jet"))),
        key("fuel", FUEL_KIND),
        key("use", Choice(("propulsion", "generator", "mechanical"))),
        key("portable", FLAG),
        key("model_year", YEAR),
        measured("rated_power", "power", ABOVE_ZERO),
        key("metering", Choice(("carburetor", "injection"))),
        key("flexible_fuel", FLAG),
        measured("inlet_vacuum_limit", "pressure", NOT_BELOW_ZERO),
        measured("supply_flow", "flow", NOT_BELOW_ZERO),
        measured("minimum_bore", "length", ABOVE_ZERO),
        *flags("backfire_flame_control", "cranking_motor"),
        COMPARTMENT_KEY,
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
        key("age_months", ANY_NUMBER),
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
        ID,
        key(
            "kind",
            Choice(
                ("open_deck", "engine", "tank", "bilge", "locker", "cabin", "under_cowl", "other")
            ),
        ),
        measured("net_volume", "volume", NOT_BELOW_ZERO),
        measured("open_area", "area", NOT_BELOW_ZERO),
        measured("blower_rated", "flow", NOT_BELOW_ZERO),
        *flags("sun", "unprotected_electrics"),
        measured("supply_opening", "area", NOT_BELOW_ZERO),
        measured("exhaust_opening", "area", NOT_BELOW_ZERO),
        key("supply_from_outside", FLAG),
        measured("blower_output", "flow", NOT_BELOW_ZERO),
        *flags("intake_in_lower_third", "exhaust_in_lower_third", "openings_above_bilge_water"),
        measured("terminal_area", "share", NOT_BELOW_ZERO),
        key("open_to", ListOf(OPENING)),
    ),
    listed="compartments",
)

TANK = Table(
    "a tank",
    model.Tank,
    (
        ID,
        key("installed", FLAG),
        key("fuel", FUEL_KIND),
        measured("capacity", "volume", ABOVE_ZERO),
        measured("label_pressure", "pressure", NOT_BELOW_ZERO),
        measured("bottom", "length"),
        measured("top", "length"),
        measured("surface", "length"),
        measured("lowest_usable", "length"),
        key("label_legible", FLAG),
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
        key("coated", FLAG),
        key("encased_in", Choice(("none", "foam", "fiberglass"))),
        key("integral", FLAG),
        measured("movement", "length", NOT_BELOW_ZERO),
        key("ground_ohm", GROUND),
        measured("permeation", "permeation", NOT_BELOW_ZERO),
        measured("relief", "pressure", NOT_BELOW_ZERO),
        key("made", DAY),
        key("installed_on", DAY),
        COMPARTMENT_KEY,
        measured("plan_area", "area", ABOVE_ZERO),
    ),
    listed="tanks",
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
        key("cuts_hose", FLAG),
        key("condition", Choice(("sound", "rusted", "loose"))),
        *flags("engine_maker_part", "adjacent"),
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
        key("reachable", FLAG),
    ),
)

HOSE = Table(
    "a hose",
    model.Hose,
    (
        key("marking", WORDS),
        key("class", Choice(("A1", "A2", "B1", "B2", "none")), attribute="mark"),
        *flags("low_permeation", "epa_label"),
        key("made", YEAR),
        key("maker_marked", FLAG),
        measured("marking_interval", "length", NOT_BELOW_ZERO),
        measured("marking_height", "length", NOT_BELOW_ZERO),
        measured("inside_diameter", "length", ABOVE_ZERO),
        measured("outside_diameter", "length", ABOVE_ZERO),
        measured("minimum_bend_radius", "length", NOT_BELOW_ZERO),
        *flags("for_clamps", "wire_helix", "lined"),
        measured("working_pressure", "pressure", NOT_BELOW_ZERO),
        key("cover", WORDS),
        measured("smallest_bend_radius", "length", NOT_BELOW_ZERO),
        *GRADE,
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
        key("seamless_annealed", FLAG),
        measured("wall", "length", ABOVE_ZERO),
        key("corrugated", FLAG),
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
        ID,
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
        *flags("part_of_outboard", "portable", "detection_tube", "engine_maker_part"),
        key("engine", Reference("the id of an engine", to="engines")),
        measured("line_pressure", "pressure"),
        key("wet_after_fill", FLAG),
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
        TANK_KEY,
        measured("pressure", "pressure"),
        measured("hold", "time", NOT_BELOW_ZERO),
        measured("drop", "pressure"),
        key("gas", Choice(("air", "inert", "liquid"))),
        key("joints_dry", FLAG),
        key("on", DAY),
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
