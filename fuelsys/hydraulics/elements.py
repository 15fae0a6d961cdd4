"""Open and closed elements: whether liquid passes a component on its way to the cut."""

from __future__ import annotations

from enum import Enum, auto

from fuelsys.document.model import Component, Segment
from fuelsys.hydraulics.reading import Reading

PUMPS = frozenset({"fuel_pump", "transfer_pump"})
# What may close; all else stands open.
VALVES = PUMPS | {"selector_valve", "electric_stop_valve", "anti_siphon_valve", "primer_bulb"}
TANK_FITTINGS = frozenset({"withdrawal", "fill_spud", "vent_nipple", "return_fitting"})


class Passage(Enum):
    """What a component does to liquid that flows through it to the cut."""

    OPEN = auto()
    ONE_WAY = auto()  # passes toward the cut and holds the column against falling back
    SPRING_VALVE = auto()  # passes toward the cut above its opening head only
    CLOSED = auto()


def passage(
    component: Component, entered: Segment, leaving: Segment | None, reading: Reading
) -> Passage:
    """How liquid from `leaving` passes a component into `entered`, which lies nearer the cut.

    `leaving` None asks about a component at which the line ends: whether air can enter there.

    Source: 33 CFR 183.528(a)(1) for the stop valve that opens with the ignition only; the
    engine is stopped. Manual valves stand open: the rule gives no credit for a hand valve.
    """
    if component.kind not in VALVES:
        return Passage.OPEN
    if component.kind == "selector_valve":
        return _selector(component, entered, leaving)
    if component.kind == "electric_stop_valve":
        return Passage.CLOSED if stop_valve_closed(component, reading) else Passage.OPEN
    forward = entered.from_id == component.id
    both_out = forward and leaving is not None and leaving.from_id == component.id
    both_in = not forward and leaving is not None and leaving.to_id == component.id
    if both_out or both_in:
        return Passage.OPEN  # two branches on one port of the valve
    if component.kind == "anti_siphon_valve":
        return Passage.SPRING_VALVE if forward else Passage.CLOSED
    if component.kind == "primer_bulb" and component.arrow_toward_engine is not False:
        return Passage.ONE_WAY if forward else Passage.CLOSED
    if component.kind in PUMPS:
        return _pump(component, forward, leaving is None, reading)
    return Passage.OPEN


def stop_valve_closed(component: Component, reading: Reading) -> bool:
    """Whether an electric stop valve, alone or at a withdrawal, is closed with the engine off."""
    if component.opens_only_with_ignition is None:
        return not reading.most(f"components[{component.id}].opens_only_with_ignition")
    return component.opens_only_with_ignition


def _pump(component: Component, forward: bool, last: bool, reading: Reading) -> Passage:
    checked = component.check_valve
    if checked is None and last:
        return Passage.OPEN  # a line's far end is open to air unless a valve is recorded there
    if checked is None:
        most = reading.most(f"components[{component.id}].check_valve")
        # A valve that may hold the column adds on the tank's side, and shuts off on the other.
        checked = most if forward else not most
    if not checked:
        return Passage.OPEN
    return Passage.ONE_WAY if forward else Passage.CLOSED


def _selector(component: Component, entered: Segment, leaving: Segment | None) -> Passage:
    if component.open_to is None:
        return Passage.OPEN
    ports = [entered.id] if leaving is None else [entered.id, leaving.id]
    return Passage.OPEN if all(port in component.open_to for port in ports) else Passage.CLOSED
