"""Unsafe conditions for which a boarding officer may end a voyage: 33 CFR 177.07."""

from __future__ import annotations

from fuelsys.document.model import Boat
from fuelsys.rules.base import UNSAFE, Result, cannot_tell, failed, passed, rule
from fuelsys.rules.context import Context
from fuelsys.text import Text

LEAKS = Text("Fuel leaks, or lies in the bilge. The boat may not be run so.")
WEEPS = "Hose {segments} weeps fuel. The boat may not be run so."
STOP = Text("Stop the leak and dry the bilge before the boat is used.")


@rule(
    id="cfr-33-177-07-c",
    title="No leak, no fuel in the bilge",
    words=Text(
        "Whoever runs the boat is bound: fuel that leaks from system or engine, or that lies in"
        " the bilge, is an unsafe condition, for which a boarding officer may end the voyage. It"
        " holds for every engine and fuel, old boats and new. A hose that weeps counts as a"
        " leak."
    ),
    regime=UNSAFE,
    applies_to="boat",
    citation="33 CFR 177.07(c); 46 U.S.C. 4308",
    force="operator",
    evidence="V",
    undated="the text read gives no first day",
)
def no_leak(boat: Boat, context: Context) -> Result:
    """A leak of fuel system or engine, or fuel in the bilge, is an unsafe condition."""
    hoses = ((s.id, s.hose) for s in context.document.segments)
    weeping = [name for name, hose in hoses if hose and "weeping" in hose.observations]
    if weeping:
        return failed(Text(WEEPS, {"segments": ", ".join(sorted(weeping))}), remedy=STOP)
    facts = {"boat.fuel_leak": boat.fuel_leak, "boat.fuel_in_bilge": boat.fuel_in_bilge}
    if True in facts.values():
        return failed(LEAKS, remedy=STOP)
    missing = [path for path, fact in facts.items() if fact is None]
    if missing:
        return cannot_tell(
            Text("Cannot tell whether fuel leaks or lies in the bilge."),
            *missing,
            remedy=Text("Look along every run and into the bilge, and add both."),
        )
    return passed(Text("No fuel leaks, and none lies in the bilge."))
