"""What the facts of a fuel system and their values are called on screen.

One word for every key of the document, its unit left out, and for every choice. A test holds
both tables against the document's own, so that a new key cannot be forgotten here.
"""

from __future__ import annotations

import re
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from fuelsys.units import UNITS

Words = dict[str, str | Promise]

KEY_WORDS: Final[Words] = {
    # The boat
    "kind": _("Kind"),
    "hin": _("HIN"),
    "built": _("Built"),
    "model_year": _("Model year"),
    "length": _("Length"),
    "beam": _("Beam"),
    "exemption_recorded": _("Exemption letter of the Coast Guard on file"),
    "market": _("Built for"),
    "open_boat": _("Open boat"),
    "commercial": _("Works commercially"),
    "passengers": _("Passengers"),
    "blower_label": _("Blower label at each ignition switch"),
    "water": _("Water she lies in"),
    "fuel_leak": _("Fuel leak seen"),
    "fuel_in_bilge": _("Fuel in the bilge"),
    # Engines
    "mount": _("Mount"),
    "fuel": _("Fuel"),
    "use": _("Use"),
    "portable": _("Portable"),
    "rated_power": _("Rated power"),
    "metering": _("Fuel metering"),
    "flexible_fuel": _("Made for more than 10 % ethanol"),
    "inlet_vacuum_limit": _("Highest vacuum at the inlet"),
    "supply_flow": _("Flow at rated power"),
    "minimum_bore": _("Smallest bore the maker allows"),
    "backfire_flame_control": _("Backfire flame control fitted"),
    "cranking_motor": _("Has a cranking motor"),
    # The fuel
    "ethanol": _("Ethanol"),
    "rvp": _("Reid vapor pressure"),
    "temperature": _("Temperature"),
    "fill_rate": _("Fill rate"),
    "age_months": _("Age, months"),
    # Compartments
    "net_volume": _("Net volume"),
    "open_area": _("Area open to the air"),
    "blower_rated": _("Blower, rated"),
    "sun": _("In the sun"),
    "unprotected_electrics": _("Electrics that are not ignition-protected"),
    "supply_opening": _("Supply opening"),
    "exhaust_opening": _("Exhaust opening"),
    "supply_from_outside": _("Supply comes from outside"),
    "blower_output": _("Blower, measured as installed"),
    "intake_in_lower_third": _("Blower intake in the lower third"),
    "exhaust_in_lower_third": _("Exhaust in the lower third"),
    "openings_above_bilge_water": _("Openings above the bilge water"),
    "terminal_area": _("Area of the duct terminals"),
    "open_to": _("Open to"),
    "share": _("Share of the common area"),
    # Tanks
    "installed": _("Permanently installed"),
    "capacity": _("Capacity"),
    "label_pressure": _("Test pressure on the label"),
    "bottom": _("Bottom"),
    "top": _("Top"),
    "surface": _("Surface at capacity"),
    "lowest_usable": _("Lowest usable level"),
    "label_legible": _("Label legible"),
    "material": _("Material"),
    "coated": _("Coated inside and out"),
    "encased_in": _("Encased in"),
    "integral": _("Part of the hull"),
    "movement": _("Moves at its mounting"),
    "ground_ohm": _("Resistance to ground, ohm"),
    "permeation": _("Permeation"),
    "relief": _("Holds pressure up to"),
    "made": _("Made"),
    "installed_on": _("Installed on"),
    "compartment": _("Compartment"),
    "plan_area": _("Area seen from above"),
    # Components
    "height": _("Height of its ports"),
    "aft": _("Distance aft"),
    "starboard": _("Distance to starboard"),
    "reachable": _("In reach without removing structure"),
    "tank": _("Tank"),
    "at_bottom": _("Enters below the tank top"),
    "anti_siphon": _("Anti-siphon device"),
    "opening_head": _("Opens at, head of fuel"),
    "opening": _("Opens at, pressure"),
    "dip_tube_length": _("Dip tube, length"),
    "dip_tube_inside_diameter": _("Dip tube, bore"),
    "opens_only_with_ignition": _("Opens only with the ignition"),
    "manual_operation": _("Can be opened by hand"),
    "operable_from_outside": _("Worked from outside the compartment"),
    "at_tank_connection": _("At the tank connection"),
    "at_engine_inlet": _("At the engine’s fuel inlet"),
    "body": _("Body"),
    "metal_cap_bonded": _("Metal cap bonded"),
    "wetted": _("Wetted by fuel"),
    "overflow_enters_boat": _("Overflow enters the boat"),
    "flame_arrester": _("Flame arrester"),
    "arrester_cleanable": _("Arrester can be cleaned"),
    "own_support": _("Carried by its own support"),
    "service_plug": _("Drain plug"),
    "contents": _("Contents"),
    "drains": _("Share that drains"),
    "drop": _("Pressure drop"),
    "drop_flow": _("Pressure drop, at a flow of"),
    "epa_label": _("EPA label"),
    "priming_only": _("Used to prime only"),
    "goes_firm": _("Goes firm"),
    "arrow_toward_engine": _("Arrow toward the engine"),
    "condition": _("Condition"),
    "observations": _("Seen"),
    "distance_to_engine": _("Distance to the engine"),
    "electric": _("Electric"),
    "only_with_engine": _("Runs only with the engine"),
    "check_valve": _("Check valve stops backward flow"),
    "self_sealing": _("Seals itself when detached"),
    # Clamps and ends
    "action": _("Closed by"),
    "band_width": _("Band width"),
    "band": _("Band"),
    "band_material": _("Band material"),
    "screw_material": _("Screw material"),
    "seat": _("Seat"),
    "cuts_hose": _("Cuts the hose"),
    "engine_maker_part": _("Engine maker’s part"),
    "adjacent": _("Next to the other clamp"),
    "minimum_diameter": _("Smallest diameter"),
    "maximum_diameter": _("Largest diameter"),
    "minor_outside_diameter": _("Smallest outside diameter under the hose"),
    "shape": _("Shape of the fitting"),
    "groove_depth": _("Depth of the grooves"),
    "securing": _("Secured by"),
    "clamps": _("Clamps"),
    # Hose and metal line
    "marking": _("Marking as printed"),
    "class": _("Type"),
    "low_permeation": _("Low permeation, suffix −15"),
    "maker_marked": _("Maker’s name or mark on it"),
    "marking_interval": _("Marking repeats every"),
    "marking_height": _("Height of the letters"),
    "inside_diameter": _("Bore"),
    "outside_diameter": _("Outside diameter"),
    "minimum_bend_radius": _("Smallest bend the maker allows, radius"),
    "for_clamps": _("Made for clamps"),
    "wire_helix": _("Wire helix"),
    "lined": _("Lined"),
    "working_pressure": _("Working pressure"),
    "cover": _("Cover"),
    "smallest_bend_radius": _("Tightest bend as routed, radius"),
    "seamless_annealed": _("Seamless and annealed"),
    "wall": _("Wall"),
    "corrugated": _("Corrugated"),
    "anchor_distance": _("Distance to the first anchor"),
    # Segments
    "route": _("Route"),
    "route_unit": _("Route’s unit"),
    "compartments": _("Runs through"),
    "part_of_outboard": _("Part of the outboard"),
    "detection_tube": _("Shows a failed pump diaphragm"),
    "engine": _("Serves the engine"),
    "line_pressure": _("Pressure in the line"),
    "wet_after_fill": _("Holds fuel after a normal fill"),
    "hose": _("Hose"),
    "metal_line": _("Metal line"),
    "from_end": _("From end"),
    "to_end": _("To end"),
    # What the shop notes beside the document
    "name": _("Name"),
    "access": _("Access"),
    "clips": _("Clips"),
    "note": _("Note"),
    "lot": _("Lot"),
    "product_sku": _("Product"),
    "clamp_sku": _("Clamp"),
    "kept": _("Stays as found"),
    # Leak tests and the ids that join objects
    "id": _("Name in the drawing"),
    "service": _("Service"),
    "from": _("From"),
    "to": _("To"),
    "engines": _("Engines"),
}

CHOICE_WORDS: Final[Words] = {
    "motorboat": _("Motorboat"),
    "personal_watercraft": _("Personal watercraft"),
    "US": _("United States"),
    "CA": _("Canada"),
    "EU": _("European Union"),
    "salt": _("Salt"),
    "fresh": _("Fresh"),
    "both": _("Both"),
    "outboard": _("Outboard"),
    "sterndrive": _("Sterndrive"),
    "inboard": _("Inboard"),
    "jet": _("Jet"),
    "gasoline": _("Gasoline"),
    "diesel": _("Diesel"),
    "propulsion": _("Propulsion"),
    "generator": _("Generator"),
    "mechanical": _("Other machinery"),
    "carburetor": _("Carburetor"),
    "injection": _("Injection"),
    "open_deck": _("Open deck"),
    "engine": _("Engine space"),
    "tank": _("Tank space"),
    "bilge": _("Bilge"),
    "locker": _("Locker"),
    "cabin": _("Cabin"),
    "under_cowl": _("Under the cowl"),
    "other": _("Other"),
    "aluminum": _("Aluminum"),
    "steel": _("Steel, kind not known"),
    "stainless_steel": _("Stainless steel"),
    "carbon_steel": _("Carbon steel"),
    "terneplate": _("Terneplate"),
    "plastic": _("Plastic"),
    "fiberglass": _("Fiberglass"),
    "foam": _("Foam"),
    "none": _("None"),
    "copper": _("Copper"),
    "nickel_copper": _("Nickel copper"),
    "copper_nickel": _("Copper nickel"),
    "spring_valve": _("Spring valve"),
    "electric_stop_valve": _("Electric stop valve"),
    "metal": _("Metal"),
    "tapered_thread": _("Tapered thread"),
    "locked_screw": _("Locked screw"),
    "split_washer": _("Split washer"),
    "good": _("Good"),
    "watch": _("Watch"),
    "replace_soon": _("Replace soon"),
    "replace_now": _("Replace now"),
    "do_not_run": _("Do not run"),
    "not_seen": _("Not seen"),
    "sound": _("Sound"),
    "rusted": _("Rusted"),
    "loose": _("Loose"),
    "hardened": _("Hardened"),
    "crazed": _("Crazed"),
    "cracked": _("Cracked"),
    "swollen": _("Swollen"),
    "delaminated": _("Liner loose"),
    "collapsed": _("Collapsed"),
    "kinked": _("Kinked"),
    "chafed": _("Chafed"),
    "weeping": _("Weeping"),
    "permeating": _("Smells on the rag"),
    "chalked": _("Chalked"),
    "band_cut": _("Cut by a band"),
    "burned": _("Burned"),
    "worm_drive": _("Worm drive"),
    "solid_band": _("Band with screw and nut"),
    "t_bolt": _("T-bolt"),
    "constant_tension": _("Constant tension"),
    "ear": _("Ear"),
    "spring": _("Spring"),
    "tie": _("Tie"),
    "screw": _("Screw"),
    "crimped": _("Crimping"),
    "smooth": _("Smooth"),
    "perforated": _("Perforated"),
    "stainless": _("Stainless"),
    "plated_steel": _("Plated steel"),
    "beyond_bead": _("Beyond the bead"),
    "over_grooves": _("Over the grooves"),
    "on_fitting": _("On a plain fitting"),
    "on_bead": _("On the bead"),
    "off_fitting": _("Off the fitting"),
    "bead": _("Bead"),
    "flare": _("Flare"),
    "annular_grooves": _("Annular grooves"),
    "helical": _("Helical grooves"),
    "clamps": _("Clamps"),
    "swaged_sleeve": _("Swaged sleeve"),
    "sleeve_and_insert": _("Sleeve and insert"),
    "open": _("Open"),
    "panel": _("Panel"),
    "blind": _("Blind"),
    "buried": _("Buried"),
    # Components
    "drain_fitting": _("Drain fitting"),
    "withdrawal": _("Pick-up"),
    "fill_spud": _("Fill spud"),
    "vent_nipple": _("Vent nipple"),
    "return_fitting": _("Return fitting"),
    "deck_fill": _("Deck fill"),
    "vent_fitting": _("Vent fitting"),
    "anti_siphon_valve": _("Anti-siphon valve"),
    "shutoff_valve": _("Shut-off valve"),
    "filter": _("Filter"),
    "primer_bulb": _("Primer bulb"),
    "fuel_pump": _("Fuel pump"),
    "transfer_pump": _("Transfer pump"),
    "engine_inlet": _("Engine inlet"),
    "fuel_rail": _("Fuel rail"),
    "vapor_separator": _("Vapor separator"),
    "tee": _("Tee"),
    "selector_valve": _("Selector valve"),
    "connector": _("Connector"),
    "canister": _("Canister"),
    # Services of a segment
    "feed": _("Feed"),
    "pump_to_carburetor": _("Pump to carburetor"),
    "fill": _("Fill"),
    "vent": _("Vent"),
    "return": _("Return"),
    "transfer": _("Transfer"),
    "pump_to_rail": _("Pump to rail"),
}

# A choice that means something else beside a certain key.
_CHOICE_BESIDE: Final[Words] = {
    "class.none": _("No class"),
    "fuel.none": _("None"),
    "securing.none": _("Nothing"),
    "kind.carburetor": _("Carburetor"),
}

_INDEX: Final = re.compile(r"\[(\d+)\]")


def stem_of(key: str) -> str:
    """The key without its unit: length_in is length; ground_ohm stays, as it may say "open"."""
    name = key.rpartition(".")[2]
    name = _INDEX.sub("", name)
    if name in KEY_WORDS:
        return name
    words = name.split("_")
    for count in (2, 1):
        if len(words) > count and "_".join(words[-count:]) in UNITS:
            return "_".join(words[:-count])
    return name


def key_words(key: str) -> str:
    """What a fact is called: `hose.inside_diameter_in` is "Bore"."""
    stem = stem_of(key)
    return str(KEY_WORDS.get(stem, stem.replace("_", " ")))


def choice_words(choice: str, key: str = "") -> str:
    """What a value of a list of choices is called, beside a certain key."""
    stem = stem_of(key) if key else ""
    words = _CHOICE_BESIDE.get(f"{stem}.{choice}") or CHOICE_WORDS.get(choice)
    return str(words if words is not None else choice.replace("_", " "))


def html_name(path: str) -> str:
    """A path as the name of a field in HTML, fit for a CSS selector: route-2-height."""
    return path.replace("[", "-").replace("]", "").replace(".", "-")
