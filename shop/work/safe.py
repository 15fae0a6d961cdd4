"""The steps to make safe, in their order, before anything is opened.

The order and the steps are common practice unless a source stands beside a step.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from fuelsys.text import Text
from shop.work.model import Event

# 29 CFR 1926.152(e)(1) as copied in California 8 CCR 1934(a) (secondary source): the ventilation
# criterion for transfers of more than 5 gal is 10 % of the lower flammable limit.
STOP_AT_LEL_PCT = Decimal(10)
AT_LEL = Text("{lel} % LEL at the lowest point. Stop, leave, air the boat; start again below 10 %.")


@dataclass(frozen=True)
class Step:
    key: str
    title: Text
    words: Text
    reads_lel: bool = False


STEPS = (
    Step(
        "place",
        Text("The place"),
        Text(
            "Outdoors, clear of drains, other boats and people. Signs and barrier up, spill kit "
            "open, extinguisher rated for flammable liquids in reach."
        ),
    ),
    Step(
        "air",
        Text("Air first"),
        Text(
            "Compartments opened by hand and aired before anything is switched or unplugged. "
            "Vapor measured at the lowest point."
        ),
        reads_lel=True,
    ),
    Step(
        "isolate",
        Text("No sparks"),
        Text(
            "Shore power and chargers off at the shore end, loads off, batteries isolated. Phones "
            "and tablets stay outside the vapor zone."
        ),
    ),
    Step("again", Text("Measure again"), Text("Vapor at the lowest point again."), reads_lel=True),
    # 29 CFR 1926.152(e)(1), 8 CCR 1934(a) (secondary source)
    Step(
        "apart",
        Text("Distance"),
        Text("Transfers of more than 5 gal stand 25 ft from other work, or behind a 1-hour wall."),
    ),
    # 29 CFR 1910.106(e)(6)(ii) (secondary source); 8 CCR 5549(b) (text read)
    Step(
        "bond",
        Text("Containers"),
        Text("Approved containers stand on the ground and are bonded before fuel moves."),
    ),
    # 8 CCR 1934(c) (text read): no air pressure
    Step(
        "pump",
        Text("Pump"),
        Text(
            "A top-drawing pump made for the fuel, or gravity through a self-closing valve. Never "
            "air pressure, never by mouth."
        ),
    ),
    Step(
        "close",
        Text("Plugs and rags"),
        Text("Plugs ready for opened fittings, drips caught, rags into a closed metal can."),
    ),
)
STEP_KEYS = frozenset(step.key for step in STEPS)
READS_LEL = frozenset(step.key for step in STEPS if step.reads_lel)


def steps_left(done: Mapping[str, Iterable[Event]]) -> tuple[Step, ...]:
    """The steps that nobody has confirmed yet."""
    return tuple(step for step in STEPS if not confirmed(done.get(step.key, ())))


def confirmed(events: Iterable[Event]) -> tuple[Event, ...]:
    """What confirms a step: readings within the limit, once none too high stands against them.

    A reading too high is answered by a later one that names it as seen; so no order of arrival and
    no clock lets the step be done by a reading from before.
    """
    held = tuple(events)
    stops = {event.key for event in stopped_by(held)}
    good = tuple(event for event in held if event.key not in stops)
    seen = {key for event in good for key in event.after}
    return good if stops <= seen else ()


def stopped_by(events: Iterable[Event]) -> tuple[Event, ...]:
    """The readings too high among the events of a step. They stay for good."""
    return tuple(event for event in events if is_stop(event))


def is_stop(event: Event) -> bool:
    """Whether an event is a make-safe reading at which the work stops."""
    lel_pct = event.payload.get("lel_pct")
    if event.kind != "step" or event.payload.get("step") not in READS_LEL or lel_pct is None:
        return False
    return too_much_vapor(Decimal(str(lel_pct)))


def too_much_vapor(lel_pct: Decimal) -> bool:
    """Whether a reading says stop: at the limit is too much."""
    return lel_pct >= STOP_AT_LEL_PCT
