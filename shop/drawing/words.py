"""Every phrase a drawing says, in English, to be translated by the caller.

A caller gives `strings`, a function from one of these phrases to its language;
the places in braces are filled afterwards.
"""

from __future__ import annotations

from collections.abc import Callable

Strings = Callable[[str], str]


def gettext_noop(phrase: str) -> str:
    """The phrase itself; message catalogues find their phrases by this name."""
    return phrase


def english(phrase: str) -> str:
    return phrase


SERVICES = {
    "feed": gettext_noop("feed"),
    "pump_to_carburetor": gettext_noop("pump to carburetor or rail"),
    "fill": gettext_noop("fill"),
    "vent": gettext_noop("vent"),
    "return": gettext_noop("return"),
    "transfer": gettext_noop("transfer"),
}
MATERIALS = {
    "aluminum": gettext_noop("aluminum"),
    "steel": gettext_noop("steel"),
    "stainless_steel": gettext_noop("stainless steel"),
    "carbon_steel": gettext_noop("carbon steel"),
    "terneplate": gettext_noop("terneplate"),
    "plastic": gettext_noop("plastic"),
    "fiberglass": gettext_noop("fiberglass"),
    "copper": gettext_noop("copper"),
    "nickel_copper": gettext_noop("nickel-copper"),
    "copper_nickel": gettext_noop("copper-nickel"),
    "other": gettext_noop("other material"),
}
TITLES = {
    "found": gettext_noop("Fuel system as found"),
    "proposed": gettext_noop("Fuel system as proposed"),
    "installed": gettext_noop("Fuel system as installed"),
}
OUTCOMES = {
    "pass": gettext_noop("Pass"),
    "fail": gettext_noop("Fail"),
    "review": gettext_noop("Review"),
    "cannot_tell": gettext_noop("Cannot tell"),
    "advice": gettext_noop("Advice"),
    "not_applicable": gettext_noop("Not applicable"),
}
BY_LAW = {
    "fail": gettext_noop("Fail, law"),
    "review": gettext_noop("Review, law"),
    "cannot_tell": gettext_noop("Cannot tell, law"),
}
BY_PRACTICE = {
    "fail": gettext_noop("Fail, practice"),
    "review": gettext_noop("Review, practice"),
    "cannot_tell": gettext_noop("Cannot tell, practice"),
}
# How a link is read out: "S3, feed, fails law".
READ_OUT_LAW = {
    "fail": gettext_noop("fails law"),
    "review": gettext_noop("law needs review"),
    "cannot_tell": gettext_noop("cannot tell by law"),
}
READ_OUT_PRACTICE = {
    "fail": gettext_noop("fails practice"),
    "review": gettext_noop("practice needs review"),
    "cannot_tell": gettext_noop("cannot tell by practice"),
}
READ_OUT = {
    "pass": gettext_noop("passes"),
    "advice": gettext_noop("advice"),
    "not_applicable": gettext_noop("not applicable"),
}

WATERLINE = gettext_noop("static waterline 0")
SURFACE = gettext_noop("tank surface at capacity {height}")
SURFACE_SHORT = gettext_noop("tank surface {height}")
TANK_SIZE = gettext_noop("{tank}, {gallons} gal")
GALLONS = gettext_noop("{gallons} gal")
TANK_EDGES = gettext_noop("top {top}, bottom {bottom}")
VALVE_HOLDS = gettext_noop("valve holds {head} in")
VALVE_OPENS = gettext_noop("valve opens at {pressure} psi")
VALVE_UNKNOWN = gettext_noop("opening head not on file")
NO_VALVE = gettext_noop("no anti-siphon valve")
NO_VALVE_SHORT = gettext_noop("no valve")
VALVE_NOT_RECORDED = gettext_noop("anti-siphon valve not recorded")
WORST_CUT = gettext_noop("worst cut")
VOLUME = gettext_noop("{volume} fl oz")
HOLDS = gettext_noop("holds {volume} fl oz")
DIPS_TO = gettext_noop("dips to {height}")
KEPT = gettext_noop("kept")
TYPE = gettext_noop("{kind}, {bore} in, {length} in")
NO_CLASS = gettext_noop("no class")
CLASS_UNKNOWN = gettext_noop("class not known")
BORE_MISSING = gettext_noop("bore not measured")
LENGTH_MISSING = gettext_noop("length not measured")
HOSE_MISSING = gettext_noop("hose not recorded")
NOT_JOINED = gettext_noop("Joined to no line: {parts}.")
ROUTE_MISSING = gettext_noop("{segment}: route not measured")
ROUTE_PARTLY = gettext_noop("{segment}: route known in part")
HEIGHT_MISSING = gettext_noop("{part}: height not measured")
TANK_MISSING = gettext_noop("{tank}: top and bottom not measured")
TOP_MISSING = gettext_noop("{tank}: top not measured")
BOTTOM_MISSING = gettext_noop("{tank}: bottom not measured")
NOTHING = gettext_noop("No parts of the fuel system are recorded.")

NAMES = {
    "deck_fill": gettext_noop("deck fill"),
    "vent_fitting": gettext_noop("vent"),
    "tank": gettext_noop("tank"),
    "engine": gettext_noop("engine"),
    "generator": gettext_noop("generator"),
}
LEGEND = {
    "fill": gettext_noop("fill"),
    "vent": gettext_noop("vent"),
    "feed": gettext_noop("feed"),
    "pump_to_carburetor": gettext_noop("pump to carburetor or rail"),
    "return": gettext_noop("return"),
    "transfer": gettext_noop("transfer"),
    "found": gettext_noop("as found"),
}
SCALE = gettext_noop("Heights in inches, true to scale.")
SIDEWAYS = gettext_noop("Sideways: distance along each hose, not place in the boat.")
SLOPING = gettext_noop("Sloping figures are computed.")

PROFILE_TITLE = gettext_noop("Height of {segment} and what runs out, by place of the cut")
FLUID_OUNCES = gettext_noop("fl oz")
AT_PLACE = gettext_noop("{volume} at {place} in, worst cut")
LIMIT = gettext_noop("limit {limit}")
NO_LIMIT = gettext_noop("no limit for type {kind}")
INCHES = gettext_noop("in")
NO_CURVE = gettext_noop("The curve is not computed for this line.")
AT_LEAST = gettext_noop("Broken line: at least this much runs out.")
AT_LEAST_LACKING = gettext_noop(
    "Broken line: at least this much runs out; how much more is not known without {facts}"
)
LACKING = gettext_noop("Not known: {facts}")
TANK = gettext_noop("tank {height}")
WATER = gettext_noop("waterline 0")
NO_ROUTE = gettext_noop("Route not measured")
