"""What the inputs and the parts of a computed figure are called on screen."""

from __future__ import annotations

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Words = dict[str, str | Promise]

# What a figure was worked out from: facts of the survey, or what is printed on a part.
INPUT_WORDS: Final[Words] = {
    "blower_output": _("blower as installed"),
    "blower_rated": _("blower as rated"),
    "bore": _("bore"),
    "capacity": _("capacity"),
    "class_limit": _("limit of the class"),
    "distance": _("place of the turn"),
    "ethanol": _("ethanol in the gasoline"),
    "exhaust_opening": _("exhaust opening"),
    "fill_rate": _("fill rate"),
    "fitting_diameter": _("fitting outside"),
    "held": _("held for"),
    "highest": _("highest point of the vent"),
    "inlet_height": _("height of the inlet"),
    "inside_diameter": _("hose inside"),
    "label_pressure": _("pressure on the label"),
    "length": _("length"),
    "lowest": _("lowest point of the run"),
    "lowest_height": _("lowest point of the system"),
    "lowest_usable": _("lowest usable level"),
    "net_volume": _("net volume"),
    "opening_head": _("opening head of the valve"),
    "outside_diameter": _("hose outside"),
    "overflow_height": _("overflow"),
    "pressure": _("pressure"),
    "rated_power": _("rated power"),
    "rvp": _("Reid vapor pressure"),
    "smallest_bend_radius": _("tightest bend as measured"),
    "smallest_bore": _("smallest bore"),
    "supply_flow": _("maker’s flow"),
    "supply_opening": _("supply opening"),
    "surface": _("tank surface at capacity"),
    "temperature": _("temperature"),
}

# What a figure is made of, and what goes with it.
PART_WORDS: Final[Words] = {
    "air_for_quarter": _("Air that keeps it below a quarter of the limit"),
    "at_least": _("At least, heights as measured, by what is known"),
    "at_most": _("At most, heights as measured"),
    "blower_output": _("Blower asked, as installed"),
    "blower_rated": _("Blower asked, rated"),
    "boiling_margin": _("Margin to boiling"),
    "bulb": _("Primer bulb"),
    "contents": _("Contents"),
    "counted": _("Counted so far"),
    "falling_head": _("With the surface falling"),
    "far_side": _("From the far side"),
    "filter": _("Filter"),
    "fittings": _("Fittings"),
    "flow": _("Flow at rated power"),
    "gas": _("Gas pushed out"),
    "given_off": _("Given off in a day"),
    "least": _("At least, every height off by the survey’s tolerance"),
    "lift": _("Lift"),
    "lowest_pressure": _("Lowest pressure on the way"),
    "most": _("At most, every height off by the survey’s tolerance"),
    "opening_each": _("Each opening asked"),
    "opening_head": _("Largest opening head needed"),
    "overfill": _("If the nozzle does not shut off"),
    "permeation": _("Permeation"),
    "pipe": _("Hose and pipe"),
    "sealed_to_quarter": _("Sealed, to a quarter of the limit"),
    "smallest_bore": _("Smallest bore within the limit"),
    "tank_side": _("From the tank side"),
    "to_limit": _("Vapor to the lower explosive limit"),
    "to_quarter": _("Vapor to a quarter of it"),
    "trap": _("Liquid held in dips"),
    "trap_at_most": _("Liquid in dips, at most"),
    "vacuum": _("Vacuum"),
    "valve": _("Anti-siphon valve"),
    "wait": _("Wait"),
    "worst_cut": _("Worst cut, from the first end"),
    "worst_to": _("and as bad up to"),
}
