"""Which tests a work order needs, with the limits that the boat's file and the rules give."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction

from fuelsys.document.model import Document, Engine
from fuelsys.rules.system_test import SystemTest
from fuelsys.text import Figure, Text
from fuelsys.units import from_base
from shop.models import WorkOrder
from shop.selectors.authorized import authorized_judged
from shop.selectors.evaluations import Judged
from shop.selectors.items import Item
from shop.selectors.trial_work import consented_later, work_since
from shop.selectors.work import tanks_touched
from shop.work.judging import GROUND, LEAK, RUN, VACUUM, VAPOR, Asked, Trial, trials
from shop.work.model import DEFERRED, FITTED, Folded
from shop.work.order import in_order

LEAK_TITLE = Text("Leak test, tank {tank}")
LEAK_WHY = Text("{method}. Air or inert gas, never a liquid; regulator and relief set low.")
WAIT_WHY = Text("5 min, and 1 min for each 10 gal or part of it above 50 gal of tank.")
SEEN_WHY = Text(
    "See that both sides of each anti-siphon valve, bulb, pump check and stop valve took the "
    "pressure. Then leak fluid on each joint; fill and vent fitting joints excepted."
)
GROUND_TITLE = Text("Resistance to ground, {part}")
GROUND_WHY = Text("Fill and tank metal in contact with fuel, below {limit}.")
PLASTIC_WHY = Text("The fill's body is plastic: its metal cap or chain is not bonded.")
VACUUM_TITLE = Text("Vacuum at the inlet, {engine}")
VACUUM_WHY = Text("The engine allows {limit} at most.")
VACUUM_OPEN = Text("No limit of this engine is on file. The reading is kept and not judged.")
VAPOR_TITLE = Text("Vapor, low in the bilge")
VAPOR_WHY = Text("Stop at 10 % LEL. Closed compartments are opened again after 30 min.")
RUN_TITLE = Text("Run test, {engine}")
RUN_WHY = Text("15 to 20 min, part of it at load. Every joint cold, hot and after heat-soak.")
PRACTICE = "common practice, no source"
GROUND_SOURCE = "33 CFR 183.572"
HANDBOOK = "33 CFR 183.542; Coast Guard boatbuilder handbook, Appendix A"


def asked_tests(work_order: WorkOrder, idents: Collection[str], *, on: date) -> tuple[Asked, ...]:
    """One leak test a tank system, one ground a fill, vacuum and run an engine, vapor once."""
    judged = authorized_judged(work_order, on=on)
    return tuple(_asked(judged, [run.id for run in judged.document.segments if run.id in idents]))


def work_trials(
    work_order: WorkOrder,
    folded: Folded,
    idents: Collection[str],
    items: Mapping[str, Item],
    *,
    on: date,
) -> tuple[Trial, ...]:
    """Each test that is needed, with what was recorded of it and what that says."""
    judged = authorized_judged(work_order, on=on)
    asked = tuple(_asked(judged, [run.id for run in judged.document.segments if run.id in idents]))
    work = {test.key: work_since(judged.document, test, folded, items) for test in asked}
    consented = consented_later(work_order, items)
    found = trials(
        asked, folded.readings, folded.waivers, work, consented, replaced=folded.replaced
    )
    return in_order(found, _hoses_undone(judged.document, asked, folded, idents))


def _hoses_undone(
    document: Document, tests: Iterable[Asked], folded: Folded, idents: Collection[str]
) -> dict[str, tuple[str, ...]]:
    """The authorized hoses on the line of each run test that are neither fitted nor put off."""
    waiting = [
        run
        for run in document.segments
        if run.id in idents and folded.segment(run.id).state not in (FITTED, DEFERRED)
    ]
    return {
        test.key: tuple(run.id for run in waiting if run.engine in (None, test.subject))
        for test in tests
        if test.kind == RUN
    }


def _asked(judged: Judged, idents: list[str]) -> Iterator[Asked]:
    document = judged.document
    touched = tanks_touched(document, idents)
    pressures = judged.evaluation.figures.test_pressure
    for tank in document.tanks:
        if tank.id in touched and tank.id in pressures:
            yield _leak(tank.id, tank.label_pressure_pa, pressures[tank.id])
    for run in document.segments:
        if run.id in idents and run.service == "fill":
            yield _ground(document, run.from_id)
    engines = {run.engine for run in document.segments if run.id in idents}
    worked_on = [engine for engine in document.engines if engine.id in engines]
    for engine in worked_on:
        yield _vacuum(engine)
    if any(tank.fuel == "gasoline" for tank in document.tanks):
        yield Asked(f"{VAPOR}:boat", VAPOR, "boat", VAPOR_TITLE, why=(VAPOR_WHY,))
    for engine in worked_on:
        title = Text(RUN_TITLE.msgid, {"engine": engine.id})
        yield Asked(f"{RUN}:{engine.id}", RUN, engine.id, title, why=(RUN_WHY,), source=PRACTICE)


def _leak(tank: str, label_pa: Fraction | None, test: SystemTest) -> Asked:
    why = [*test.assumptions]
    if test.pressure_pa is not None:
        why = [Text(LEAK_WHY.msgid, {"method": _capital(test.method)}), WAIT_WHY]
    return Asked(
        f"{LEAK}:{tank}",
        LEAK,
        tank,
        Text(LEAK_TITLE.msgid, {"tank": tank}),
        pressure_psi=None if test.pressure_pa is None else _up(from_base(test.pressure_pa, "psi")),
        label_psi=None if label_pa is None else _decimal(from_base(label_pa, "psi")),
        wait_min=test.wait_min,
        why=(*why, SEEN_WHY),
        source=HANDBOOK if test.pressure_pa is not None else test.source,
    )


def _ground(document: Document, part: str) -> Asked:
    bodies = {component.id: component.body for component in document.components}
    why = [Text(GROUND_WHY.msgid, {"limit": Figure(100, "ohm")})]
    if bodies.get(part) == "plastic":
        why.append(PLASTIC_WHY)
    title = Text(GROUND_TITLE.msgid, {"part": part})
    return Asked(f"{GROUND}:{part}", GROUND, part, title, why=tuple(why), source=GROUND_SOURCE)


def _vacuum(engine: Engine) -> Asked:
    limit = engine.inlet_vacuum_limit_pa
    limit_inhg = None if limit is None else _decimal(from_base(limit, "inhg"))
    why = VACUUM_OPEN
    if limit_inhg is not None:
        why = Text(VACUUM_WHY.msgid, {"limit": Figure(limit_inhg, "inhg")})
    title = Text(VACUUM_TITLE.msgid, {"engine": engine.id})
    return Asked(
        f"{VACUUM}:{engine.id}", VACUUM, engine.id, title, limit_inhg=limit_inhg, why=(why,)
    )


def _capital(text: Text) -> Text:
    return Text(text.msgid[:1].upper() + text.msgid[1:], text.params)


def _up(value: Fraction) -> Decimal:
    """Rounded up to a hundredth: a target is never rounded below what is asked."""
    return Decimal(math.ceil(value * 100)) / 100


def _decimal(value: Fraction) -> Decimal:
    return (Decimal(value.numerator) / Decimal(value.denominator)).quantize(Decimal("0.01"))
